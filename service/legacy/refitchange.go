package legacy

import (
	"context"
	"errors"
	"slices"
	"strconv"

	"tapeline/db/query"
	"tapeline/service/customers"
	"tapeline/service/styles"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/service/orders"
)

// RefitChange is what a refit carries to orders. One of its fields is set.
type RefitChange struct {
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
	// Ease, in Unit, is what the orders have from then on, whatever an order had
	// by that name; an order's other ease stays.
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
// made with, so that nothing moves but what was meant.
type AlterationsChange struct {
	CustomerID uuid.UUID `json:"customer_id"`
	From       uuid.UUID `json:"from,omitzero"` // uuid.Nil: any but To
	To         uuid.UUID `json:"to"`
}

// EngineChange has orders drafted by this release that were drafted by an
// earlier one.
type EngineChange struct{}

// refitting is a change with what it takes to apply it.
type refitting struct {
	RefitChange
	set     customers.Set           // Measurements.To
	altered customers.AlterationSet // Alterations.To
}

// refitting checks a change and reads what it needs; a style is pinned. Its
// faults have pointers below /change.
func (s *Service) refitting(ctx context.Context, q db.Queries, caller Caller, change RefitChange) (refitting, error) {
	r := refitting{RefitChange: change}
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
func (s *Service) withStyle(ctx context.Context, q db.Queries, caller Caller, r refitting) (refitting, error) {
	style := *r.Style
	pinned, err := s.cfg.Styles.Pin(ctx, q, caller.Shop, styles.Ref{Slug: style.Style, Revision: style.To}, s.now())
	faults, err := changeFaults(err, map[string]string{"/style": "/change/style/style", "/style_revision": "/change/style/to"})
	if err != nil {
		return r, err
	}
	if style.From > 0 {
		_, err := q.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Shop, Slug: style.Style, Number: style.From})
		if errors.Is(err, db.ErrNotFound) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/change/style/from", Value: strconv.Itoa(style.From),
				Accepted: "a revision of this style of the shop's own"})
		} else if err != nil {
			return r, err
		}
	}
	if len(faults) > 0 {
		return r, invalid(faults)
	}
	style.To, style.Hash = pinned.Revision, pinned.Garment.Hash
	r.Style = &style
	return r, nil
}

// changeFaults are those of a refused input with their pointers put where a
// change has the field; any other error stays one.
func changeFaults(err error, fields map[string]string) (fault.List, error) {
	e, ok := errors.AsType[*Error](err)
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
func (r refitting) withSets(ctx context.Context, q db.Queries, caller Caller) (refitting, error) {
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
		return r, invalid(faults)
	}
	return r, nil
}

// withAlterations reads the versions that the change names.
func (r refitting) withAlterations(ctx context.Context, q db.Queries, caller Caller) (refitting, error) {
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
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: named.field, Accepted: "the id of alterations of the customer that were not erased"})
			continue
		case err != nil:
			return r, err
		}
		if r.altered, err = customers.AlterationsFromRow(row); err != nil {
			return r, err
		}
	}
	if len(faults) > 0 {
		return r, invalid(faults)
	}
	return r, nil
}

// checkFit finds what is wrong with a change of fit.
func (s *Service) checkFit(ctx context.Context, q db.Queries, caller Caller, f *FitChange) error {
	if f.Block != "" && f.Style != "" {
		return invalid(fault.List{{Code: fault.Choice, Field: "/change/fit/style", Value: f.Style, Accepted: "a block or a style, not both"}})
	}
	spec, faults := drafting.FindBlock("/change/fit/block", f.Block)
	if f.Style != "" {
		garment, err := s.cfg.Styles.Resolve(ctx, q, caller.Shop, styles.Ref{Slug: f.Style})
		if faults, err = changeFaults(err, map[string]string{"/style": "/change/fit/style"}); err != nil {
			return err
		}
		if len(faults) == 0 {
			spec = garment.Garment.Spec()
		}
	}
	if len(faults) > 0 {
		return invalid(faults)
	}
	if faults := f.check(spec); len(faults) > 0 {
		return invalid(faults)
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
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: at + "/unit", Accepted: "required with ease: cm or inch"})
	}
	if i := slices.Index(fits, f.To); i >= 0 && f.Unit != "" {
		unit := body.Unit(f.Unit)
		faults = append(faults, drafting.CheckEase(drafting.Lengths(unit, f.Ease), spec.Fits[i], unit, spec.Name, "change", "fit", "ease")...)
	}
	return faults
}

// narrow restricts a scope to the orders that the change is about.
func (r RefitChange) narrow(scope *db.RefitScope) {
	switch {
	case r.Style != nil:
		scope.Styles = append(scope.Styles, r.Style.Style)
		if scope.StyleRevision = r.Style.From; r.Style.From == 0 {
			scope.NotScript = mustHash(r.Style.Hash)
		}
	case r.Fit != nil && r.Fit.Style != "":
		scope.Styles, scope.Fit = append(scope.Styles, r.Fit.Style), r.Fit.From
	case r.Fit != nil:
		scope.Blocks, scope.Fit = append(scope.Blocks, r.Fit.Block), r.Fit.From
	case r.Measurements != nil:
		scope.CustomerID, scope.Set = r.Measurements.CustomerID, r.Measurements.From
		if scope.Set == uuid.Nil {
			scope.NotSet = r.Measurements.To
		}
	case r.Alterations != nil:
		scope.CustomerID, scope.Alterations = r.Alterations.CustomerID, r.Alterations.From
		if scope.Alterations == uuid.Nil {
			scope.NotAlterations = r.Alterations.To
		}
	}
}

// apply changes what an order is drafted from.
func (r refitting) apply(b orders.Basis, in db.DraftInput) (orders.Basis, db.DraftInput) {
	switch {
	case r.Style != nil:
		b.StyleRevision, b.StyleHash = r.Style.To, r.Style.Hash
	case r.Fit != nil:
		b.StoredOrder = b.WithFit(r.Fit.To, drafting.Lengths(body.Unit(r.Fit.Unit), r.Fit.Ease))
	case r.Measurements != nil:
		in.MeasurementSetID = r.set.ID
		b.MeasuredUnit, b.Measurements = body.Unit(r.set.Unit), r.set.Values
	case r.Alterations != nil:
		in.KeptID = &r.altered.ID
		b.AlteredUnit, b.Alterations = body.Unit(r.altered.Unit), r.altered.Values
	}
	return b, in
}
