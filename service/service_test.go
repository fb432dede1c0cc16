package service_test

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service"
)

func TestPagesCoverAListOnce(t *testing.T) {
	t.Parallel()
	var all []uuid.UUID // newest first
	for range 5 {
		all = slices.Insert(all, 0, uuid.Must(uuid.NewV7()))
	}
	query := func(p service.Page) []uuid.UUID {
		var rows []uuid.UUID
		for _, id := range all {
			if id.String() < p.Below().String() && len(rows) < int(p.Rows()) {
				rows = append(rows, id)
			}
		}
		return rows
	}
	for limit := 1; limit <= 6; limit++ {
		var seen []uuid.UUID
		p := service.Page{Limit: limit}
		for pages := 1; ; pages++ {
			rows, next := service.Cut(query(p), p, func(id uuid.UUID) uuid.UUID { return id })
			seen = append(seen, rows...)
			if next == uuid.Nil {
				break
			}
			if pages > len(all) {
				t.Fatalf("limit %d: the list does not end", limit)
			}
			p.After = next
		}
		if !slices.Equal(seen, all) {
			t.Errorf("limit %d: got %v, want %v", limit, seen, all)
		}
	}
}

func TestOrNotFound(t *testing.T) {
	t.Parallel()
	err := service.OrNotFound(fmt.Errorf("read: %w", db.ErrNotFound), "order")
	e, ok := errors.AsType[*service.Error](err)
	if !ok || e.Code != service.CodeNotFound || e.Detail != "there is no such order" {
		t.Errorf("got %v, want not_found", err)
	}
	if other := errors.New("other"); !errors.Is(service.OrNotFound(other, "order"), other) {
		t.Error("another error was changed")
	}
}

func TestClockStampsAsPostgresStores(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 1, 2, 3, 4, 5, 6789, time.FixedZone("east", 3600))
	c := service.Clock{Time: func() time.Time { return at }}
	if got, want := c.Now(), time.Date(2026, 1, 2, 2, 4, 5, 6000, time.UTC); got != want {
		t.Errorf("Now() = %v, want %v", got, want)
	}
}

// IDs sort by the clock's time, and those of one microsecond in the order in which
// they were made.
func TestIDsSortByTime(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)
	c := service.Clock{Time: func() time.Time { return at }}
	var last uuid.UUID
	for _, step := range []time.Duration{0, 0, time.Microsecond, time.Millisecond, time.Hour, 0} {
		at = at.Add(step)
		id := c.NewID()
		if id.Version() != 7 || id.Variant() != uuid.RFC4122 || bytes.Compare(last[:], id[:]) >= 0 {
			t.Errorf("ID %v after %v, want version 7 in order", id, last)
		}
		sec, nsec := id.Time().UnixTime()
		if made := time.Unix(sec, nsec); made.Sub(at).Abs() > 2*time.Millisecond {
			t.Errorf("ID of %v, want %v", made, at)
		}
		last = id
	}
}
