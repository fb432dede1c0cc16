package service

import (
	"context"
	"errors"
	"maps"
	"slices"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// RefitChange is what a refit carries to orders. One of its fields is set.
type RefitChange struct {
	Fit          *FitChange          `json:"fit,omitempty"`
	Measurements *MeasurementsChange `json:"measurements,omitempty"`
	Engine       *EngineChange       `json:"engine,omitempty"`
}

// FitChange takes the orders of a block from one of its fits to another, or to
// the same with other values of ease.
type FitChange struct {
	Block string `json:"block"`
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

// EngineChange has orders drafted by this release that were drafted by an
// earlier one.
type EngineChange struct{}

// refitting is a change with what it takes to apply it.
type refitting struct {
	RefitChange
	set MeasurementSet // Measurements.To
}

// refitting checks a change and reads what it needs. Its faults have pointers
// below /change.
func (s *Service) refitting(ctx context.Context, q db.Queries, caller Caller, change RefitChange) (refitting, error) {
	r := refitting{RefitChange: change}
	switch {
	case change.Fit != nil:
		if faults := change.Fit.check(); len(faults) > 0 {
			return r, invalid(faults)
		}
	case change.Measurements != nil:
		return r.withSets(ctx, q, caller)
	}
	return r, nil
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
		set, err := setOf(ctx, q, caller, m.CustomerID, named.id)
		if e, ok := errors.AsType[*Error](err); ok {
			for _, f := range e.Faults {
				f.Field = named.field
				faults = append(faults, f)
			}
			continue
		}
		if err != nil {
			return r, err
		}
		r.set = set
	}
	if len(faults) > 0 {
		return r, invalid(faults)
	}
	return r, nil
}

// check finds what is wrong with a change of fit.
func (f *FitChange) check() fault.List {
	const at = "/change/fit"
	spec, ok := block.Find(f.Block)
	if !ok {
		var known []string
		for _, s := range block.Specs() {
			known = append(known, s.Name)
		}
		return fault.List{fault.UnknownName(at+"/block", f.Block, "block", known)}
	}
	var faults fault.List
	var fits []string
	for _, fit := range spec.Fits {
		fits = append(fits, fit.Name)
	}
	for _, end := range [...]struct{ field, name string }{{"/from", f.From}, {"/to", f.To}} {
		if !slices.Contains(fits, end.name) {
			faults = append(faults, fault.UnknownName(at+end.field, end.name, "fit of "+f.Block, fits))
		}
	}
	if len(f.Ease) > 0 && f.Unit == "" {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: at + "/unit", Accepted: "required with ease: cm or inch"})
	}
	if i := slices.Index(fits, f.To); i >= 0 && (len(f.Ease) == 0 || f.Unit != "") {
		faults = append(faults, f.checkEase(spec.Fits[i], at+"/ease")...)
	}
	return faults
}

func (f *FitChange) checkEase(fit block.Fit, at string) fault.List {
	var faults fault.List
	var names []string
	for _, e := range fit.Ease {
		names = append(names, e.Name)
	}
	unit := body.Unit(f.Unit)
	for _, name := range slices.Sorted(maps.Keys(f.Ease)) {
		field := at + fault.Pointer(name)
		i := slices.Index(names, name)
		if i < 0 {
			faults = append(faults, fault.UnknownName(field, name, "ease of "+f.Block, names))
		} else if mm := unit.MM(f.Ease[name]); !(mm >= fit.Ease[i].Min && mm <= fit.Ease[i].Max) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: unit.Format(mm),
				Accepted: "ease from " + unit.FormatRange(fit.Ease[i].Min, fit.Ease[i].Max)})
		}
	}
	return faults
}

// narrow restricts a scope to the orders that the change is about.
func (r RefitChange) narrow(scope *db.RefitScope) {
	switch {
	case r.Fit != nil:
		scope.Block, scope.Fit = r.Fit.Block, r.Fit.From
	case r.Measurements != nil:
		scope.CustomerID, scope.Set = r.Measurements.CustomerID, r.Measurements.From
		if scope.Set == uuid.Nil {
			scope.NotSet = r.Measurements.To
		}
	}
}

// apply is an order as the change has it, with what it is then drafted from.
func (r refitting) apply(o Order, m Measured) (Order, Measured) {
	switch {
	case r.Fit != nil:
		o.Spec.Fit = r.Fit.To
		if len(r.Fit.Ease) > 0 {
			o.Spec.Ease = maps.Clone(o.Spec.Ease)
			if o.Spec.Ease == nil {
				o.Spec.Ease = map[string]float64{}
			}
			from, to := body.Unit(r.Fit.Unit), body.Unit(o.Spec.Unit)
			for name, v := range r.Fit.Ease {
				if from != to {
					v = to.From(from.MM(v))
				}
				o.Spec.Ease[name] = v
			}
		}
	case r.Measurements != nil:
		o.MeasurementSetID, m = r.set.ID, r.set.Measured
	}
	return o, m
}
