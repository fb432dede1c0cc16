package orders

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/patterns"
	"tapeline/service/styles"
	"tapeline/service/work"
)

// UndraftedError says why there is no draft to hand out: a person must look at
// the order.
type UndraftedError struct {
	Reason Reason
	Faults service.Faults
	Cost   *cost.Error // what it exceeded, if the reason is TooCostly
}

// Error leaves the faults out: they may quote measurements.
func (e *UndraftedError) Error() string { return "not drafted: " + string(e.Reason) }

// Unwrap returns e.Cost.
func (e *UndraftedError) Unwrap() error {
	if e.Cost == nil {
		return nil
	}
	return e.Cost
}

// tooCostly returns the error of a draft that ended with err because it exceeded
// its budget; the faults say at which line of the script, if it has one.
func tooCostly(o drafting.Order, exceeded *cost.Error, err error) *UndraftedError {
	f := fault.Fault{Code: fault.Costly, Field: "/block", Value: fault.Shorten(o.Block), Accepted: exceeded.Error()}
	if o.Garment != nil {
		f.Field, f.Value = "/style", fault.Shorten(o.Style)
	}
	faults := fault.List{f}
	if failed, ok := errors.AsType[*style.Error](err); ok {
		faults = styles.ScriptFaults(failed)
		faults[0].Code = fault.Costly
	}
	return &UndraftedError{TooCostly, faults, exceeded}
}

// Draft drafts an order and proves the draft. The error is an *UndraftedError
// if a person must look at the order, or the context's; any other is a defect of
// the program.
func Draft(ctx context.Context, o drafting.Order) (finish.Pattern, error) {
	p, err := drafting.Draft(ctx, o)
	if e := cost.Of(ctx, err); e != nil {
		return p, tooCostly(o, e, err)
	}
	if err == nil || ctx.Err() != nil {
		return p, err
	}
	if faults, ok := errors.AsType[fault.List](err); ok {
		return p, &UndraftedError{Reason: Undraftable, Faults: faults}
	}
	if broken, ok := errors.AsType[*block.CheckError](err); ok {
		return p, &UndraftedError{Reason: CheckFailed, Faults: checkFaults(broken)}
	}
	if failed, ok := errors.AsType[*style.Error](err); ok {
		return p, &UndraftedError{Reason: StyleFailed, Faults: styles.ScriptFaults(failed)}
	}
	if o.Garment != nil { // what a script makes and cannot be finished is its fault too
		failed := &style.Error{Style: o.Style, Reason: err.Error()}
		return p, &UndraftedError{Reason: StyleFailed, Faults: styles.ScriptFaults(failed)}
	}
	return p, err
}

// checkFaults says which measures of a draft were not what they should be.
func checkFaults(e *block.CheckError) fault.List {
	var faults fault.List
	for _, c := range e.Failed {
		faults = append(faults, fault.Fault{Code: fault.Undraftable,
			Accepted: fmt.Sprintf("%s came out as %.1f mm instead of %.1f mm", c.Name, c.Drafted, c.Target)})
	}
	for _, rule := range slices.Compact(slices.Clone(e.Broken)) {
		faults = append(faults, fault.Fault{Code: fault.Undraftable, Accepted: rule})
	}
	return faults
}

// Basis is the input of a draft, which the store composes of an order, its
// measurement set and the customer's alterations.
type Basis struct {
	Spec
	MeasuredUnit body.Unit          `json:"measured_unit"`
	Measurements map[string]float64 `json:"measurements"` // as the shop gave them; nil: erased
	AlteredUnit  body.Unit          `json:"altered_unit"`
	Alterations  map[string]any     `json:"alterations"` // as the shop gave them; nil: none
}

// DecodeBasis reads what an order's next draft is made from.
func DecodeBasis(in db.DraftInput) (Basis, error) {
	var b Basis
	if err := json.Unmarshal(in.Basis, &b); err != nil {
		return Basis{}, fmt.Errorf("basis of order %s: %w", in.ID, err)
	}
	return b, nil
}

// Measured returns the measurements as the shop gave them.
func (b Basis) Measured() customers.Measurements {
	return customers.Measurements{Unit: string(b.MeasuredUnit), Values: b.Measurements}
}

// Compose returns the order to draft, with its label. The error is an
// *UndraftedError if this version of the program doesn't accept what a former
// one did.
func (s *Service) Compose(ctx context.Context, in db.DraftInput, b Basis, revision int) (drafting.Order, error) {
	garment, err := s.garment(ctx, s.store.Queries, b.Spec)
	if e, ok := errors.AsType[*styles.ScriptError](err); ok {
		return drafting.Order{}, &UndraftedError{Reason: StyleFailed, Faults: e.Faults}
	}
	if err != nil {
		return drafting.Order{}, err
	}
	o, err := b.Order(b.MeasuredUnit.Measures(b.Measurements), garment)
	if err != nil {
		return drafting.Order{}, fmt.Errorf("order %s: %w", in.ID, err)
	}
	if b.Alterations != nil {
		alterations, faults := drafting.NewAlterations(b.AlteredUnit, b.Alterations)
		if len(faults) > 0 {
			return drafting.Order{}, &UndraftedError{Reason: Undraftable, Faults: faults}
		}
		o = o.Altered(alterations)
	}
	o.Label = drafting.Label{Reference: in.Reference, Date: b.Date, Revision: revision}
	if b.Test {
		o.Label.Reference = "TEST " + o.Label.Reference
	}
	if in.CustomerReference != nil {
		o.Label.Customer = *in.CustomerReference
	}
	return o, nil
}

// Doubts returns the numbers of a measurement set that do not go together and
// that nobody has confirmed, for any order.
func (s *Service) Doubts(ctx context.Context, shop, set uuid.UUID, m customers.Measurements) (fault.List, error) {
	assessed, err := assess(ctx, s.store.Queries, shop, m)
	doubts := assessed.Doubts(customers.Refuse, customers.Confirm)
	if err != nil || len(doubts) == 0 {
		return nil, err
	}
	confirmed, err := s.store.SetConfirmed(ctx, query.SetConfirmedParams{ShopID: shop, ID: set})
	if err != nil || confirmed {
		return nil, err
	}
	return doubts, nil
}

// HeldBy adds doubts about an order's numbers to the error of its draft: an
// order with doubts is held.
func HeldBy(err error, doubts fault.List) error {
	if len(doubts) == 0 {
		return err
	}
	if u, ok := errors.AsType[*UndraftedError](err); ok {
		return &UndraftedError{u.Reason, append(u.Faults, doubts...), u.Cost}
	}
	if err != nil {
		return err
	}
	return &UndraftedError{Reason: Implausible, Faults: doubts}
}

// DraftOn drafts an order on a core of a class, and counts the draft. The error
// is as Draft's; a panic is a *work.PanicError.
func (s *Service) DraftOn(
	ctx context.Context, class work.Class, shop uuid.UUID, o drafting.Order,
) (r patterns.Record, err error) {
	err = s.Cores.Do(ctx, class, shop, func(ctx context.Context) error {
		start := time.Now()
		p, err := Draft(ctx, o)
		s.Drafted(time.Since(start), err)
		if err == nil {
			r, err = patterns.NewRecord(p)
		}
		return err
	})
	return r, err
}
