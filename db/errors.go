package db

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// ErrNotFound says that there is no such row, or none that this shop may see.
var ErrNotFound = errors.New("not found")

// ConflictError says that a constraint of the schema refused a write. Its
// transaction can only be rolled back.
type ConflictError struct {
	Constraint string // such as orders_reference_key, orders_transition
	err        *pgconn.PgError
}

func (e *ConflictError) Error() string { return "refused by constraint " + e.Constraint }

func (e *ConflictError) Unwrap() error { return e.err }

// Conflicts reports whether err is a ConflictError of the constraint.
func Conflicts(err error, constraint string) bool {
	e, ok := errors.AsType[*ConflictError](err)
	return ok && e.Constraint == constraint
}

// translate is the border between pgx's errors and this package's.
func translate(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return ErrNotFound
	}
	// Class 23 is integrity constraint violation; triggers of the schema raise it too.
	if e, ok := errors.AsType[*pgconn.PgError](err); ok && strings.HasPrefix(e.Code, "23") && e.ConstraintName != "" {
		return &ConflictError{Constraint: e.ConstraintName, err: e}
	}
	return fmt.Errorf("query: %w", err)
}

// undone reports whether Postgres rolled back because of other transactions: a
// serialization failure or a deadlock. Running it again is right.
func undone(err error) bool {
	e, ok := errors.AsType[*pgconn.PgError](err)
	return ok && (e.Code == "40001" || e.Code == "40P01")
}

// Unavailable reports whether err is the database's failure to serve rather
// than the query's: it cannot be reached, is starting or stopping, is out of
// connections or disk, or took too long. The same call may work later.
func Unavailable(err error) bool {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		switch e.Code[:min(2, len(e.Code))] {
		case "08", // connection exception
			"53", // insufficient resources
			"58": // system error
			return true
		}
		switch e.Code {
		case "57P01", "57P02", "57P03", // shutting down, crashed, starting
			"57014",          // statement time-out
			"25P03",          // idle in transaction too long
			"25006",          // read-only: a standby
			"40001", "40P01", // serialization failure, deadlock
			"55P03": // lock time-out
			return true
		}
		return false
	}
	if _, ok := errors.AsType[*pgconn.ConnectError](err); ok {
		return true
	}
	if _, ok := errors.AsType[net.Error](err); ok {
		return true // a broken connection, or context.DeadlineExceeded
	}
	return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) ||
		pgconn.SafeToRetry(err) || errors.Is(err, context.DeadlineExceeded)
}
