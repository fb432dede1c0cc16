package db

import (
	"context"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
)

// conn runs generated queries and translates their errors, wherever pgx
// reports them.
type conn struct{ DBTX }

// Exec runs a statement. Outside a transaction it runs again what a deadlock
// undid.
func (c conn) Exec(ctx context.Context, sql string, args ...any) (tag pgconn.CommandTag, err error) {
	run := func() error {
		tag, err = c.DBTX.Exec(ctx, sql, args...)
		return translate(err)
	}
	if _, alone := c.DBTX.(*pgxpool.Pool); alone {
		err = again(ctx, run)
		return tag, err
	}
	err = run()
	return tag, err
}

// Query plans the queries that are named List with the values given: most of
// their conditions apply only if a filter is given, and so one plan cannot suit
// all calls. Other queries are planned once on each connection.
func (c conn) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	if strings.HasPrefix(sql, "-- name: List") {
		args = append([]any{pgx.QueryExecModeCacheDescribe}, args...)
	}
	r, err := c.DBTX.Query(ctx, sql, args...)
	return translatedRows{r}, translate(err)
}

func (c conn) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	return translatedRow{c.DBTX.QueryRow(ctx, sql, args...)}
}

type translatedRow struct{ pgx.Row }

func (r translatedRow) Scan(into ...any) error { return translate(r.Row.Scan(into...)) }

type translatedRows struct{ pgx.Rows }

func (r translatedRows) Scan(into ...any) error { return translate(r.Rows.Scan(into...)) }

func (r translatedRows) Err() error { return translate(r.Rows.Err()) }
