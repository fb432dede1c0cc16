package patterns

import (
	"encoding/json"
	"fmt"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/document"
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

// cacheKey names a draft with its label, which has its number.
func cacheKey(hash []byte, label finish.Label) string {
	return fmt.Sprintf("%x %s", hash, db.JSON(label))
}

// Keep keeps a new draft in the cache, as its document has it, because its file is
// mostly fetched soon. number is that of its revision.
func (s *Service) Keep(r Record, number int) {
	p := r.document.Pattern()
	p.Label = r.Pattern.Label
	p.Label.Revision = number
	s.cache.Set(cacheKey(r.Hash[:], p.Label), cached{p, len(r.Document)})
}

// labelOf returns the label of a stored draft.
func labelOf(head query.DraftHead) (finish.Label, error) {
	var label document.Label
	if err := json.Unmarshal(head.Label, &label); err != nil {
		return finish.Label{}, fmt.Errorf("stored label of draft %d of order %s: %w", head.Number, head.OrderID, err)
	}
	label.Revision = head.Number
	return finish.Label(label), nil
}
