package orders

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
)

// Filter selects orders; a zero field selects all. Days are midnights in UTC.
type Filter struct {
	Statuses      []Status   // one of these
	Progress      []Progress // one of these
	Search        string     // within the order's reference, or the customer's reference or name
	Reference     string
	CustomerID    uuid.UUID
	Block         string
	Style         string // by its slug
	Assignee      string
	CreatedFrom   time.Time // that time or later
	CreatedBefore time.Time
	UpdatedFrom   time.Time // changed at that time or later
	DueFrom       time.Time // due on that day or later
	DueBefore     time.Time
	Late          bool // due before today, and neither shipped nor cancelled
	Open          bool // neither shipped nor cancelled

	ByDue bool // sorts by due date, without one last, instead of newest first
}

// List lists the shop's orders.
func (s *Service) List(
	ctx context.Context, caller service.Caller, f Filter, page service.Page,
) ([]Order, uuid.UUID, error) {
	p := query.ListOrdersParams{ShopID: caller.Shop, Below: page.Below(),
		Statuses: texts(f.Statuses), Progress: texts(f.Progress), Search: optional(service.Containing(f.Search)),
		Reference: optional(f.Reference), CustomerID: optional(f.CustomerID),
		Block: optional(f.Block), Style: optional(f.Style), Assignee: optional(f.Assignee),
		CreatedFrom: optional(f.CreatedFrom), CreatedBefore: optional(f.CreatedBefore),
		UpdatedFrom: optional(f.UpdatedFrom), DueFrom: optional(f.DueFrom), DueBefore: optional(f.DueBefore),
		Open: f.Open || f.Late, ByDue: f.ByDue, Limit: int(page.Rows())}
	if f.Late {
		today, err := s.Today(ctx, caller)
		if err != nil {
			return nil, uuid.Nil, err
		}
		if f.DueBefore.IsZero() || today.Before(f.DueBefore) {
			p.DueBefore = &today
		}
	}
	if f.ByDue {
		due, err := s.continuesAfter(ctx, caller, page.After)
		if err != nil {
			return nil, uuid.Nil, err
		}
		p.AfterDue = due
	}
	rows, err := s.store.ListOrders(ctx, p)
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next := service.Cut(rows, page, func(o query.ShopOrder) uuid.UUID { return o.ID })
	list := make([]Order, len(rows))
	for i, row := range rows {
		if list[i], err = Decode(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return list, next, nil
}

// continuesAfter returns the due date of the last order seen, nil for none. A list
// that begins starts from the first day there is.
func (s *Service) continuesAfter(ctx context.Context, caller service.Caller, last uuid.UUID) (*time.Time, error) {
	if last == uuid.Nil {
		return &time.Time{}, nil
	}
	row, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: last})
	return row.DueDate, service.OrNotFound(err, "page of this list")
}

// texts returns names as the store takes them; nil for none.
func texts[T ~string](names []T) []string {
	var list []string
	for _, n := range names {
		list = append(list, string(n))
	}
	return list
}

// Today returns the day that it is for the caller's shop, as midnight in UTC.
func (s *Service) Today(ctx context.Context, caller service.Caller) (time.Time, error) {
	zone, err := access.Location(ctx, s.store.Queries, caller.Owner())
	if err != nil {
		return time.Time{}, err
	}
	return access.Day(s.Clock.Now(), zone), nil
}

// Count is the number of a shop's orders with a status and progress.
type Count struct {
	Status   Status
	Progress Progress
	Orders   int
	Late     int // of them due before today, and neither shipped nor cancelled
	Mine     int // of them assigned to the name of the caller's key, and neither shipped nor cancelled
}

// Counts counts the shop's orders.
func (s *Service) Counts(ctx context.Context, caller service.Caller) ([]Count, error) {
	today, err := s.Today(ctx, caller)
	if err != nil {
		return nil, err
	}
	rows, err := s.store.CountOrders(ctx, query.CountOrdersParams{ShopID: caller.Shop, Today: today, KeyID: caller.Key})
	counts := make([]Count, len(rows))
	for i, row := range rows {
		counts[i] = Count{Status(row.Status), Progress(row.Progress), int(row.Orders), int(row.Late), int(row.Mine)}
	}
	return counts, err
}

// maxAssignees is how many names Assignees returns.
const maxAssignees = 100

// Assignees returns the names of those to whom open orders are assigned.
func (s *Service) Assignees(ctx context.Context, caller service.Caller) ([]string, error) {
	return s.store.Assignees(ctx, query.AssigneesParams{ShopID: caller.Shop, Limit: maxAssignees})
}
