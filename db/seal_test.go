package db

import (
	"bytes"
	"crypto/rand"
	"encoding/base64"
	"testing"
)

func randomKey() string {
	b := make([]byte, 32)
	rand.Read(b)
	return base64.StdEncoding.EncodeToString(b)
}

func sealerOf(t *testing.T, text string) Sealer {
	t.Helper()
	s, err := NewSealer(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSealer(t *testing.T) {
	t.Parallel()
	a, b := randomKey(), randomKey()
	plain, onlyA, onlyB, aThenB, bThenA := Sealer{}, sealerOf(t, a), sealerOf(t, b), sealerOf(t, a+","+b),
		sealerOf(t, b+", "+a)
	secret := []byte("whsec_secret")
	for name, tt := range map[string]struct {
		sealed  []byte
		by      Sealer
		opens   bool
		current bool
	}{
		"plain by none":             {plain.seal(secret, "x 1"), plain, true, true},
		"plain by a key":            {plain.seal(secret, "x 1"), onlyA, true, false},
		"sealed by its key":         {onlyA.seal(secret, "x 1"), onlyA, true, true},
		"sealed by none":            {onlyA.seal(secret, "x 1"), plain, false, false},
		"sealed by another key":     {onlyA.seal(secret, "x 1"), onlyB, false, false},
		"former key, while changed": {onlyA.seal(secret, "x 1"), bThenA, true, false},
		"new key, while changed":    {bThenA.seal(secret, "x 1"), aThenB, true, false},
		"new key, after the change": {bThenA.seal(secret, "x 1"), onlyB, true, true},
		"of another row":            {onlyA.seal(secret, "x 2"), onlyA, false, true},
		"nothing":                   {nil, onlyA, false, false},
		"cut short":                 {onlyA.seal(secret, "x 1")[:12], onlyA, false, true},
		"of an unknown kind":        {[]byte{7, 1, 2, 3, 4, 5}, onlyA, false, false},
	} {
		got, err := tt.by.open(tt.sealed, "x 1")
		if (err == nil) != tt.opens {
			t.Errorf("%s: open: %v, want success %v", name, err, tt.opens)
		}
		if tt.opens && !bytes.Equal(got, secret) {
			t.Errorf("%s: opened %q", name, got)
		}
		if got := tt.by.current(tt.sealed); got != tt.current {
			t.Errorf("%s: current = %v, want %v", name, got, tt.current)
		}
	}
	if s := onlyA.seal(secret, "x 1"); bytes.Contains(s, secret) {
		t.Error("the secret can be read in what is stored")
	}
	if bytes.Equal(onlyA.seal(secret, "x 1"), onlyA.seal(secret, "x 1")) {
		t.Error("sealing twice gives the same: the nonce is not random")
	}
	flipped := onlyA.seal(secret, "x 1")
	flipped[len(flipped)-1] ^= 1
	if _, err := onlyA.open(flipped, "x 1"); err == nil {
		t.Error("a changed bit went unnoticed")
	}
}

func TestNewSealerRefusesWrongKeys(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"short", "!", base64.StdEncoding.EncodeToString(make([]byte, 16)), randomKey() + ","} {
		if _, err := NewSealer(text); err == nil {
			t.Errorf("NewSealer(%q) took it", text)
		}
	}
	if s, err := NewSealer("  "); err != nil || s.Sealing() {
		t.Errorf("NewSealer of nothing: sealing %v, %v", s.Sealing(), err)
	}
}
