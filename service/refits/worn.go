package refits

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/service"
	"tapeline/service/fittings"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/work"
)

// How many orders of a refit are tried on.
const (
	UsualSample = 5
	MaxSample   = 20
)

// What becomes of a finding between two drafts.
type (
	FittingChange = fitting.Change
	Effect        = fitting.Effect
)

// A Wearing asks to try orders of a refit on, each in its present draft and in the one
// that it would be given.
type Wearing struct {
	Sample int             // 0: UsualSample; at most MaxSample
	Detail fittings.Detail // "" is Quick
	Cloth  string          // name of a preset; "" for the one that suits each style
}

// Fitting says what a refit does to the fit of an order.
type Fitting struct {
	Detail     fittings.Detail
	Cloth      string
	State      fittings.State
	Reason     string // why it failed
	Engine     string // version of the program that tried both on and drafted the second
	FinishedAt *time.Time

	Before, After *fitting.Report // nil unless it is ready
	Changes       []FittingChange
	Girths        []GirthChange
}

// GirthChange is the girth of a garment as worn at a level, mm.
type GirthChange struct {
	Name                string
	Body, Before, After float64
}

// Fittings sums up what a refit does to the fit of the orders that were tried on.
type Fittings struct {
	Detail fittings.Detail
	Cloth  string
	States map[fittings.State]int
	Places []FittingPlace
	Orders []Order // tried on, or waiting for it
}

// Open reports whether an order waits to be tried on.
func (f Fittings) Open() bool { return f.States[fittings.Queued] > 0 }

// FittingPlace says what becomes of the findings at a place, and for which order they
// get worst.
type FittingPlace struct {
	Effects   map[Effect]int // orders by effect
	Worst     fitting.Change
	Order     uuid.UUID // of Worst
	Reference string    // of Order
}

// TryOn has orders that change tried on, a sample evenly spread by how far they move.
// It replaces what was tried on before. It fails with CodeWrongState unless the refit
// is to be decided, changes an order, and tries none on.
func (s *Service) TryOn(ctx context.Context, caller service.Caller, id uuid.UUID, w Wearing) (View, error) {
	if w.Sample == 0 {
		w.Sample = UsualSample
	}
	if w.Sample < 1 || w.Sample > MaxSample {
		return View{}, service.Invalid(fault.List{{Code: fault.Choice, Field: "/sample", Value: strconv.Itoa(w.Sample),
			Accepted: fmt.Sprintf("1 to %d", MaxSample)}})
	}
	if w.Detail == "" {
		w.Detail = fittings.Quick
	}
	if err := fittings.CheckCloth(w.Cloth); err != nil {
		return View{}, err
	}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := s.lockRefit(ctx, tx, caller, id)
		if err != nil {
			return err
		}
		if err := triable(ctx, tx, row); err != nil {
			return err
		}
		now := s.Clock.Now()
		n, err := sample(ctx, tx, id, w, now)
		if err != nil {
			return err
		}
		detail := map[string]any{"orders": n, "level": w.Detail}
		if err := s.record(ctx, tx, caller, "refit.tried_on", id, detail); err != nil {
			return err
		}
		return s.Jobs.Enqueue(ctx, tx, tryArgs{id})
	})
	if err != nil {
		return View{}, err
	}
	return s.Get(ctx, caller, id)
}

// triable refuses to try orders of a refit on in its state.
func triable(ctx context.Context, tx *db.Tx, row db.Refit) error {
	r, err := decode(row)
	switch {
	case err != nil:
		return err
	case r.Status != ToDecide:
		return service.Refuse(service.CodeWrongState, "a refit that is %s is not tried on; one that is %s is", r.Status,
			ToDecide)
	}
	_, err = tx.NextRefitFitting(ctx, row.ID)
	if err == nil {
		return service.Refuse(service.CodeWrongState, "orders of this refit are being tried on; wait, or cancel that")
	}
	if !errors.Is(err, db.ErrNotFound) {
		return err
	}
	return nil
}

// sample lets a sample of the orders that change wait to be tried on, and returns how
// many they are.
func sample(ctx context.Context, tx *db.Tx, id uuid.UUID, w Wearing, now time.Time) (int64, error) {
	ids, err := tx.SampleRefitOrders(ctx, query.SampleRefitOrdersParams{RefitID: id, Sample: w.Sample})
	if err != nil {
		return 0, err
	}
	// An erasure locks the orders too: it sees the fittings, or this sees the erasure.
	if _, err := tx.LockOrders(ctx, ids); err != nil {
		return 0, err
	}
	if err := tx.DeleteRefitFittings(ctx, id); err != nil {
		return 0, err
	}
	n, err := tx.InsertRefitFittings(ctx, query.InsertRefitFittingsParams{RefitID: id, OrderIds: ids,
		Level: string(w.Detail), Cloth: service.Optional(w.Cloth), At: now})
	if err == nil && n == 0 {
		err = service.Refuse(service.CodeWrongState, "no draft of this refit changes, so there is nothing to try on")
	}
	return n, err
}

