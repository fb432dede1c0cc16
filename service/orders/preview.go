package orders

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/document"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/patterns"
	"tapeline/service/styles"
	"tapeline/service/work"
)

// Revision is a draft of an order as it was proved, without its document.
type Revision struct {
	query.DraftHead
	Spec   Spec
	Checks []document.Check // nil once erased
}

// Revisions lists an order's drafts, newest first.
func (s *Service) Revisions(ctx context.Context, caller service.Caller, id uuid.UUID) ([]Revision, error) {
	if _, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: id}); err != nil {
		return nil, service.OrNotFound(err, "order")
	}
	revisions := []Revision{}
	p := query.DraftHeadsParams{ShopID: caller.Shop, OrderID: id, Below: math.MaxInt32, Limit: maxRows}
	for {
		heads, err := s.store.DraftHeads(ctx, p)
		if err != nil {
			return nil, err
		}
		for _, head := range heads {
			r, err := decodeRevision(head)
			if err != nil {
				return nil, err
			}
			revisions = append(revisions, r)
			p.Below = head.Number
		}
		if len(heads) < p.Limit {
			return revisions, nil
		}
	}
}

func decodeRevision(head query.DraftHead) (Revision, error) {
	r := Revision{DraftHead: head}
	err := json.Unmarshal(head.Spec, &r.Spec)
	if err == nil && head.Checks != nil {
		err = json.Unmarshal(head.Checks, &r.Checks)
	}
	if err != nil {
		return Revision{}, fmt.Errorf("stored draft %d of order %s: %w", head.Number, head.OrderID, err)
	}
	return r, nil
}

// BasisOf returns what a draft was made from.
func (s *Service) BasisOf(ctx context.Context, caller service.Caller, head query.DraftHead) (Basis, error) {
	r, err := decodeRevision(head)
	if err != nil {
		return Basis{}, err
	}
	set, err := customers.SetOf(ctx, s.store.Queries, caller, uuid.Nil, head.MeasurementSetID)
	if err != nil {
		return Basis{}, err
	}
	b := Basis{Spec: r.Spec, MeasuredUnit: body.Unit(set.Unit), Measurements: set.Values}
	if head.AlterationsID != nil {
		row, err := s.store.AlterationSet(ctx, query.AlterationSetParams{ShopID: caller.Shop, ID: *head.AlterationsID})
		if err != nil {
			return Basis{}, err
		}
		a, err := customers.AlterationsFromRow(row)
		if err != nil {
			return Basis{}, err
		}
		b.AlteredUnit, b.Alterations = body.Unit(a.Unit), a.Values
	}
	return b, nil
}

// Preview is a request to draft without storing. Of MeasurementSetID and the input's
// measurements one is given.
type Preview struct {
	MeasurementSetID uuid.UUID
	Input            Input // without alterations those of the set's customer
	StyleRevision    int
}

// Preview drafts and proves without storing, and returns a file of the draft; an
// SVG is for screens unless the options say otherwise. It fails with
// CodeInvalidInput if the order cannot be drafted.
func (s *Service) Preview(
	ctx context.Context, caller service.Caller, p Preview, name string, o patterns.Options,
) (patterns.File, error) {
	if name == "svg" && o.For == "" {
		o.For = patterns.Screens
	}
	format, o, err := patterns.ParseOptions(name, o)
	if err != nil {
		return patterns.File{}, err
	}
	order, err := s.Previewed(ctx, caller, p)
	if err != nil {
		return patterns.File{}, err
	}
	previews := s.previews
	if caller.PublishedOnly() {
		previews = s.visitors
	}
	leave, err := previews.Enter(caller.Shop)
	if err != nil {
		return patterns.File{}, err
	}
	defer leave()
	f := patterns.File{MediaType: format.MediaType}
	f.Content, err = s.Patterns.Render(ctx, caller.Shop, format, o, func(ctx context.Context) (finish.Pattern, error) {
		start := time.Now()
		drafted, err := Draft(ctx, order)
		s.Drafted(time.Since(start), err)
		return drafted, err
	})
	if u, ok := errors.AsType[*UndraftedError](err); ok {
		if u.Reason == TooCostly {
			return patterns.File{}, &service.Error{Code: service.CodeTooCostly, Detail: u.Cost.Error(), Faults: u.Faults}
		}
		return patterns.File{}, service.Invalid(u.Faults)
	}
	return f, err
}

