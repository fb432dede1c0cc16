package service

import (
	"strings"

	"github.com/google/uuid"
)

// Page asks for part of a list, newest first. It stays valid while rows are
// added.
type Page struct {
	After uuid.UUID // the last row seen; uuid.Nil starts from the newest
	Limit int       // max rows
}

// Below returns the ID below which the rows of the page lie.
func (p Page) Below() uuid.UUID {
	if p.After == uuid.Nil {
		return uuid.Max
	}
	return p.After
}

// Rows returns how many rows to query: one more than the page holds, which
// tells Cut whether there is another page.
func (p Page) Rows() int32 { return int32(p.Limit) + 1 }

// Cut limits the rows of a query to the page, and returns the ID to continue
// after: uuid.Nil on the last page.
func Cut[T any](rows []T, p Page, id func(T) uuid.UUID) ([]T, uuid.UUID) {
	if len(rows) <= p.Limit {
		return rows, uuid.Nil
	}
	rows = rows[:p.Limit]
	return rows, id(rows[len(rows)-1])
}

var escapeLike = strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`)

// Containing returns the pattern of LIKE for what contains a text; "" for none.
func Containing(text string) string {
	if text == "" {
		return ""
	}
	return "%" + escapeLike.Replace(text) + "%"
}
