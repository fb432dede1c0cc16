package patterns

import (
	"fmt"

	"github.com/maypok86/otter/v2"

	"tapeline/db/query"
	"tapeline/drafting/finish"
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
func (c cached) weight() uint32 { return uint32(3*c.document + 1024) }

type cache = otter.Cache[string, cached]

// newCache returns a cache of recently used patterns. One that is larger than the
// whole cache is not kept.
func newCache() *cache {
	return otter.Must(&otter.Options[string, cached]{
		MaximumWeight: cacheBytes,
		Weigher:       func(_ string, c cached) uint32 { return c.weight() },
	})
}

// cacheKey names a draft with its label.
func cacheKey(head query.DraftHead) string {
	return fmt.Sprintf("%x %d %s", head.Hash, head.Number, head.Label)
}
