package style

import (
	"container/list"
	"crypto/sha256"
	"encoding/hex"
	"sync"
)

// A Cache holds compiled scripts by their hash, at most so many: the least
// lately used makes room. It is safe for use by several goroutines. A script
// that does not compile is not kept.
type Cache struct {
	mu    sync.Mutex
	most  int
	order *list.List // of cached, the latest used first
	byKey map[[sha256.Size]byte]*list.Element
}

type cached struct {
	key   [sha256.Size]byte
	style *Style
}

// NewCache is a cache of at most n scripts, at least one.
func NewCache(n int) *Cache {
	return &Cache{most: max(n, 1), order: list.New(), byKey: map[[sha256.Size]byte]*list.Element{}}
}

// Compile is Compile with what was compiled before at hand. Two goroutines
// that ask for a new script at once may both compile it.
func (c *Cache) Compile(source []byte) (*Style, error) {
	key := sha256.Sum256(source)
	if s, ok := c.get(key); ok {
		return s, nil
	}
	s, err := Compile(source)
	if err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if e, ok := c.byKey[key]; ok {
		return e.Value.(cached).style, nil
	}
	c.byKey[key] = c.order.PushFront(cached{key, s})
	for c.order.Len() > c.most {
		last := c.order.Back()
		delete(c.byKey, last.Value.(cached).key)
		c.order.Remove(last)
	}
	return s, nil
}

// Get is the script of that hash (hexadecimal, as Style.Hash) where it is held.
func (c *Cache) Get(hash string) (*Style, bool) {
	key, err := hex.DecodeString(hash)
	if err != nil || len(key) != sha256.Size {
		return nil, false
	}
	return c.get([sha256.Size]byte(key))
}

func (c *Cache) get(key [sha256.Size]byte) (*Style, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.byKey[key]
	if !ok {
		return nil, false
	}
	c.order.MoveToFront(e)
	return e.Value.(cached).style, true
}

// Len is how many scripts are held.
func (c *Cache) Len() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.order.Len()
}
