// Package dbtest gives tests a real Postgres: a database of its own for each
// test, made from a migrated template and dropped afterwards.
//
// The server is, in this order: the one that TEST_DATABASE_URL names, whose
// user must be allowed to make databases; a container, where a Docker engine
// answers; one started here from the machine's own server programs, or from
// downloaded ones. It is shared by the tests of one test program, and is
// removed when the program ends, even if it is killed (see watchdog.go).
package dbtest

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"tapeline/db"
)

// New opens a migrated database that only this test uses.
func New(t testing.TB) *db.Store {
	t.Helper()
	return Open(t, URL(t), db.Options{})
}

// Open opens a store that is closed when the test ends.
func Open(t testing.TB, url string, opts db.Options) *db.Store {
	t.Helper()
	if opts.MaxConns == 0 {
		opts.MaxConns = 8
	}
	store, err := db.Open(t.Context(), url, opts)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}

// URL is the address of a migrated database that only this test uses.
func URL(t testing.TB) string {
	t.Helper()
	return create(t, shared(t).template)
}

// EmptyURL is the address of a database with nothing in it.
func EmptyURL(t testing.TB) string {
	t.Helper()
	shared(t)
	return create(t, "template0")
}

// host is the server that the tests of this program share.
type host struct {
	url      string // of a database to give orders from
	admin    *pgxpool.Pool
	prefix   string // of every database made here
	template string
}

var (
	begin   sync.Once
	ours    *host
	failure error
	counter atomic.Int64
)

// shared starts the server at the first call.
func shared(t testing.TB) *host {
	t.Helper()
	begin.Do(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
		defer cancel()
		ours, failure = startHost(ctx)
	})
	if failure != nil {
		t.Fatalf("no Postgres to test on: %v", failure)
	}
	return ours
}

func startHost(ctx context.Context) (*host, error) {
	h := &host{prefix: fmt.Sprintf("tapeline_test_%d_%d_", os.Getpid(), time.Now().UnixMilli())}
	h.template = h.prefix + "template"
	var err error
	if h.url, err = h.server(ctx); err != nil {
		return nil, err
	}
	config, err := pgxpool.ParseConfig(h.url)
	if err != nil {
		return nil, err
	}
	config.MaxConns = 4
	if h.admin, err = pgxpool.NewWithConfig(ctx, config); err != nil {
		return nil, err
	}
	if _, err := h.admin.Exec(ctx, `CREATE DATABASE `+h.template+` TEMPLATE template0`); err != nil {
		return nil, err
	}
	store, err := db.Open(ctx, h.urlOf(h.template), db.Options{})
	if err != nil {
		return nil, err
	}
	defer store.Close() // a template must have no session
	if _, err := db.Migrate(ctx, store.Pool()); err != nil {
		return nil, err
	}
	return h, nil
}

func (h *host) urlOf(database string) string {
	u, err := url.Parse(h.url)
	if err != nil {
		panic(err) // pgx has read it before
	}
	u.Path = "/" + database
	return u.String()
}

func create(t testing.TB, template string) string {
	t.Helper()
	name := ours.prefix + strconv.FormatInt(counter.Add(1), 10)
	if _, err := ours.admin.Exec(t.Context(), `CREATE DATABASE `+name+` TEMPLATE `+template); err != nil {
		t.Fatalf("create database: %v", err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		// By force, since a test that failed may have left sessions open.
		if _, err := ours.admin.Exec(ctx, `DROP DATABASE `+name+` WITH (FORCE)`); err != nil {
			t.Errorf("drop database: %v", err)
		}
	})
	return ours.urlOf(name)
}

// dropAll drops every database whose name begins with the prefix.
func dropAll(ctx context.Context, url, prefix string) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, `SELECT datname FROM pg_database WHERE starts_with(datname, $1)`, prefix)
	if err != nil {
		return err
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, name := range names {
		if _, err := conn.Exec(ctx, `DROP DATABASE `+pgx.Identifier{name}.Sanitize()+` WITH (FORCE)`); err != nil {
			return err
		}
	}
	return nil
}
