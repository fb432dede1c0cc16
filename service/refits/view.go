package refits

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/orders"
)

// View is a refit with its progress and what was found.
type View struct {
	Refit
	Previews map[string]int // orders by finding
	Outcomes map[string]int // orders by outcome, of those decided
	Progress *Progress      // while it previews or applies
	Arrived  int            // while it is to be decided: orders that came into its scope later, at most maxOrders
	Moves    *Moves         // once it is previewed
	Fittings *Fittings      // nil unless orders were tried on
}

// Progress is the progress of the present phase.
type Progress struct {
	Done, Total int
	PerSecond   float64       // lately
	Left        time.Duration // at that rate; 0 if it is unknown
}

// Moves is the distribution of the orders' largest moves.
type Moves struct {
	Median, P90, Largest float64 // mm
	Histogram            []MoveCount
	Most                 []Order // the ten orders that move most
}

// MoveCount counts orders whose largest move is at least Min and less than Max
// mm; Max is 0 for the last.
type MoveCount struct {
	Min, Max float64
	Count    int
}

// moveBounds divides the largest moves, mm: what nobody cuts, what a cutter sees
// on the table, a quarter, a half and a whole seam allowance, and more.
var moveBounds = []float64{0.1, 0.5, 1, 2, 3, 5, 10, 20, 50}

const (
	mostMoved  = 10
	rateWindow = 10 * time.Second
)

// Get returns a refit with its progress.
func (s *Service) Get(ctx context.Context, caller service.Caller, id uuid.UUID) (View, error) {
	row, err := s.store.Refit(ctx, query.RefitParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return View{}, service.OrNotFound(err, "refit")
	}
	r, err := decode(row)
	if err != nil {
		return View{}, err
	}
	now := s.Clock.Now()
	figures, err := s.store.RefitFigures(ctx, id, now.Add(-rateWindow), moveBounds)
	if err != nil {
		return View{}, err
	}
	v := View{Refit: r, Previews: figures.Findings, Outcomes: figures.Outcomes, Progress: progress(r, figures, now)}
	if r.Status == ToDecide {
		scope := r.scope()
		scope.RefitID, scope.UpdatedFrom, scope.Limit = &id, &r.CreatedAt, maxOrders
		arrived, err := s.store.ListRefitScope(ctx, scope)
		if err != nil {
			return View{}, err
		}
		v.Arrived = len(arrived)
	}
	if r.Status == Previewing {
		return v, nil
	}
	if v.Moves, err = s.moves(ctx, id, figures); err != nil {
		return v, err
	}
	v.Fittings, err = s.fittings(ctx, id)
	return v, err
}

// progress works out the progress of a refit's phase; nil if it has none.
func progress(r Refit, f db.RefitFigures, now time.Time) *Progress {
	var p Progress
	var since time.Time
	var lately int
	switch r.Status {
	case Previewing:
		p = Progress{Done: r.Orders - f.Findings[findingWaiting], Total: r.Orders}
		since, lately = r.CreatedAt, f.Previews
	case Applying:
		p = Progress{Done: f.Applied, Total: f.Applied + f.Outcomes[outcomeChosen]}
		since, lately = *r.DecidedAt, f.Settled
	default:
		return nil
	}
	window := min(rateWindow, max(now.Sub(since), time.Second)).Seconds()
	p.PerSecond = float64(lately) / window
	if p.PerSecond > 0 {
		p.Left = time.Duration(float64(p.Total-p.Done) / p.PerSecond * float64(time.Second)).Round(time.Second)
	}
	return &p
}

func (s *Service) moves(ctx context.Context, id uuid.UUID, f db.RefitFigures) (*Moves, error) {
	if f.Moves == nil {
		return nil, nil
	}
	m := &Moves{Median: f.Moves.Median, P90: f.Moves.P90, Largest: f.Moves.Largest}
	for i, n := range f.Counts {
		c := MoveCount{Count: n}
		if i > 0 {
			c.Min = moveBounds[i-1]
		}
		if i < len(moveBounds) {
			c.Max = moveBounds[i]
		}
		m.Histogram = append(m.Histogram, c)
	}
	rows, err := s.store.MostMoved(ctx, query.MostMovedParams{RefitID: id, Limit: mostMoved})
	if err != nil {
		return nil, err
	}
	m.Most, err = decodeOrders(rows,
		func(r query.MostMovedRow) (db.RefitOrder, string) { return r.RefitOrder, r.Reference })
	if err == nil {
		err = s.withFittings(ctx, m.Most)
	}
	return m, err
}

