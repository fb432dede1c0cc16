package db_test

import (
	"testing"
	"time"

	"tapeline/db"
	"tapeline/db/dbtest"
)

// A machine whose clock is an hour from the database's works by the database's.
func TestClockFollowsTheDatabase(t *testing.T) {
	t.Parallel()
	for _, ahead := range []time.Duration{0, time.Hour, -time.Hour} {
		store := dbtest.New(t)
		db.SetClockAhead(store, ahead)
		for range 20 { // the fastest of several answers tells the time best
			if err := store.ReadClock(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		before := store.Now()
		told, err := store.DatabaseTime(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		after := store.Now()
		const apart = time.Second // a busy machine answers late
		if told.Before(before.Add(-apart)) || told.After(after.Add(apart)) {
			t.Errorf("from %v ahead: the database says %v between %v and %v", ahead, told, before, after)
		}
	}
}
