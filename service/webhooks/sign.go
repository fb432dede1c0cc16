// Package webhooks signs, sends and verifies messages as Standard Webhooks
// describes (https://www.standardwebhooks.com), and guards against an address
// that would turn the sender against its own network.
package webhooks

import (
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"
)

// Tolerance is how far a message's timestamp may be from now, as in the
// specification's libraries.
const Tolerance = 5 * time.Minute

// NewSecret makes a signing secret: whsec_ and base64 of 32 random bytes (the
// specification asks for 24 to 64).
func NewSecret() string {
	b := make([]byte, 32)
	rand.Read(b) // never fails
	return "whsec_" + base64.StdEncoding.EncodeToString(b)
}

// Sign gives the headers that a message is sent with: its id, the time of this
// attempt, and a signature for each secret, so that a receiver that knows any
// of them is content while they are being changed. The id must stay the same
// over attempts and hold no '.', which parts it from the timestamp.
func Sign(secrets []string, id string, at time.Time, body []byte) (http.Header, error) {
	if id == "" || strings.Contains(id, ".") {
		return nil, fmt.Errorf("webhook id %q: must not be empty or hold a full stop", id)
	}
	if len(secrets) == 0 {
		return nil, errors.New("no secret to sign with")
	}
	signatures := make([]string, len(secrets))
	for i, secret := range secrets {
		hook, err := standardwebhooks.NewWebhook(secret)
		if err != nil {
			return nil, errors.New("a signing secret is not base64") // the library's error might repeat it
		}
		if signatures[i], err = hook.Sign(id, at, body); err != nil {
			return nil, fmt.Errorf("sign: %w", err)
		}
	}
	h := http.Header{}
	h.Set(standardwebhooks.HeaderWebhookID, id)
	h.Set(standardwebhooks.HeaderWebhookTimestamp, strconv.FormatInt(at.Unix(), 10))
	h.Set(standardwebhooks.HeaderWebhookSignature, strings.Join(signatures, " "))
	return h, nil
}

// What Verify says.
var (
	ErrHeaders   = errors.New("webhook headers are missing or malformed")
	ErrTimestamp = errors.New("webhook timestamp is too far from now")
	ErrSignature = errors.New("webhook signature does not match")
)

// Verify checks that the body was signed with one of the secrets, within
// Tolerance of now. Whoever calls must see to it that an id is acted on once:
// within that time a message can be sent again by anyone who saw it.
func Verify(secrets []string, h http.Header, body []byte, now time.Time) error {
	id := h.Get(standardwebhooks.HeaderWebhookID)
	seconds, err := strconv.ParseInt(h.Get(standardwebhooks.HeaderWebhookTimestamp), 10, 64)
	if id == "" || strings.Contains(id, ".") || err != nil || h.Get(standardwebhooks.HeaderWebhookSignature) == "" {
		return ErrHeaders
	}
	// The library reads the clock itself, so the time is checked here and it is told to leave it.
	if off := now.Sub(time.Unix(seconds, 0)); off > Tolerance || off < -Tolerance {
		return ErrTimestamp
	}
	matched := false
	for _, secret := range secrets {
		hook, err := standardwebhooks.NewWebhook(secret)
		if err != nil {
			return errors.New("a signing secret is not base64")
		}
		// Compared in constant time by the library, and every secret is tried.
		if hook.VerifyIgnoringTimestamp(body, h) == nil {
			matched = true
		}
	}
	if !matched {
		return ErrSignature
	}
	return nil
}