// List lists the shop's refits, newest first.
func (s *Service) List(ctx context.Context, caller service.Caller, page service.Page) ([]Refit, uuid.UUID, error) {
	rows, err := s.store.Refits(ctx,
		query.RefitsParams{ShopID: caller.Shop, Below: page.Below(), Limit: int(page.Rows())})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next := service.Cut(rows, page, func(r db.Refit) uuid.UUID { return r.ID })
	list := make([]Refit, len(rows))
	for i, row := range rows {
		if list[i], err = decode(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return list, next, nil
}

// Order is one order in a refit.
type Order struct {
	RefitID     uuid.UUID
	OrderID     uuid.UUID
	Reference   string
	Preview     string // what the preview found
	Basis       *int   // the draft that was compared with
	Reason      orders.Reason
	Faults      service.Faults
	Comparison  *Comparison // of orders that were compared; nil once erased
	Fitting     *Fitting    // nil unless it is tried on
	PreviewedAt *time.Time
	Outcome     *string // nil until the refit is decided
	Revision    *int    // the draft that it was given
	SettledAt   *time.Time
	ErasedAt    *time.Time
}

// ReasonDetail says the order's reason in a sentence.
func (o Order) ReasonDetail() string { return reasonDetail(o.Reason) }

// OrderFilter selects orders of a refit; a zero field selects all.
type OrderFilter struct {
	Preview string
	Outcome string
}

// ListOrders lists the orders of a refit, newest first.
func (s *Service) ListOrders(
	ctx context.Context, caller service.Caller, id uuid.UUID, f OrderFilter, page service.Page,
) ([]Order, uuid.UUID, error) {
	if _, err := s.store.Refit(ctx, query.RefitParams{ShopID: caller.Shop, ID: id}); err != nil {
		return nil, uuid.Nil, service.OrNotFound(err, "refit")
	}
	rows, err := s.store.ListRefitOrders(ctx, query.ListRefitOrdersParams{ShopID: caller.Shop, RefitID: id,
		Finding: service.Optional(f.Preview), Outcome: service.Optional(f.Outcome), Below: page.Below(),
		Limit: int(page.Rows())})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next := service.Cut(rows, page, func(r query.ListRefitOrdersRow) uuid.UUID { return r.RefitOrder.OrderID })
	list, err := decodeOrders(rows,
		func(r query.ListRefitOrdersRow) (db.RefitOrder, string) { return r.RefitOrder, r.Reference })
	if err == nil {
		err = s.withFittings(ctx, list)
	}
	return list, next, err
}

// OfOrder lists what refits did with an order, newest first. Its pages continue
// after the ID of a refit.
func (s *Service) OfOrder(
	ctx context.Context, caller service.Caller, order uuid.UUID, page service.Page,
) ([]Order, uuid.UUID, error) {
	rows, err := s.store.RefitsOfOrder(ctx, query.RefitsOfOrderParams{ShopID: caller.Shop, OrderID: order,
		Below: page.Below(), Limit: int(page.Rows())})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next := service.Cut(rows, page, func(r query.RefitsOfOrderRow) uuid.UUID { return r.RefitOrder.RefitID })
	list, err := decodeOrders(rows,
		func(r query.RefitsOfOrderRow) (db.RefitOrder, string) { return r.RefitOrder, r.Reference })
	if err == nil {
		err = s.withFittings(ctx, list)
	}
	return list, next, err
}

// Order returns one order of a refit.
func (s *Service) Order(ctx context.Context, caller service.Caller, id, order uuid.UUID) (Order, error) {
	row, err := s.store.RefitOrder(ctx,
		query.RefitOrderParams{ShopID: caller.Shop, RefitID: id, OrderID: order})
	if err != nil {
		return Order{}, service.OrNotFound(err, "order in this refit")
	}
	o, err := decodeOrder(row.RefitOrder, row.Reference)
	if err != nil {
		return Order{}, err
	}
	list := []Order{o}
	err = s.withFittings(ctx, list)
	return list[0], err
}

// decodeOrders reads stored orders of a refit from rows of a query.
func decodeOrders[R any](rows []R, parts func(R) (row db.RefitOrder, reference string)) ([]Order, error) {
	list := make([]Order, len(rows))
	var err error
	for i, row := range rows {
		if list[i], err = decodeOrder(parts(row)); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// decodeOrder reads a stored order of a refit.
func decodeOrder(row db.RefitOrder, reference string) (Order, error) {
	o := Order{RefitID: row.RefitID, OrderID: row.OrderID, Reference: reference, Preview: row.Finding,
		Basis: row.BasisRevision, PreviewedAt: row.PreviewedAt, Outcome: row.Outcome, Revision: row.Revision,
		SettledAt: row.SettledAt, ErasedAt: row.ErasedAt}
	if row.ReasonCode != nil {
		o.Reason = orders.Reason(*row.ReasonCode)
	}
	if row.Faults != nil {
		if err := json.Unmarshal(row.Faults, &o.Faults); err != nil {
			return o, fmt.Errorf("faults of order %s in refit %s: %w", row.OrderID, row.RefitID, err)
		}
	}
	if row.Comparison != nil {
		if err := json.Unmarshal(row.Comparison, &o.Comparison); err != nil {
			return o, fmt.Errorf("comparison of order %s in refit %s: %w", row.OrderID, row.RefitID, err)
		}
	}
	return o, nil
}
