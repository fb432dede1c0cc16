package db_test

import (
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"tapeline/db"
	"tapeline/db/dbtest"
)

func TestMigrateFromManyReplicasAtOnce(t *testing.T) {
	t.Parallel()
	url := dbtest.EmptyURL(t)
	var wg sync.WaitGroup
	var mu sync.Mutex
	applied := map[string]int{}
	for range 4 {
		store := dbtest.Open(t, url, db.Options{MaxConns: 1}) // also: no deadlock on the smallest pool
		wg.Go(func() {
			done, err := db.Migrate(t.Context(), store.Pool())
			if err != nil {
				t.Errorf("Migrate: %v", err)
			}
			mu.Lock()
			defer mu.Unlock()
			for _, m := range done.Ours {
				applied[m]++
			}
		})
	}
	wg.Wait()
	files, err := os.ReadDir("migrations")
	if err != nil {
		t.Fatal(err)
	}
	if len(applied) != len(files) {
		t.Errorf("%d migrations applied, want %d", len(applied), len(files))
	}
	for m, n := range applied {
		if n != 1 {
			t.Errorf("%s was applied %d times", m, n)
		}
	}
	store := dbtest.Open(t, url, db.Options{})
	pending, err := db.Pending(t.Context(), store.Pool())
	if err != nil || len(pending) != 0 {
		t.Errorf("Pending after Migrate: %v, %v", pending, err)
	}
	if _, err := store.QueuedJobs(t.Context()); err != nil {
		t.Errorf("River's tables: %v", err)
	}
}

func TestPendingOnAnEmptyDatabase(t *testing.T) {
	t.Parallel()
	store := dbtest.Open(t, dbtest.EmptyURL(t), db.Options{})
	pending, err := db.Pending(t.Context(), store.Pool())
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(pending, "\n")
	for _, want := range []string{"river 1 ", "00001_access.sql", "00004_orders.sql", "00006_webhooks.sql"} {
		if !strings.Contains(all, want) {
			t.Errorf("pending lacks %q:\n%s", want, all)
		}
	}
}

// A release that turns out bad is taken back by its down migrations.
func TestMigrationsGoDownAndUpAgain(t *testing.T) {
	t.Parallel()
	store := dbtest.New(t)
	p, err := goose.NewProvider(goose.DialectPostgres, stdlib.OpenDBFromPool(store.Pool()), os.DirFS("migrations"),
		goose.WithTableName("schema_migrations"), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.DownTo(t.Context(), 0); err != nil {
		t.Fatal(err)
	}
	var left string
	err = store.Pool().QueryRow(t.Context(), `
		SELECT coalesce(string_agg(relname, ' '), '') FROM pg_class
		WHERE relnamespace = 'public'::regnamespace AND relname NOT LIKE 'river%'
		AND relname NOT LIKE 'schema_migrations%'`).Scan(&left)
	if err != nil || left != "" {
		t.Errorf("left after going down: %q, %v", left, err)
	}
	if _, err := db.Migrate(t.Context(), store.Pool()); err != nil {
		t.Error(err)
	}
}
