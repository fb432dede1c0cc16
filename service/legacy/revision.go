package legacy

import (
	"tapeline/drafting/fault"
)

// apply is the spec with the revision's changes. Lengths that stay keep their
// unit, so with another unit all of them must be given anew.
func (r Revision) apply(spec Spec) (Spec, error) {
	if r.Unit != "" && r.Unit != spec.Unit {
		var faults fault.List
		missing := func(field string, given bool) {
			if !given {
				faults = append(faults, fault.Fault{Code: fault.Missing, Field: field, Accepted: "required when the unit changes"})
			}
		}
		missing("/choices", r.Choices != nil)
		missing("/ease", r.Ease != nil)
		missing("/allowances", r.Allowances != nil)
		if len(faults) > 0 {
			return Spec{}, invalid(faults)
		}
		spec.Unit = r.Unit
	}
	if r.Style != "" {
		spec.Block, spec.Style, spec.StyleRevision, spec.StyleHash = "", r.Style, r.StyleRevision, ""
	}
	if r.Fit != "" {
		spec.Fit = r.Fit
	}
	if r.Choices != nil {
		spec.Choices = r.Choices
	}
	if r.Ease != nil {
		spec.Ease = r.Ease
	}
	if r.Allowances != nil {
		spec.Allowances = r.Allowances
	}
	return spec, nil
}
