package db

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
)

// JSON encodes a value for a jsonb column, which cannot hold the character
// U+0000: it becomes U+FFFD. It panics if the value has no JSON.
func JSON(v any) json.RawMessage {
	data, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprintf("%T as JSON: %v", v, err))
	}
	if !bytes.Contains(data, []byte(`\u0000`)) {
		return data
	}
	return escapes.ReplaceAllFunc(data, func(escape []byte) []byte {
		if string(escape) == `\u0000` {
			return []byte(`\ufffd`)
		}
		return escape
	})
}

var escapes = regexp.MustCompile(`\\(u[0-9a-f]{4}|.)`)
