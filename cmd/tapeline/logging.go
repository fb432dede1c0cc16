package main

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"regexp"

	"github.com/jackc/pgx/v5/pgconn"
)

// newLogger writes JSON, one record a line. What may not be logged is kept
// out where records are made; this is the second fence.
func newLogger(w io.Writer, level slog.Level) *slog.Logger {
	return slog.New(discreet{slog.NewJSONHandler(w, &slog.HandlerOptions{Level: level})})
}

// discreet is a handler that takes secrets out of every text it is given:
// API keys, webhook secrets, signatures of links, passwords in addresses. Of
// errors of the database it keeps only the code and the constraint, since
// Postgres quotes the values it refuses.
type discreet struct{ slog.Handler }

var secrets = regexp.MustCompile(`tl_[a-z2-7]{8}_[A-Za-z0-9_-]+|whsec_[A-Za-z0-9+/=]+|` +
	`(signature=|password=|[a-z]+://[^:@/\s]*:)[^@&\s"]+(@|&|\s|"|$)`)

func hush(text string) string {
	return secrets.ReplaceAllString(text, "${1}[secret]${2}")
}

func (d discreet) Handle(ctx context.Context, r slog.Record) error {
	clean := slog.NewRecord(r.Time, r.Level, hush(r.Message), r.PC)
	r.Attrs(func(a slog.Attr) bool {
		clean.AddAttrs(discreetAttr(a))
		return true
	})
	return d.Handler.Handle(ctx, clean)
}

func (d discreet) WithAttrs(attrs []slog.Attr) slog.Handler {
	clean := make([]slog.Attr, len(attrs))
	for i, a := range attrs {
		clean[i] = discreetAttr(a)
	}
	return discreet{d.Handler.WithAttrs(clean)}
}

func (d discreet) WithGroup(name string) slog.Handler { return discreet{d.Handler.WithGroup(name)} }

func discreetAttr(a slog.Attr) slog.Attr {
	switch v := a.Value.Resolve(); v.Kind() {
	case slog.KindString:
		return slog.String(a.Key, hush(v.String()))
	case slog.KindGroup:
		var clean []any
		for _, inner := range v.Group() {
			clean = append(clean, discreetAttr(inner))
		}
		return slog.Group(a.Key, clean...)
	case slog.KindAny:
		if err, ok := v.Any().(error); ok {
			return slog.String(a.Key, hush(errorText(err)))
		}
	}
	return a
}

func errorText(err error) string {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		text := "database: SQLSTATE " + e.Code
		if e.ConstraintName != "" {
			text += ", constraint " + e.ConstraintName
		}
		return text
	}
	return err.Error()
}
