// Package orders takes orders, has them drafted, and follows each from receipt
// to a garment shipped.
//
// A change of state, the job that follows from it and the message that tells of
// it are written in one transaction, always.
package orders

import (
	"cmp"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/service"
)

// Input is an order as a shop gives it.
type Input = drafting.OrderInput

// Spec is an order without the body's measurements: stored with the order and with
// every draft made from it.
type Spec struct {
	drafting.StoredOrder
	Date string `json:"date,omitempty"` // as lettered on the pattern

	// StyleRevision is that of a shop's own style, and StyleHash the SHA-256, in
	// hexadecimal, of the script that Style stood for when the order was
	// accepted: what it is drafted by from then on.
	StyleRevision int    `json:"style_revision,omitempty"`
	StyleHash     string `json:"style_hash,omitempty"`

	// Confirmed is the measurement set of which somebody said that its numbers
	// are right; the order's history says who.
	Confirmed string `json:"confirmed,omitempty"`

	// Test says that the order was made with a test key.
	Test bool `json:"test,omitempty"`
}

// Order is a shop's order for one pattern.
type Order struct {
	ID               uuid.UUID
	Reference        string // the shop's, unique in the shop
	Status           Status
	Reason           Reason         // "" unless held, failed or cancelled
	Faults           service.Faults // the reason at length
	CustomerID       uuid.UUID
	Customer         string // the customer's name or, without one, reference; "" once erased
	MeasurementSetID uuid.UUID
	Source           Source
	Spec             Spec
	Revision         int        // the draft that is handed out; 0 for none
	AlterationsID    *uuid.UUID // that it was made with; nil for none
	Progress         Progress
	Assignment
	CreatedAt time.Time
	UpdatedAt time.Time
}

// Source is where an order came from.
type Source string

const (
	API     Source = "api"
	Inbound Source = "inbound"
)

// Decode reads a stored order.
func Decode(row query.ShopOrder) (Order, error) {
	o := Order{ID: row.ID, Reference: row.Reference, Status: Status(row.Status), CustomerID: row.CustomerID,
		MeasurementSetID: row.MeasurementSetID, Source: Source(row.Source), Revision: row.Revision,
		AlterationsID: row.AlterationsID, Progress: cmp.Or(Progress(row.Progress), Uncut),
		Assignment: Assignment{DueDate: service.OrZero(row.DueDate), Assignee: service.OrZero(row.Assignee),
			Note: service.OrZero(row.Note)},
		CreatedAt: row.CreatedAt, UpdatedAt: row.UpdatedAt}
	for _, name := range []*string{row.CustomerName, row.CustomerReference} {
		if name != nil && o.Customer == "" {
			o.Customer = *name
		}
	}
	if row.ReasonCode != nil {
		o.Reason = Reason(*row.ReasonCode)
	}
	if err := json.Unmarshal(row.Spec, &o.Spec); err != nil {
		return Order{}, fmt.Errorf("spec of order %s: %w", row.ID, err)
	}
	if row.Faults != nil {
		if err := json.Unmarshal(row.Faults, &o.Faults); err != nil {
			return Order{}, fmt.Errorf("faults of order %s: %w", row.ID, err)
		}
	}
	return o, nil
}

// Event is one line of an order's history.
type Event struct {
	Event     string // received, held, ready, revised ...
	Status    Status // after it
	Revision  *int   // the draft that the event made or chose
	Reason    string // a person's own words, or a Reason
	Confirmed []Confirmed
	Actor     *uuid.UUID // the key; nil: the service itself
	RefitID   *uuid.UUID // the refit that it was done for
	At        time.Time
}

// Confirmed is a number that somebody said is right, and the mistake that it
// had been taken for.
type Confirmed struct {
	Field       string `json:"field"`
	Explanation string `json:"explanation"`
}

// DecodeEvent reads a stored line of an order's history.
func DecodeEvent(row query.OrderEvent) (Event, error) {
	e := Event{Event: row.Event, Status: Status(row.ToStatus), Revision: row.Revision, Actor: row.Actor,
		RefitID: row.RefitID, At: row.At}
	switch {
	case row.Reason != nil:
		e.Reason = *row.Reason
	case row.ReasonCode != nil:
		e.Reason = *row.ReasonCode
	}
	if row.Confirmed != nil {
		if err := json.Unmarshal(row.Confirmed, &e.Confirmed); err != nil {
			return Event{}, fmt.Errorf("confirmed numbers of event %d: %w", row.ID, err)
		}
	}
	return e, nil
}

// optional returns nil for the zero value.
func optional[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}
