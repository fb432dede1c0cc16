package access

import (
	"crypto/sha256"
	"strings"
	"testing"
	"time"

	"tapeline/db/query"
)

func TestGeneratedKeyFindsItsRow(t *testing.T) {
	t.Parallel()
	key, prefix, hash := generateKey()
	if got, ok := splitPrefix(key); !ok || got != prefix {
		t.Errorf("splitPrefix of a generated key = %q, %v, want %q", got, ok, prefix)
	}
	if sum := sha256.Sum256([]byte(key)); string(sum[:]) != string(hash) {
		t.Error("the hash is not that of the key")
	}
	if other, _, _ := generateKey(); other == key {
		t.Error("two keys are equal")
	}
	for _, bad := range []string{"", "tl_abcdefgh", "tl_abc_x", "xx_abcdefgh_x", key + strings.Repeat("x", maxKeyLength)} {
		if prefix, ok := splitPrefix(bad); ok {
			t.Errorf("splitPrefix(%q) = %q, want none", bad, prefix)
		}
	}
}

func TestKeyIsValid(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 1, 31, 12, 0, 0, 0, time.UTC)
	later := now.Add(time.Second)
	hash := sha256.Sum256([]byte("key"))
	for name, tt := range map[string]struct {
		row  query.APIKey
		want bool
	}{
		"no end":         {query.APIKey{Hash: hash[:]}, true},
		"not expired":    {query.APIKey{Hash: hash[:], ExpiresAt: &later}, true},
		"expires now":    {query.APIKey{Hash: hash[:], ExpiresAt: &now}, false},
		"revoked":        {query.APIKey{Hash: hash[:], RevokedAt: &now}, false},
		"another secret": {query.APIKey{Hash: make([]byte, 32)}, false},
	} {
		if got := validates(tt.row, hash, now); got != tt.want {
			t.Errorf("%s: valid %v, want %v", name, got, tt.want)
		}
	}
}
