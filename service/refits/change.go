package refits

import (
	"context"
	"errors"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/orders"
	"tapeline/service/styles"
)

// Change is a change that a refit applies to orders. One of its fields is set.
type Change struct {
	Style        *StyleChange        `json:"style,omitempty"`
	Fit          *FitChange          `json:"fit,omitempty"`
	Measurements *MeasurementsChange `json:"measurements,omitempty"`
	Alterations  *AlterationsChange  `json:"alterations,omitempty"`
	Engine       *EngineChange       `json:"engine,omitempty"`
}

// StyleChange takes the orders of a style from one of its revisions, or from
// any other script, to a revision.
type StyleChange struct {
	Style string `json:"style"`
	From  int    `json:"from,omitempty"` // 0: any but To
	To    int    `json:"to,omitempty"`   // 0 when the refit begins: as the style then stands; after that: a built-in one
	Hash  string `json:"hash,omitempty"` // of To's script, in hexadecimal; the service fills it in
}

// FitChange takes the orders of a block or a style from one of its fits to
// another, or to the same with other values of ease.
type FitChange struct {
	Block string `json:"block,omitempty"`
	Style string `json:"style,omitempty"`
	From  string `json:"from"`
	To    string `json:"to"`
	// Ease, in Unit, replaces an order's ease of the same names; its other ease
	// stays.
	Unit string             `json:"unit,omitempty"`
	Ease map[string]float64 `json:"ease,omitempty"`
}

// MeasurementsChange takes the orders of a customer from one measurement set,
// or from any other, to a set.
type MeasurementsChange struct {
	CustomerID uuid.UUID `json:"customer_id"`
	From       uuid.UUID `json:"from,omitzero"` // uuid.Nil: any but To
	To         uuid.UUID `json:"to"`
}

// AlterationsChange takes the orders of a customer from one version of their
// alterations, or from any other and none, to a version.
//
// No other change touches alterations: an order keeps those that its draft was
// made with, so that nothing else moves.
type AlterationsChange struct {
	CustomerID uuid.UUID `json:"customer_id"`
	From       uuid.UUID `json:"from,omitzero"` // uuid.Nil: any but To
	To         uuid.UUID `json:"to"`
}

// EngineChange has orders drafted by this release that were drafted by an
// earlier one.
type EngineChange struct{}

// target is a change with what it needs to be applied.
type target struct {
	Change
	set     customers.Set           // Measurements.To
	altered customers.AlterationSet // Alterations.To
}

// target checks a change and returns it with what it needs, and pins a style. Its
// faults have pointers below /change.
func (s *Service) target(ctx context.Context, q db.Queries, caller service.Caller, change Change) (target, error) {
	r := target{Change: change}
	switch {
	case change.Style != nil && change.Style.Hash == "":
		return s.withStyle(ctx, q, caller, r)
	case change.Fit != nil:
		return r, s.checkFit(ctx, q, caller, change.Fit)
	case change.Measurements != nil:
		return r.withSets(ctx, q, caller)
	case change.Alterations != nil:
		return r.withAlterations(ctx, q, caller)
	}
	return r, nil
}

// withStyle pins the revision that the change goes to.
func (s *Service) withStyle(ctx context.Context, q db.Queries, caller service.Caller, r target) (target, error) {
	style := *r.Style
	ref := styles.Ref{Slug: style.Style, Revision: style.To}
	pinned, err := s.Styles.Pin(ctx, q, caller, ref, s.Clock.Now())
	faults, err := changeFaults(err, map[string]string{"/style": "/change/style/style",
		"/style_revision": "/change/style/to"})
	if err != nil {
		return r, err
	}
	if style.From > 0 {
		_, err := q.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Shop, Slug: style.Style,
			Number: style.From})
		if errors.Is(err, db.ErrNotFound) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/change/style/from",
				Value: strconv.Itoa(style.From), Accepted: "a revision of this style of the shop's own"})
		} else if err != nil {
			return r, err
		}
	}
	if len(faults) > 0 {
		return r, service.Invalid(faults)
	}
	style.To, style.Hash = pinned.Revision, pinned.Garment.Hash
	r.Style = &style
	return r, nil
}

// changeFaults returns the faults of a refused input, with the pointers that a
// change has for these fields. It returns any other error as it is.
func changeFaults(err error, fields map[string]string) (fault.List, error) {
	e, ok := errors.AsType[*service.Error](err)
	if !ok || e.Faults == nil {
		return nil, err
	}
	faults := slices.Clone(e.Faults)
	for i := range faults {
		if field, ok := fields[faults[i].Field]; ok {
			faults[i].Field = field
		}
	}
	return faults, nil
}

// withSets reads the measurement sets that the change names.
func (r target) withSets(ctx context.Context, q db.Queries, caller service.Caller) (target, error) {
	m := r.Measurements
	var faults fault.List
	for _, named := range [...]struct {
		field string
		id    uuid.UUID
	}{{"/change/measurements/from", m.From}, {"/change/measurements/to", m.To}} {
		if named.id == uuid.Nil {
			continue
		}
		set, err := customers.SetOf(ctx, q, caller, m.CustomerID, named.id)
		more, err := changeFaults(err, map[string]string{"/measurement_set_id": named.field})
		if err != nil {
			return r, err
		}
		faults = append(faults, more...)
		r.set = set
	}
	if len(faults) > 0 {
		return r, service.Invalid(faults)
	}
	return r, nil
}

