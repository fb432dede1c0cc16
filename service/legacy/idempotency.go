package legacy

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"

	"tapeline/db"
)

// statusCreated is stored with an answer: it was given for a thing made.
const statusCreated = 201

// fingerprint tells one request from another under the same key: what was
// asked for, however its JSON was written.
func fingerprint(what string, request any) []byte {
	sum := sha256.Sum256(append([]byte(what+"\n"), encode(request)...))
	return sum[:]
}

// replay gives the stored answer again, to the same request only.
func replay(a db.Answer, print []byte) (Order, error) {
	if !bytes.Equal(a.Fingerprint, print) {
		return Order{}, refuse(CodeIdempotencyKeyReused, "this Idempotency-Key came with another order before")
	}
	var o Order
	if err := json.Unmarshal(a.Answer, &o); err != nil {
		return Order{}, fmt.Errorf("stored answer: %w", err)
	}
	return o, nil
}
