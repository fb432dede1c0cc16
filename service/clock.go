package service

import (
	"time"

	"github.com/google/uuid"
)

// Clock gives the times and IDs that use cases stamp records with. The zero
// Clock is the machine's.
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

// NewID returns an ID that sorts after those made before.
func (c Clock) NewID() uuid.UUID {
	if c.ID != nil {
		return c.ID()
	}
	return uuid.Must(uuid.NewV7())
}
