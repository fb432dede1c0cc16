package patterns

import (
	"fmt"

	"tapeline/db/query"
	"tapeline/drafting/finish"
	"tapeline/service/cache"
)

// cacheBytes limits the memory of the cached patterns. A garment takes
// 20 to 70 kB.
const cacheBytes = 24 << 20

// cached is a pattern in the cache.
type cached struct {
	pattern  finish.Pattern
	document int // bytes of its document
}

// weight estimates the memory that a pattern takes, in bytes.
func (c cached) weight() int { return 3*c.document + 1024 }

// CacheStats returns the counts of the cache of recently used patterns.
func (s *Service) CacheStats() cache.Stats { return s.cache.Stats() }

// cacheKey names a draft with its label.
func cacheKey(head query.DraftHead) string {
	return fmt.Sprintf("%x %d %s", head.Hash, head.Number, head.Label)
}