// CancelTryOn cancels the fittings of a refit that are not finished.
func (s *Service) CancelTryOn(ctx context.Context, caller service.Caller, id uuid.UUID) (View, error) {
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := s.lockRefit(ctx, tx, caller, id); err != nil {
			return err
		}
		n, err := tx.CancelRefitFittings(ctx, query.CancelRefitFittingsParams{RefitID: id, At: s.Clock.Now()})
		if err != nil || n == 0 {
			return err
		}
		return s.record(ctx, tx, caller, "refit.try_on_cancelled", id, map[string]any{"orders": n})
	})
	if err != nil {
		return View{}, err
	}
	return s.Get(ctx, caller, id)
}

// tryArgs is the job that tries the next order of a refit on.
type tryArgs struct {
	RefitID uuid.UUID `json:"refit_id"`
}

func (tryArgs) Kind() string      { return "refit_fitting" }
func (tryArgs) Queue() work.Queue { return work.Fittings }

// Behind implements work.Behind: fittings of single orders go first.
func (tryArgs) Behind() int { return orders.BehindRequests }

// tryNext tries the next order of a refit on and then goes to the end of the queue. A
// worker may stop at any point, and two may have the same job: one result is stored.
func (s *Service) tryNext(ctx context.Context, job *work.Job[tryArgs]) error {
	id := job.Args.RefitID
	next, err := s.store.NextRefitFitting(ctx, id)
	if errors.Is(err, db.ErrNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read fitting of refit: %w", err)
	}
	trying, end := s.Fittings.Watch(ctx, func(ctx context.Context) (bool, error) {
		waits, err := s.store.RefitFittingWaits(ctx,
			query.RefitFittingWaitsParams{RefitID: id, OrderID: next.OrderID})
		return !waits, err
	})
	pair, err := s.tryBoth(trying, id, next)
	end()
	p := query.FinishRefitFittingParams{RefitID: id, OrderID: next.OrderID, Engine: &s.Version, At: s.Clock.Now()}
	switch cause := context.Cause(trying); {
	case err == nil:
		p.State, p.Picture = string(fittings.Ready), pair.Picture
		p.Before, p.After = db.JSON(pair.Before), db.JSON(pair.After)
	case errors.Is(cause, fittings.ErrGone), errors.Is(cause, fittings.ErrHalted):
		return work.Again(0)
	case service.Unavailable(err):
		return err
	default:
		reason, ours := fittings.ReasonOf(err)
		if ours {
			s.Log.Error("fitting failed", "refit_id", id, "order_id", next.OrderID, "error", err)
		}
		p.State, p.Reason = string(fittings.Failed), &reason
	}
	if err := s.store.FinishRefitFitting(context.WithoutCancel(ctx), p); err != nil {
		return err
	}
	return work.Again(0)
}

// tryBoth tries an order on in the draft that the preview compared with, as it was
// stored, and in the one that the refit would give it.
func (s *Service) tryBoth(
	ctx context.Context, id uuid.UUID, next query.NextRefitFittingRow,
) (p fittings.Pair, err error) {
	row, err := s.store.RefitByID(ctx, id)
	if err != nil {
		return p, err
	}
	in, err := s.store.RefitInput(ctx, id, next.OrderID)
	if err != nil {
		return p, err
	}
	caller := service.Caller{Shop: row.ShopID}
	head, err := s.Patterns.Head(ctx, caller, next.OrderID, service.OrZero(in.BasisRevision))
	if err != nil {
		return p, err
	}
	before, err := s.Orders.OfDraft(ctx, caller, next.OrderID, head.Number)
	if err != nil {
		return p, err
	}
	if err := s.Fittings.Triable(before); err != nil {
		return p, err
	}
	change, in, basis, err := s.from(ctx, caller, row, in, head)
	if err != nil {
		return p, err
	}
	after, err := s.changed(ctx, change, in, basis, head.Number+1)
	if u, ok := errors.AsType[*orders.UndraftedError](err); ok && u.Faults != nil {
		return p, u.Faults
	}
	if err != nil {
		return p, err
	}
	return s.Fittings.TryBoth(ctx, row.ShopID, fittings.Two{Before: before.Order, Stored: &before.Pattern,
		After: after.order, Cloth: service.OrZero(next.Cloth), Detail: fittings.Detail(next.Level),
		SameBody: after.input.MeasurementSetID == in.MeasurementSetID})
}

// UntriedOrphans returns jobs for refits with orders that wait to be tried on since
// before a time, and have none.
func (s *Service) UntriedOrphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	ids, err := s.store.OrphanedRefitFittings(ctx,
		query.OrphanedRefitFittingsParams{Kind: tryArgs{}.Kind(), Before: before, Limit: limit})
	jobs := make([]work.Args, len(ids))
	for i, id := range ids {
		jobs[i] = tryArgs{id}
	}
	return jobs, err
}

