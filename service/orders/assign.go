package orders

import (
	"context"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/customers"
)

// Limits of an assignment, in characters.
const (
	MaxAssignee = 120
	MaxNote     = 2000
)

// Assignment says by when an order is due, who makes it, and what staff note about it.
type Assignment struct {
	DueDate  time.Time // midnight in UTC; zero for none
	Assignee string    // "" for none
	Note     string    // "" for none
}

// Reassignment changes an assignment; nil leaves a field as it is. With Base, a field
// is changed only if it still is as there.
type Reassignment struct {
	DueDate        *time.Time
	Assignee, Note *string
	Base           *Assignment
}

// Assign changes by when an order is due, who makes it and what is noted about it, in
// any state. It fails with CodeInvalidInput, with CodeWrongState if somebody else
// changed a field since the base, and with CodeErased for a note about a customer whose
// data was erased.
func (s *Service) Assign(
	ctx context.Context, caller service.Caller, id uuid.UUID, r Reassignment,
) (Order, error) {
	if faults := r.check(); len(faults) > 0 {
		return Order{}, service.Invalid(faults)
	}
	return s.change(ctx, caller, id, func(tx *db.Tx, c *change) error {
		o, err := Decode(c.row)
		if err != nil {
			return err
		}
		next, err := r.from(o.Assignment)
		if err != nil || next == o.Assignment {
			return err
		}
		if next.Note != "" {
			// Read under the order's lock: an erasure either sees the note or is seen.
			customer, err := tx.Customer(ctx, query.CustomerParams{ShopID: caller.Shop, ID: o.CustomerID})
			if err != nil {
				return err
			}
			if customer.ErasedAt != nil {
				return customers.Erased()
			}
		}
		c.row.DueDate, c.row.Assignee, c.row.Note = optional(next.DueDate), optional(next.Assignee), optional(next.Note)
		c.event = "updated"
		return nil
	})
}

func (r Reassignment) check() (faults service.Faults) {
	if r.Assignee != nil {
		faults = append(faults, service.CheckLine("/assignee", *r.Assignee, 0, MaxAssignee)...)
	}
	if r.Note != nil {
		faults = append(faults, service.CheckLines("/note", *r.Note, 0, MaxNote)...)
	}
	return faults
}

// from returns what an assignment becomes. Fields that somebody else changed since
// the base are in the refusal.
func (r Reassignment) from(now Assignment) (Assignment, error) {
	next, base := now, now
	if r.Base != nil {
		base = *r.Base
	}
	var missed []string
	if r.DueDate != nil && !r.DueDate.Equal(base.DueDate) {
		if next.DueDate = *r.DueDate; !now.DueDate.Equal(base.DueDate) && !now.DueDate.Equal(next.DueDate) {
			missed = append(missed, "the due date is now "+orNone(now.DueText()))
		}
	}
	if r.Assignee != nil && *r.Assignee != base.Assignee {
		if next.Assignee = *r.Assignee; now.Assignee != base.Assignee && now.Assignee != next.Assignee {
			missed = append(missed, "the assignee is now "+orNone(now.Assignee))
		}
	}
	if r.Note != nil && *r.Note != base.Note {
		if next.Note = *r.Note; now.Note != base.Note && now.Note != next.Note {
			missed = append(missed, "the note was changed")
		}
	}
	if len(missed) > 0 {
		return now, service.Refuse(service.CodeWrongState, "somebody else changed the order meanwhile: %s",
			strings.Join(missed, ", "))
	}
	return next, nil
}

// ReadDay reads a due date as ISO 8601 has it; "" is none. It fails with
// CodeInvalidInput.
func ReadDay(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}, service.Invalid(service.Faults{{Code: fault.Format, Field: "/due_date",
			Value: fault.Shorten(text), Accepted: "a day such as 2026-03-14, or nothing"}})
	}
	return day, nil
}

// DueText returns the due date as ISO 8601 has it, "" for none.
func (a Assignment) DueText() string {
	if a.DueDate.IsZero() {
		return ""
	}
	return a.DueDate.Format(time.DateOnly)
}

func orNone(text string) string {
	if text == "" {
		return "none"
	}
	return text
}

// LateOn reports whether the order was due before a day and still is to be shipped.
func (o Order) LateOn(day time.Time) bool {
	return !o.DueDate.IsZero() && o.DueDate.Before(day) && o.Status != Cancelled && o.Progress != Shipped
}
