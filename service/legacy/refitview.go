package legacy

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/fault"
)

// RefitView is a refit with how far it is and what was found.
type RefitView struct {
	Refit
	Tally    db.RefitTally
	Progress *RefitProgress // while it previews or applies
	Arrived  int            // while it is to be decided: orders that came into its scope later
	Moves    *RefitMoves    // once it is previewed
}

// RefitProgress is how far the present phase is.
type RefitProgress struct {
	Done, Total int
	PerSecond   float64       // lately
	Left        time.Duration // at that rate; 0 when it is not known
}

// RefitMoves is how the orders' largest moves are spread.
type RefitMoves struct {
	Median, P90, Largest float64 // mm
	Spread               []MoveCount
	Most                 []RefitOrder // the ten orders that move most
}

// MoveCount counts orders whose largest move is at least From and less than To
// mm; To is 0 for the last.
type MoveCount struct {
	From, To float64
	Count    int
}

// moveBounds part the largest moves, mm: what nobody cuts, what a cutter sees
// on the table, a quarter, a half and a whole seam allowance, and more.
var moveBounds = []float64{0.1, 0.5, 1, 2, 3, 5, 10, 20, 50}

const (
	mostMoved  = 10
	rateWindow = 10 * time.Second
)

// Refit reads a refit with how far it is.
func (s *Service) Refit(ctx context.Context, caller Caller, id uuid.UUID) (RefitView, error) {
	row, err := s.store.Refit(ctx, caller.Shop, id)
	if err != nil {
		return RefitView{}, orNotFound(err, "refit")
	}
	r, err := refit(row)
	if err != nil {
		return RefitView{}, err
	}
	v := RefitView{Refit: r}
	now := s.now()
	if v.Tally, err = s.store.RefitTally(ctx, id, now.Add(-rateWindow)); err != nil {
		return v, err
	}
	v.progress(now)
	if RefitState(r.State) == RefitToDecide {
		if v.Arrived, err = s.store.ArrivedSince(ctx, id, r.orders(), r.CreatedAt); err != nil {
			return v, err
		}
	}
	if RefitState(r.State) != RefitPreviewing {
		v.Moves, err = s.moves(ctx, id)
	}
	return v, err
}

// progress works out how far the present phase is.
func (v *RefitView) progress(now time.Time) {
	var p RefitProgress
	var since time.Time
	var lately int
	switch RefitState(v.State) {
	case RefitPreviewing:
		p = RefitProgress{Done: v.Orders - v.Tally.Findings[findingWaiting], Total: v.Orders}
		since, lately = v.CreatedAt, v.Tally.Previews
	case RefitApplying:
		p = RefitProgress{Done: v.Tally.Applied, Total: v.Tally.Applied + v.Tally.Outcomes[outcomeChosen]}
		since, lately = *v.DecidedAt, v.Tally.Settled
	default:
		return
	}
	window := min(rateWindow, max(now.Sub(since), time.Second)).Seconds()
	p.PerSecond = float64(lately) / window
	if p.PerSecond > 0 {
		p.Left = time.Duration(float64(p.Total-p.Done) / p.PerSecond * float64(time.Second)).Round(time.Second)
	}
	v.Progress = &p
}

func (s *Service) moves(ctx context.Context, id uuid.UUID) (*RefitMoves, error) {
	spread, err := s.store.RefitMoves(ctx, id, moveBounds)
	if err != nil || spread.Largest == nil {
		return nil, err
	}
	m := &RefitMoves{Median: *spread.Median, P90: *spread.P90, Largest: *spread.Largest}
	for i, n := range spread.Counts {
		c := MoveCount{Count: n}
		if i > 0 {
			c.From = moveBounds[i-1]
		}
		if i < len(moveBounds) {
			c.To = moveBounds[i]
		}
		m.Spread = append(m.Spread, c)
	}
	rows, err := s.store.MostMoved(ctx, id, mostMoved)
	if err != nil {
		return nil, err
	}
	m.Most, err = refitOrders(rows)
	return m, err
}

// Refits lists the shop's refits, newest first.
func (s *Service) Refits(ctx context.Context, caller Caller, page Page) ([]Refit, uuid.UUID, error) {
	rows, err := s.store.Refits(ctx, caller.Shop, more(page))
	rows, next, err := paged(rows, err, page, func(r db.Refit) uuid.UUID { return r.ID })
	if err != nil {
		return nil, uuid.Nil, err
	}
	refits := make([]Refit, len(rows))
	for i, row := range rows {
		if refits[i], err = refit(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return refits, next, nil
}

// RefitOrder is one order in a refit.
type RefitOrder struct {
	db.RefitOrder
	Faults     fault.List
	Comparison *Comparison // of orders that were compared; nil once erased
}

// RefitOrderFilter chooses orders of a refit; a zero field chooses all.
type RefitOrderFilter = db.RefitOrderFilter

// RefitOrders lists the orders of a refit, newest first.
func (s *Service) RefitOrders(ctx context.Context, caller Caller, id uuid.UUID, f RefitOrderFilter,
	page Page) ([]RefitOrder, uuid.UUID, error) {
	if _, err := s.store.Refit(ctx, caller.Shop, id); err != nil {
		return nil, uuid.Nil, orNotFound(err, "refit")
	}
	rows, err := s.store.RefitOrders(ctx, caller.Shop, id, f, more(page))
	rows, next, err := paged(rows, err, page, func(r db.RefitOrder) uuid.UUID { return r.OrderID })
	if err != nil {
		return nil, uuid.Nil, err
	}
	orders, err := refitOrders(rows)
	return orders, next, err
}

// RefitOrder reads one order of a refit.
func (s *Service) RefitOrder(ctx context.Context, caller Caller, id, order uuid.UUID) (RefitOrder, error) {
	row, err := s.store.RefitOrder(ctx, caller.Shop, id, order)
	if err != nil {
		return RefitOrder{}, orNotFound(err, "order in this refit")
	}
	return refitOrder(row)
}

func refitOrders(rows []db.RefitOrder) ([]RefitOrder, error) {
	orders := make([]RefitOrder, len(rows))
	var err error
	for i, row := range rows {
		if orders[i], err = refitOrder(row); err != nil {
			return nil, err
		}
	}
	return orders, nil
}

func refitOrder(row db.RefitOrder) (RefitOrder, error) {
	o := RefitOrder{RefitOrder: row}
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

// RefitLink is the address at which a refit is read.
func (s *Service) RefitLink(id uuid.UUID) string {
	return s.cfg.PublicURL + "/v1/refits/" + id.String()
}
