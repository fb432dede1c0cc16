package webhooks

import (
	"encoding/base64"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"
)

// The test vector of the Standard Webhooks specification's own Go library (its
// webhook_test.go). Another implementation of HMAC-SHA256 gave the same signature.
const (
	vectorSecret    = "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
	vectorID        = "msg_p5jXN8AQM9LWM0D4loKWxJek"
	vectorBody      = `{"test": 2432232314}`
	vectorSignature = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
)

var vectorTime = time.Unix(1614265330, 0)

func TestPublishedVector(t *testing.T) {
	t.Parallel()
	for _, secret := range []string{vectorSecret, "whsec_" + vectorSecret} {
		h, err := Sign([]string{secret}, vectorID, vectorTime, []byte(vectorBody))
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range map[string]string{
			"webhook-id": vectorID, "webhook-timestamp": "1614265330", "webhook-signature": vectorSignature,
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %q, want %q", name, got, want)
			}
		}
		if err := Verify([]string{secret}, h, []byte(vectorBody), vectorTime); err != nil {
			t.Errorf("Verify: %v", err)
		}
	}
}

func TestVerify(t *testing.T) {
	t.Parallel()
	old, current, other := NewSecret(), NewSecret(), NewSecret()
	signed := func(change func(http.Header)) http.Header {
		h, err := Sign([]string{current, old}, vectorID, vectorTime, []byte(vectorBody))
		if err != nil {
			t.Fatal(err)
		}
		if change != nil {
			change(h)
		}
		return h
	}
	set := func(name, value string) func(http.Header) {
		return func(h http.Header) { h.Set(name, value) }
	}
	signature := signed(nil).Get("webhook-signature")
	if n := len(strings.Fields(signature)); n != 2 {
		t.Fatalf("%d signatures for two secrets", n)
	}
	for name, tt := range map[string]struct {
		header  http.Header
		secrets []string
		body    string
		off     time.Duration
		want    error
	}{
		"current secret":       {signed(nil), []string{current}, vectorBody, 0, nil},
		"former secret":        {signed(nil), []string{old}, vectorBody, 0, nil},
		"either":               {signed(nil), []string{other, old}, vectorBody, 0, nil},
		"late, within bounds":  {signed(nil), []string{current}, vectorBody, 5 * time.Minute, nil},
		"early, within bounds": {signed(nil), []string{current}, vectorBody, -5 * time.Minute, nil},
		"late":                 {signed(nil), []string{current}, vectorBody, 5*time.Minute + 1, ErrTimestamp},
		"early":                {signed(nil), []string{current}, vectorBody, -5*time.Minute - 1, ErrTimestamp},
		"another secret":       {signed(nil), []string{other}, vectorBody, 0, ErrSignature},
		"no secret":            {signed(nil), nil, vectorBody, 0, ErrSignature},
		"another body":         {signed(nil), []string{current}, vectorBody + " ", 0, ErrSignature},
		"another id":           {signed(set("webhook-id", "msg_2")), []string{current}, vectorBody, 0, ErrSignature},
		"another timestamp": {signed(set("webhook-timestamp", "1614265331")), []string{current}, vectorBody, 0,
			ErrSignature},
		"no signature":          {signed(set("webhook-signature", "")), []string{current}, vectorBody, 0, ErrHeaders},
		"no id":                 {signed(set("webhook-id", "")), []string{current}, vectorBody, 0, ErrHeaders},
		"full stop in the id":   {signed(set("webhook-id", "a.b")), []string{current}, vectorBody, 0, ErrHeaders},
		"timestamp not numbers": {signed(set("webhook-timestamp", "now")), []string{current}, vectorBody, 0, ErrHeaders},
		"another version": {signed(set("webhook-signature", strings.ReplaceAll(signature, "v1,", "v1a,"))),
			[]string{current}, vectorBody, 0, ErrSignature},
		"version left out": {signed(set("webhook-signature", strings.ReplaceAll(signature, "v1,", ""))),
			[]string{current}, vectorBody, 0, ErrSignature},
		"nonsense beside it": {signed(set("webhook-signature", "v2,xx , "+signature)), []string{current}, vectorBody, 0,
			nil},
	} {
		if err := Verify(tt.secrets, tt.header, []byte(tt.body), vectorTime.Add(tt.off)); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", name, err, tt.want)
		}
	}
}

func TestSignRefuses(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		secrets []string
		id      string
	}{
		"full stop in the id": {[]string{vectorSecret}, "a.b"},
		"no id":               {[]string{vectorSecret}, ""},
		"no secret":           {nil, "a"},
		"secret not base64":   {[]string{"whsec_!private!"}, "a"},
	} {
		_, err := Sign(tt.secrets, tt.id, vectorTime, nil)
		if err == nil {
			t.Errorf("%s: signed", name)
		} else if strings.Contains(err.Error(), "private") {
			t.Errorf("%s: the error repeats the secret: %v", name, err)
		}
	}
}

func TestNewSecret(t *testing.T) {
	t.Parallel()
	a, b := NewSecret(), NewSecret()
	raw, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(a, "whsec_"))
	if a == b || !strings.HasPrefix(a, "whsec_") || err != nil || len(raw) < 24 || len(raw) > 64 {
		t.Errorf("secrets %q, %q (%v)", a, b, err)
	}
}

func FuzzVerify(f *testing.F) {
	f.Add("msg_1", "1614265330", vectorSignature, vectorBody)
	f.Add("", "", "", "")
	f.Add("a", "-9223372036854775808", "v1, v1,", "\x00")
	f.Fuzz(func(t *testing.T, id, timestamp, signature, body string) {
		h := http.Header{"Webhook-Id": {id}, "Webhook-Timestamp": {timestamp}, "Webhook-Signature": {signature}}
		err := Verify([]string{vectorSecret}, h, []byte(body), vectorTime)
		if err == nil && (id != vectorID || body != vectorBody) {
			t.Errorf("took a forged message: id %q, body %q, signature %q", id, body, signature)
		}
	})
}
