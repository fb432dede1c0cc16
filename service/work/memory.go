package work

import (
	"sync"

	"github.com/google/uuid"
)

// memory shares out the bytes that all work of a process counts. Work takes them
// from a common part as long as that has room. When it has none, work waits, shops
// in turns, for room or for the one reserve, which is as large as the budget of a
// piece of work: the work that has the reserve can end, whatever the others hold.
type memory struct {
	mu       sync.Mutex
	common   int // bytes that are free
	counted  int // bytes that work has taken, of the reserve too
	reserved bool
	waiting  turns[*claim]
	claims   int // that wait
}

// share is the memory of a piece of work.
type share struct {
	shop    uuid.UUID
	common  int  // bytes that it has of the common part
	counted int  // bytes that it has
	reserve bool // it has the reserve
}

// claim is a wish for bytes that waits.
type claim struct {
	share   *share
	bytes   int
	granted chan struct{} // closed when the share has them
}

// take adds bytes to a share. It returns nil, or, if there is no room or others of
// the shop wait for it, a claim that waits.
func (m *memory) take(s *share, bytes int) *claim {
	m.mu.Lock()
	defer m.mu.Unlock()
	c := &claim{share: s, bytes: bytes, granted: make(chan struct{})}
	if (s.reserve || !m.waiting.has(s.shop)) && m.grant(c) {
		return nil
	}
	m.waiting.push(s.shop, c)
	m.claims++
	return c
}

// grant gives the bytes of a claim if there is room.
func (m *memory) grant(c *claim) bool {
	switch s := c.share; {
	case s.reserve:
	case c.bytes <= m.common:
		m.common -= c.bytes
		s.common += c.bytes
	case !m.reserved:
		m.reserved, s.reserve = true, true
	default:
		return false
	}
	c.share.counted += c.bytes
	m.counted += c.bytes
	close(c.granted)
	return true
}

// drop ends a claim that waits no longer.
func (m *memory) drop(c *claim) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.waiting.remove(c.share.shop, c) {
		m.claims--
	}
	m.serve()
}

// release gives back all memory of a share.
func (m *memory) release(s *share) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.common += s.common
	m.counted -= s.counted
	if s.reserve {
		m.reserved = false
	}
	*s = share{shop: s.shop}
	m.serve()
}

// serve grants the claims whose turn it is as long as there is room.
func (m *memory) serve() {
	for !m.waiting.empty() && m.grant(m.waiting.first()) {
		m.waiting.pop()
		m.claims--
	}
}

// MemoryUse is the memory that work counts.
type MemoryUse struct {
	Bytes   int
	Waiting int // pieces of work that wait for memory
}

func (m *memory) use() MemoryUse {
	m.mu.Lock()
	defer m.mu.Unlock()
	return MemoryUse{m.counted, m.claims}
}