// Previewed returns the order that a preview drafts. It fails with CodeInvalidInput if
// there is none.
func (s *Service) Previewed(ctx context.Context, caller service.Caller, p Preview) (drafting.Order, error) {
	p.Input.Block = defaultBlock(p.Input.Block, p.Input.Style)
	measured := customers.Measurements{Unit: p.Input.Unit, Values: p.Input.Measurements}
	altered := customers.Alterations{Unit: p.Input.Unit, Values: p.Input.Alterations}
	if p.MeasurementSetID != uuid.Nil && caller.PublishedOnly() {
		return drafting.Order{}, UnknownID("/measurement_set_id",
			"nothing: a publishable key reads no stored measurements, so give measurements")
	}
	if p.MeasurementSetID != uuid.Nil {
		set, err := customers.SetOf(ctx, s.store.Queries, caller, uuid.Nil, p.MeasurementSetID)
		if err != nil {
			return drafting.Order{}, err
		}
		measured = set.Measurements
		if p.Input.Alterations == nil {
			if altered, err = customers.LatestAlterations(ctx, s.store.Queries, caller.Shop, set.CustomerID); err != nil {
				return drafting.Order{}, err
			}
		}
	}
	alterations, err := altered.Draftable()
	if err != nil {
		return drafting.Order{}, err
	}
	var garment styles.Resolved
	if p.Input.Style != "" {
		ref := styles.Ref{Slug: p.Input.Style, Revision: p.StyleRevision}
		if garment, err = s.Styles.Resolve(ctx, s.store.Queries, caller, ref); err != nil {
			return drafting.Order{}, err
		}
	}
	order, faults := resolve(p.Input, measured, garment.Garment)
	if len(faults) > 0 {
		return drafting.Order{}, service.Invalid(faults)
	}
	order.Label = drafting.Label{Reference: "preview", Revision: 1}
	return order.Altered(alterations), nil
}

// Estimate is a measurement that was estimated for a draft.
type Estimate struct {
	Name          string
	Unit          body.Unit // mm or degree
	Value, Spread float64
	Source        string
	Move          float64 // how far the pattern moves if it is off by the spread, mm
	Piece         string  // the piece that moves most
	Undraftable   []string
}

// Estimates returns the measurements that were estimated for an order's draft,
// and how far its pattern would move if they were wrong; revision 0 is the
// current one. It drafts again, and fails with CodeWrongState if this version of
// the program no longer makes the draft; otherwise as patterns.Head does.
func (s *Service) Estimates(
	ctx context.Context, caller service.Caller, id uuid.UUID, revision int,
) ([]Estimate, error) {
	head, err := s.Patterns.Head(ctx, caller, id, revision)
	if err != nil {
		return nil, err
	}
	basis, err := s.BasisOf(ctx, caller, head)
	if err != nil {
		return nil, err
	}
	order, err := s.Compose(ctx, db.DraftInput{DraftInput: query.DraftInput{ID: id}}, basis, head.Number)
	if err != nil {
		return nil, noLongerDraftable(err)
	}
	leave, err := s.estimates.Enter(caller.Shop)
	if err != nil {
		return nil, err
	}
	defer leave()
	var found []drafting.Estimate
	err = s.Cores.Do(ctx, work.Request, caller.Shop, func(ctx context.Context) (err error) {
		found, err = drafting.Estimates(ctx, order)
		return err
	})
	if err != nil {
		return nil, noLongerDraftable(err)
	}
	list := make([]Estimate, len(found))
	for i, e := range found {
		list[i] = Estimate{Name: string(e.Name), Unit: body.Millimetre.Of(e.Name), Value: e.Value, Spread: e.Spread,
			Source: e.Source, Move: e.Move, Piece: e.Piece}
		for _, f := range e.Refused {
			list[i].Undraftable = append(list[i].Undraftable, f.Accepted)
		}
	}
	return list, nil
}

// noLongerDraftable refuses what an earlier version of the program drafted and
// this one doesn't.
func noLongerDraftable(err error) error {
	_, faulty := errors.AsType[fault.List](err)
	_, undrafted := errors.AsType[*UndraftedError](err)
	if faulty || undrafted {
		return service.Refuse(service.CodeWrongState, "the program has changed since and no longer makes this draft")
	}
	return err
}
