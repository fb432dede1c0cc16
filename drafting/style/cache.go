package style

import (
	"crypto/sha256"
	"encoding/hex"

	lru "github.com/hashicorp/golang-lru/v2"
)

// A Cache holds compiled scripts by their hash and discards the least recently
// used. It is safe for concurrent use. It does not hold scripts that do not
// compile.
type Cache struct {
	styles *lru.Cache[string, *Style]
}

// NewCache returns a cache of at most size scripts, at least one.
func NewCache(size int) *Cache {
	styles, _ := lru.New[string, *Style](max(size, 1)) // the error is of a size below one
	return &Cache{styles}
}

// Compile returns the cached style of the script, or compiles it. Concurrent
// calls with a new script may each compile it.
func (c *Cache) Compile(source []byte) (*Style, error) {
	if s, ok := c.styles.Get(hash(source)); ok {
		return s, nil
	}
	s, err := Compile(source)
	if err != nil {
		return nil, err
	}
	if first, ok, _ := c.styles.PeekOrAdd(s.Hash, s); ok {
		return first, nil
	}
	return s, nil
}

// Get returns the cached style with that hash (see Style.Hash).
func (c *Cache) Get(hash string) (*Style, bool) { return c.styles.Get(hash) }

// Len returns the number of cached styles.
func (c *Cache) Len() int { return c.styles.Len() }

// hash returns the SHA-256 of a script in hexadecimal.
func hash(source []byte) string {
	sum := sha256.Sum256(source)
	return hex.EncodeToString(sum[:])
}