// withAlterations reads the versions that the change names.
func (r target) withAlterations(ctx context.Context, q db.Queries, caller service.Caller) (target, error) {
	a := r.Alterations
	var faults fault.List
	for _, named := range [...]struct {
		field string
		id    uuid.UUID
	}{{"/change/alterations/from", a.From}, {"/change/alterations/to", a.To}} {
		if named.id == uuid.Nil {
			continue
		}
		row, err := q.AlterationSet(ctx, query.AlterationSetParams{ShopID: caller.Shop, ID: named.id})
		switch {
		case errors.Is(err, db.ErrNotFound), err == nil && (row.ErasedAt != nil || row.CustomerID != a.CustomerID):
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: named.field,
				Accepted: "the ID of alterations of the customer that were not erased"})
			continue
		case err != nil:
			return r, err
		}
		if r.altered, err = customers.AlterationsFromRow(row); err != nil {
			return r, err
		}
	}
	if len(faults) > 0 {
		return r, service.Invalid(faults)
	}
	return r, nil
}

// checkFit refuses a change between fits that the block or style does not have.
func (s *Service) checkFit(ctx context.Context, q db.Queries, caller service.Caller, f *FitChange) error {
	if f.Block != "" && f.Style != "" {
		return service.Invalid(fault.List{{Code: fault.Choice, Field: "/change/fit/style", Value: f.Style,
			Accepted: "a block or a style, not both"}})
	}
	spec, faults := drafting.FindBlock("/change/fit/block", f.Block)
	if f.Style != "" {
		resolved, err := s.Styles.Resolve(ctx, q, caller, styles.Ref{Slug: f.Style})
		if faults, err = changeFaults(err, map[string]string{"/style": "/change/fit/style"}); err != nil {
			return err
		}
		if len(faults) == 0 {
			spec = resolved.Garment.Spec()
		}
	}
	if len(faults) > 0 {
		return service.Invalid(faults)
	}
	if faults := f.check(spec); len(faults) > 0 {
		return service.Invalid(faults)
	}
	return nil
}

func (f *FitChange) check(spec block.Spec) fault.List {
	const at = "/change/fit"
	var faults fault.List
	var fits []string
	for _, fit := range spec.Fits {
		fits = append(fits, fit.Name)
	}
	for _, end := range [...]struct{ field, name string }{{"/from", f.From}, {"/to", f.To}} {
		if !slices.Contains(fits, end.name) {
			faults = append(faults, fault.UnknownName(at+end.field, end.name, "fit of "+spec.Name, fits))
		}
	}
	if len(f.Ease) > 0 && f.Unit == "" {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: at + "/unit",
			Accepted: "required with ease: cm or inch"})
	}
	if i := slices.Index(fits, f.To); i >= 0 && f.Unit != "" {
		unit := body.Unit(f.Unit)
		faults = append(faults, drafting.CheckEase(drafting.Lengths(unit, f.Ease), spec.Fits[i], unit, spec.Name,
			"change", "fit", "ease")...)
	}
	return faults
}

// narrow restricts a scope to the orders that the change is about.
func (r Change) narrow(scope *db.RefitScope) {
	switch {
	case r.Style != nil:
		scope.Styles = append(scope.Styles, r.Style.Style)
		if scope.StyleRevision = service.Optional(r.Style.From); r.Style.From == 0 {
			scope.NotScript = scriptHash(r.Style.Hash)
		}
	case r.Fit != nil && r.Fit.Style != "":
		scope.Styles, scope.Fit = append(scope.Styles, r.Fit.Style), &r.Fit.From
	case r.Fit != nil:
		scope.Blocks, scope.Fit = append(scope.Blocks, r.Fit.Block), &r.Fit.From
	case r.Measurements != nil:
		scope.CustomerID, scope.Set = &r.Measurements.CustomerID, service.Optional(r.Measurements.From)
		if scope.Set == nil {
			scope.NotSet = &r.Measurements.To
		}
	case r.Alterations != nil:
		scope.CustomerID, scope.Alterations = &r.Alterations.CustomerID, service.Optional(r.Alterations.From)
		if scope.Alterations == nil {
			scope.NotAlterations = &r.Alterations.To
		}
	}
}

// apply changes what an order is drafted from.
func (r target) apply(b orders.Basis, in db.DraftInput) (orders.Basis, db.DraftInput) {
	switch {
	case r.Style != nil:
		b.StyleRevision, b.StyleHash = r.Style.To, r.Style.Hash
	case r.Fit != nil:
		b.StoredOrder = b.WithFit(r.Fit.To, drafting.Lengths(body.Unit(r.Fit.Unit), r.Fit.Ease))
	case r.Measurements != nil:
		in.MeasurementSetID = r.set.ID
		b.MeasuredUnit, b.Measurements = body.Unit(r.set.Unit), r.set.Values
	case r.Alterations != nil:
		in.BasisAlterations = &r.altered.ID
		b.AlteredUnit, b.Alterations = body.Unit(r.altered.Unit), r.altered.Values
	}
	return b, in
}
