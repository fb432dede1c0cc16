package db

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrationLock is the advisory lock under which migrations run; any number
// that nothing else in the database uses ("tapeline" read as bytes).
const migrationLock = 0x74617065_6c696e65

// Migrated reports the changes that Migrate made.
type Migrated struct {
	River []int    // versions of River's own tables applied now
	Ours  []string // our files applied now
}

// Migrate brings the schema up to date: River's tables, then ours. It may run
// from any number of processes at once; one works, the others wait and find
// nothing to do. Every step is a transaction, so an interrupted run is simply
// run again.
func Migrate(ctx context.Context, pool *pgxpool.Pool) (done Migrated, err error) {
	// A pool of its own: building an index may take longer than a request's statement may, and the
	// lock keeps one connection for itself.
	config := pool.Config()
	config.ConnConfig.RuntimeParams["statement_timeout"] = "0"
	config.MaxConns, config.MinConns, config.MinIdleConns = 4, 0, 0
	if pool, err = pgxpool.NewWithConfig(ctx, config); err != nil {
		return done, fmt.Errorf("migrate: %w", err)
	}
	defer pool.Close()
	// The lock lies over both libraries, which is why goose's own, over its part alone, is not used.
	// It goes with its session, also when this process is killed.
	lock, err := pool.Acquire(ctx)
	if err != nil {
		return done, fmt.Errorf("migrate: %w", err)
	}
	defer lock.Release()
	if err := lockMigration(ctx, lock); err != nil {
		return done, fmt.Errorf("migrate: wait for another process: %w", err)
	}

	river, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return done, fmt.Errorf("migrate river: %w", err)
	}
	result, err := river.Migrate(ctx, rivermigrate.DirectionUp, nil)
	if err != nil {
		return done, fmt.Errorf("migrate river: %w", err)
	}
	for _, v := range result.Versions {
		done.River = append(done.River, v.Version)
	}

	ours, err := provider(pool)
	if err != nil {
		return done, err
	}
	defer ours.Close()
	applied, err := ours.Up(ctx)
	for _, m := range applied {
		done.Ours = append(done.Ours, m.Source.Path)
	}
	if err != nil {
		return done, fmt.Errorf("migrate: %w", err)
	}
	return done, nil
}

// lockMigration waits for the lock of migrations. It asks again and again instead of
// waiting in one statement: an index that is built concurrently waits for the
// statements of all other sessions, so that both would wait for each other.
func lockMigration(ctx context.Context, conn *pgxpool.Conn) error {
	for {
		var locked bool
		if err := conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, int64(migrationLock)).Scan(&locked); err != nil {
			return err
		}
		if locked {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// Pending lists what Migrate would do: an empty list says that the schema is
// as this program wants it. A schema that is newer, because a later release
// runs beside this one, is not pending.
func Pending(ctx context.Context, pool *pgxpool.Pool) ([]string, error) {
	river, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return nil, fmt.Errorf("migration state of river: %w", err)
	}
	existing, err := river.ExistingVersions(ctx)
	if err != nil {
		return nil, fmt.Errorf("migration state of river: %w", err)
	}
	has := make(map[int]bool)
	for _, v := range existing {
		has[v.Version] = true
	}
	var pending []string
	for _, v := range river.AllVersions() {
		if !has[v.Version] {
			pending = append(pending, fmt.Sprintf("river %d %s", v.Version, v.Name))
		}
	}
	ours, err := provider(pool)
	if err != nil {
		return nil, err
	}
	defer ours.Close()
	status, err := ours.Status(ctx)
	if err != nil {
		return nil, fmt.Errorf("migration state: %w", err)
	}
	for _, m := range status {
		if m.State == goose.StatePending {
			pending = append(pending, m.Source.Path)
		}
	}
	return pending, nil
}

func provider(pool *pgxpool.Pool) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	p, err := goose.NewProvider(goose.DialectPostgres, stdlib.OpenDBFromPool(pool), files,
		goose.WithTableName("schema_migrations"), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	return p, nil
}
