// Package db keeps what tapeline knows in Postgres: the schema and its
// migrations, and one typed method for each query.
//
// It is dumb on purpose. Ids (UUID version 7) and times are made by the
// caller; rules that must hold whoever writes are constraints and triggers of
// the schema, every other rule is the caller's. Methods that read a shop's
// rows take the shop's id and see no other shop's.
//
// Errors come as ErrNotFound, *ConflictError for a constraint that refused a
// write, or wrapped as they are; Unavailable tells whether the database rather
// than the query failed. No error repeats the values of a row.
package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
)

// DBTX is what queries run on: a pool, a connection or a transaction.
type DBTX interface {
	Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error)
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
	SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults
}

// Queries has a method for each query. Store and Tx both have them.
type Queries struct {
	db     DBTX
	sealer Sealer
}

// Options of Open.
type Options struct {
	MaxConns int32  // most connections of the pool; 0 is pgx's default, or what the URL says
	Sealer   Sealer // seals secrets at rest; the zero value stores them in plain
}

// Store is a pool of connections.
type Store struct {
	Queries
	pool *pgxpool.Pool
}

// Settings of a session, unless the URL sets them: no statement of ours takes
// long, and a transaction that waits on a dead process must not hold its locks
// for ever.
var sessionDefaults = map[string]string{
	"application_name":                    "tapeline",
	"statement_timeout":                   "30s",
	"idle_in_transaction_session_timeout": "60s",
}

// Open makes a pool. It connects when first used: Ping tells whether it can.
func Open(ctx context.Context, url string, opts Options) (*Store, error) {
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err) // pgx leaves the password out
	}
	if opts.MaxConns > 0 {
		config.MaxConns = opts.MaxConns
	}
	for name, value := range sessionDefaults {
		if _, set := config.ConnConfig.RuntimeParams[name]; !set {
			config.ConnConfig.RuntimeParams[name] = value
		}
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("database: %w", err)
	}
	return &Store{Queries: Queries{db: pool, sealer: opts.Sealer}, pool: pool}, nil
}

// Close waits for connections in use and closes all.
func (s *Store) Close() { s.pool.Close() }

// Pool is for libraries that bring their own queries.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// Ping reports whether the database answers.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.pool.Ping(ctx); err != nil {
		return fmt.Errorf("database: %w", err)
	}
	return nil
}

// Tx is a transaction under way.
type Tx struct {
	Queries
	tx pgx.Tx
}

// Raw is for libraries that write in the same transaction.
func (t *Tx) Raw() pgx.Tx { return t.tx }

// InTx runs do in a transaction and commits it, or rolls it back when do or
// the commit fails. An error of Commit can mean that it was committed all the
// same: the answer was lost, not the work.
func (s *Store) InTx(ctx context.Context, do func(*Tx) error) error {
	tx, err := s.pool.Begin(ctx)
	if err != nil {
		return fmt.Errorf("begin: %w", translate(err))
	}
	defer func() {
		// Also when do panics or ctx is done: a connection must not go back to the pool in the
		// middle of a transaction. After a commit this does nothing.
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		_ = tx.Rollback(end)
	}()
	if err := do(&Tx{Queries: Queries{db: tx, sealer: s.sealer}, tx: tx}); err != nil {
		return err
	}
	if err := tx.Commit(ctx); err != nil {
		return fmt.Errorf("commit: %w", translate(err))
	}
	return nil
}

// one runs a query that gives one row.
func one[T any](ctx context.Context, db DBTX, sql string, args ...any) (T, error) {
	rows, err := db.Query(ctx, sql, args...)
	if err != nil {
		var none T
		return none, translate(err)
	}
	v, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[T])
	return v, translate(err)
}

// many runs a query that gives any number of rows.
func many[T any](ctx context.Context, db DBTX, sql string, args ...any) ([]T, error) {
	rows, err := db.Query(ctx, sql, args...)
	if err != nil {
		return nil, translate(err)
	}
	v, err := pgx.CollectRows(rows, pgx.RowToStructByName[T])
	return v, translate(err)
}

// scalar runs a query that gives one value.
func scalar[T any](ctx context.Context, db DBTX, sql string, args ...any) (T, error) {
	var v T
	err := db.QueryRow(ctx, sql, args...).Scan(&v)
	return v, translate(err)
}

// exec runs a statement and tells how many rows it touched.
func exec(ctx context.Context, db DBTX, sql string, args ...any) (int64, error) {
	tag, err := db.Exec(ctx, sql, args...)
	return tag.RowsAffected(), translate(err)
}

// execOne is exec for a statement that must touch a row: ErrNotFound else.
func execOne(ctx context.Context, db DBTX, sql string, args ...any) error {
	n, err := exec(ctx, db, sql, args...)
	if err == nil && n == 0 {
		err = ErrNotFound
	}
	return err
}
