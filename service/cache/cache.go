// Package cache keeps what is costly to make again, up to a number of bytes.
package cache

import (
	"github.com/maypok86/otter/v2"
	"github.com/maypok86/otter/v2/stats"
)

// Cache keeps values by their names. It drops those least likely to be used again
// once they take more than its bytes together, and does not keep a value that is
// larger than the whole cache.
type Cache[V any] struct {
	*otter.Cache[string, V]
}

// New returns a cache of at most bytes, as weigh estimates them.
func New[V any](bytes uint64, weigh func(V) int) Cache[V] {
	return Cache[V]{otter.Must(&otter.Options[string, V]{
		MaximumWeight: bytes,
		Weigher:       func(_ string, v V) uint32 { return uint32(min(weigh(v), 1<<31)) },
		StatsRecorder: stats.NewCounter(),
	})}
}

// Stats are counts of a cache.
type Stats struct {
	Hits, Misses uint64 // since the start
	Evicted      uint64 // dropped to make room, since the start
	Bytes        uint64 // as estimated
	Entries      int
}

// Stats returns the counts now.
func (c Cache[V]) Stats() Stats {
	s := c.Cache.Stats()
	return Stats{Hits: s.Hits, Misses: s.Misses, Evicted: s.Evictions, Bytes: c.WeightedSize(), Entries: c.EstimatedSize()}
}
