package service_test

import (
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
	a, b := service.Clock{}.NewID(), service.Clock{}.NewID()
	if a.Version() != 7 || a.String() >= b.String() {
		t.Errorf("IDs %v and %v, want version 7 in order", a, b)
	}
}
