package db

import "github.com/google/uuid"

// Page asks for rows of a list, newest first, after the row with the id of
// the last one seen. Pages stay true while rows are added.
type Page struct {
	After uuid.UUID // Nil: from the newest
	Limit int       // most rows to give
}