// withFittings fills in what was found of the fit of orders.
func (s *Service) withFittings(ctx context.Context, list []Order) error {
	p := query.RefitFittingsParams{RefitIds: make([]uuid.UUID, len(list)), OrderIds: make([]uuid.UUID, len(list))}
	type key struct{ refit, order uuid.UUID }
	at := map[key]int{}
	for i, o := range list {
		p.RefitIds[i], p.OrderIds[i] = o.RefitID, o.OrderID
		at[key{o.RefitID, o.OrderID}] = i
	}
	rows, err := s.store.RefitFittings(ctx, p)
	if err != nil {
		return err
	}
	for _, row := range rows {
		f, err := decodeFitting(row)
		if err != nil {
			return err
		}
		list[at[key{row.RefitID, row.OrderID}]].Fitting = &f
	}
	return nil
}

func decodeFitting(row query.RefitFittingsRow) (Fitting, error) {
	f := Fitting{Detail: fittings.Detail(row.Level), Cloth: service.OrZero(row.Cloth), State: fittings.State(row.State),
		Reason: service.OrZero(row.Reason), Engine: service.OrZero(row.Engine), FinishedAt: row.FinishedAt}
	if row.Before == nil {
		return f, nil
	}
	if err := errors.Join(json.Unmarshal(row.Before, &f.Before), json.Unmarshal(row.After, &f.After)); err != nil {
		return f, fmt.Errorf("fitting of order %s in refit %s: %w", row.OrderID, row.RefitID, err)
	}
	f.compare()
	return f, nil
}

// compare says what becomes of findings and girths. Of cloth that did not come to rest
// only what needs no cloth counts.
func (f *Fitting) compare() {
	f.Changes = fitting.Changes(*f.Before, *f.After)
	if !f.Before.Settled || !f.After.Settled {
		f.Changes = slices.DeleteFunc(f.Changes, func(c FittingChange) bool { return c.Kind != fitting.NotPutOn })
		return
	}
	for _, was := range f.Before.Levels {
		for _, is := range f.After.Levels {
			if was.Name == is.Name {
				f.Girths = append(f.Girths, GirthChange{is.Name, is.Body, was.Worn, is.Worn})
			}
		}
	}
}

// fittings sums up the fittings of a refit; nil if none were asked for.
func (s *Service) fittings(ctx context.Context, id uuid.UUID) (*Fittings, error) {
	rows, err := s.store.RefitFittingOrders(ctx, id)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	list, err := decodeOrders(rows,
		func(r query.RefitFittingOrdersRow) (db.RefitOrder, string) { return r.RefitOrder, r.Reference })
	if err == nil {
		err = s.withFittings(ctx, list)
	}
	if err != nil {
		return nil, err
	}
	return sumUp(list), nil
}

// sumUp sums up the fittings of orders, of which all have one.
func sumUp(list []Order) *Fittings {
	f := &Fittings{Detail: list[0].Fitting.Detail, Cloth: list[0].Fitting.Cloth, States: map[fittings.State]int{},
		Orders: list}
	for _, o := range list {
		f.States[o.Fitting.State]++
		for _, c := range o.Fitting.Changes {
			i := slices.IndexFunc(f.Places, func(p FittingPlace) bool {
				return p.Worst.Kind == c.Kind && p.Worst.Place == c.Place
			})
			if i < 0 {
				f.Places = append(f.Places, FittingPlace{map[Effect]int{}, c, o.OrderID, o.Reference})
				i = len(f.Places) - 1
			}
			p := &f.Places[i]
			p.Effects[c.Effect]++
			if c.Worse > p.Worst.Worse {
				p.Worst, p.Order, p.Reference = c, o.OrderID, o.Reference
			}
		}
	}
	slices.SortStableFunc(f.Places, func(a, b FittingPlace) int { return cmp.Compare(b.Worst.Worse, a.Worst.Worse) })
	return f
}

// FittingPicture draws an order of a refit in both drafts, side by side, as svg, png or
// pdf. It fails with CodeWrongState if its fitting is not ready.
func (s *Service) FittingPicture(
	ctx context.Context, caller service.Caller, id, order uuid.UUID, format string, has func(string) bool,
) (patterns.File, error) {
	row, err := s.store.RefitFittingPicture(ctx,
		query.RefitFittingPictureParams{ShopID: caller.Shop, RefitID: id, OrderID: order})
	if err != nil {
		return patterns.File{}, service.OrNotFound(err, "fitting of this order in this refit")
	}
	if row.Picture == nil {
		return patterns.File{}, service.Refuse(service.CodeWrongState,
			"the fitting is %s; one that is ready has a picture", row.State)
	}
	d := fittings.Drawing{Packed: row.Picture, Reference: row.Reference, Format: format}
	return s.Fittings.Draw(ctx, caller, d, has)
}
