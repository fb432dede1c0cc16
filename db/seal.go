package db

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Sealer encrypts the secrets that must be known in plain to sign with them:
// webhook secrets and link keys. It guards a copy of the database (a backup, a
// replica, a stolen disk); it cannot guard against someone who has both the
// database and the key.
//
// AES-256-GCM with a random nonce, bound to the row that a secret belongs to,
// so that one secret cannot be passed off as another. Several keys may be held
// while they are being changed: the first seals, any opens.
//
// The zero Sealer stores secrets in plain, marked so; a Sealer with keys opens
// those too.
type Sealer struct{ keys []sealingKey }

type sealingKey struct {
	id   [4]byte // start of the SHA-256 of the key: finds the key that a secret was sealed with
	aead cipher.AEAD
}

const sealedPlain, sealedAESGCM = 0, 1

// NewSealer reads keys as in TAPELINE_SECRET_KEY: base64 of 32 random bytes
// each, separated by commas, the current one first. Empty text gives the zero
// Sealer.
func NewSealer(text string) (Sealer, error) {
	var s Sealer
	if strings.TrimSpace(text) == "" {
		return s, nil
	}
	for i, part := range strings.Split(text, ",") {
		key, err := base64.StdEncoding.DecodeString(strings.TrimSpace(part))
		if err != nil || len(key) != 32 {
			return Sealer{}, fmt.Errorf("secret key %d: want base64 of 32 bytes (make one with: openssl rand -base64 32)", i+1)
		}
		block, err := aes.NewCipher(key)
		if err != nil {
			return Sealer{}, err
		}
		aead, err := cipher.NewGCM(block)
		if err != nil {
			return Sealer{}, err
		}
		sum := sha256.Sum256(key)
		s.keys = append(s.keys, sealingKey{id: [4]byte(sum[:4]), aead: aead})
	}
	return s, nil
}

// Sealing reports whether there is a key to seal with.
func (s Sealer) Sealing() bool { return len(s.keys) > 0 }

// seal encrypts a secret that belongs to owner. Layout: a byte that tells how,
// then the secret in plain, or key id, nonce and ciphertext.
func (s Sealer) seal(secret []byte, owner string) []byte {
	if !s.Sealing() {
		return append([]byte{sealedPlain}, secret...)
	}
	key := s.keys[0]
	nonce := make([]byte, key.aead.NonceSize())
	rand.Read(nonce) // never fails
	sealed := append([]byte{sealedAESGCM}, key.id[:]...)
	sealed = append(sealed, nonce...)
	return key.aead.Seal(sealed, nonce, secret, []byte(owner))
}

// ErrSealed says that a stored secret was sealed with a key that the store does not have.
var ErrSealed = errors.New("a stored secret cannot be opened: TAPELINE_SECRET_KEY lacks the key that it was sealed " +
	"with, or it was tampered with")

func (s Sealer) open(sealed []byte, owner string) ([]byte, error) {
	switch {
	case len(sealed) == 0:
		return nil, ErrSealed
	case sealed[0] == sealedPlain:
		return sealed[1:], nil
	case sealed[0] != sealedAESGCM || len(sealed) < 5:
		return nil, ErrSealed
	}
	for _, key := range s.keys {
		rest := sealed[5:]
		n := key.aead.NonceSize()
		if !bytes.Equal(sealed[1:5], key.id[:]) || len(rest) < n {
			continue
		}
		if secret, err := key.aead.Open(nil, rest[:n], rest[n:], []byte(owner)); err == nil {
			return secret, nil
		}
	}
	return nil, ErrSealed
}

// has reports whether there is the key that a secret was sealed with, of which
// start is the beginning.
func (s Sealer) has(start []byte) bool {
	return len(start) == 5 && start[0] == sealedAESGCM &&
		slices.ContainsFunc(s.keys, func(key sealingKey) bool { return bytes.Equal(start[1:], key.id[:]) })
}

// current reports whether a secret is sealed as seal would seal it now.
func (s Sealer) current(sealed []byte) bool {
	if !s.Sealing() {
		return len(sealed) > 0 && sealed[0] == sealedPlain
	}
	return len(sealed) > 5 && sealed[0] == sealedAESGCM && bytes.Equal(sealed[1:5], s.keys[0].id[:])
}

// openText opens a secret stored as text; nil stays nil.
func (s Sealer) openText(sealed []byte, owner string) (*string, error) {
	if sealed == nil {
		return nil, nil
	}
	b, err := s.open(sealed, owner)
	if err != nil {
		return nil, err
	}
	text := string(b)
	return &text, nil
}
