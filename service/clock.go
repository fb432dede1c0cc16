package service

import (
	"encoding/binary"
	"sync"
	"time"

	"github.com/google/uuid"
)

// Clock gives the times and IDs that use cases stamp records with and compare
// them by. The service's is the database's (db.Store.Now), so that all replicas
// have one; the zero Clock is the machine's.
type Clock struct {
	Time func() time.Time // nil: time.Now
	ID   func() uuid.UUID // nil: UUID version 7
}

// Now returns the time in UTC, as precise as Postgres stores it. A use case
// calls it once, so that all it writes has one time.
func (c Clock) Now() time.Time {
	now := time.Now
	if c.Time != nil {
		now = c.Time
	}
	return now().UTC().Truncate(time.Microsecond)
}

// NewID returns an ID of the time now that sorts after those made before: a UUID
// of version 7 with microseconds in place of its first random bits (RFC 9562
// section 6.2, method 3).
func (c Clock) NewID() uuid.UUID {
	if c.ID != nil {
		return c.ID()
	}
	at := uint64(latestID.after(c.Now().UnixMicro()))
	id := uuid.New()
	const version = 7
	binary.BigEndian.PutUint64(id[:], at/1000<<16|version<<12|at%1000<<2)
	return id
}

// latestID is the time of the ID made last in this process.
var latestID latest

// latest is a time in microseconds.
type latest struct {
	mu sync.Mutex
	at int64
}

// after returns the time at, or one later than the latest if that is less than a
// second ahead, and stores it.
func (l *latest) after(at int64) int64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	if ahead := l.at - at; ahead >= 0 && ahead < time.Second.Microseconds() {
		at = l.at + 1
	}
	l.at = at
	return at
}
