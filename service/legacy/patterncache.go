package legacy

import (
	"container/list"
	"sync"

	"tapeline/drafting/finish"
)

// patternCache keeps the patterns drafted or read last, by the hash of their
// geometry, so that one that is fetched soon after it was drafted need not be
// read back and decoded. An entry can't be out of date: the same hash is the
// same pattern. What is kept is never changed.
type patternCache struct {
	mu    sync.Mutex
	byKey map[patternKey]*list.Element
	order *list.List // newest first, of cachedPattern
}

// patternKey is a SHA-256.
type patternKey [32]byte

type cachedPattern struct {
	key     patternKey
	pattern finish.Pattern
}

// cachedPatterns is how many are kept, of about a quarter of a megabyte each.
const cachedPatterns = 48

func newPatternCache() *patternCache {
	return &patternCache{byKey: map[patternKey]*list.Element{}, order: list.New()}
}

func (c *patternCache) get(hash []byte) (finish.Pattern, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.byKey[patternKey(hash)]
	if !ok {
		return finish.Pattern{}, false
	}
	c.order.MoveToFront(e)
	return e.Value.(cachedPattern).pattern, true
}

func (c *patternCache) put(hash []byte, p finish.Pattern) {
	c.mu.Lock()
	defer c.mu.Unlock()
	key := patternKey(hash)
	if _, ok := c.byKey[key]; ok {
		return
	}
	c.byKey[key] = c.order.PushFront(cachedPattern{key, p})
	if c.order.Len() > cachedPatterns {
		oldest := c.order.Remove(c.order.Back()).(cachedPattern)
		delete(c.byKey, oldest.key)
	}
}
