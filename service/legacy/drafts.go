package legacy

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"tapeline/service/customers"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
	"tapeline/service/styles"
)

// This file is the only place where drafting is called to draft.

// Spec is what is ordered, all but the body: stored with the order and with
// every draft made from it. Lengths are in Unit.
type Spec struct {
	Unit       string             `json:"unit"`
	Date       string             `json:"date,omitempty"`  // as lettered on the pattern
	Block      string             `json:"block,omitempty"` // or Style
	Style      string             `json:"style,omitempty"` // by its slug
	Fit        string             `json:"fit"`
	Choices    map[string]any     `json:"choices,omitempty"` // a word or a number
	Ease       map[string]float64 `json:"ease,omitempty"`
	Allowances map[string]float64 `json:"allowances,omitempty"`

	// StyleRevision is that of a shop's own style, and StyleHash the SHA-256, in
	// hexadecimal, of the script that Style stood for when the order was
	// accepted: what it is drafted by from then on.
	StyleRevision int    `json:"style_revision,omitempty"`
	StyleHash     string `json:"style_hash,omitempty"`

	// Confirmed is the measurement set of which somebody said that its numbers
	// are right; the order's history says who.
	Confirmed string `json:"confirmed,omitempty"`
}

// Measured are measurements as the shop gave them.
type Measured = customers.Measurements

// labelled is what a draft is lettered with.
type labelled struct {
	reference string
	customer  string // the shop's reference for the customer
	revision  int
}

// resolve makes the order of spec, measurements and labels, for the style that
// the spec has pinned, nil for a block. The error is a fault.List whose pointers
// are those of the API's request.
func resolve(spec Spec, garment *style.Style, m Measured, l labelled) (drafting.Order, error) {
	var styles []*style.Style
	if garment != nil {
		styles = append(styles, garment)
	}
	o, faults := drafting.NewOrder(drafting.OrderInput{
		Unit: spec.Unit, Measurements: m.In(spec.Unit), Block: spec.Block, Style: spec.Style, Fit: spec.Fit,
		Choices: spec.Choices, Ease: spec.Ease, Allowances: spec.Allowances,
	}, styles...)
	o.Label = drafting.Label{Reference: l.reference, Customer: l.customer, Date: spec.Date, Revision: l.revision}
	return o, append(o.Label.Check(), faults...).Err()
}

// withFit is the spec with the first fit of its block or style where none was
// chosen.
func (s Spec) withFit(garment *style.Style) Spec {
	switch found, ok := block.Find(s.Block); {
	case s.Fit != "":
	case garment != nil:
		s.Fit = garment.Head.Fits[0].Name
	case ok:
		s.Fit = found.Fits[0].Name
	}
	return s
}

// checkDraftable finds everything wrong with an order short of drafting it.
func checkDraftable(spec Spec, garment *style.Style, m Measured, l labelled) error {
	_, err := resolve(spec, garment, m, l)
	if faults, ok := errors.AsType[fault.List](err); ok {
		return invalid(faults)
	}
	return err
}

// faultsBesideStyle finds what is wrong with an order whose style is not to be
// had, as far as that can be told without it.
func faultsBesideStyle(spec Spec, m Measured, l labelled) fault.List {
	_, err := resolve(spec, nil, m, l)
	faults, _ := errors.AsType[fault.List](err)
	return slices.DeleteFunc(faults, func(f fault.Fault) bool {
		part, _, _ := strings.Cut(strings.TrimPrefix(f.Field, "/"), "/")
		return f.Code == fault.Missing || slices.Contains([]string{"style", "block", "fit", "choices", "ease"}, part)
	})
}

// commission is all that a draft is made from.
type commission struct {
	spec     Spec
	garment  *style.Style // that the spec has pinned; nil for a block
	measured Measured
	kept     drafting.Alterations // for the customer
	label    labelled
}

// draft drafts and proves. Its error is a *undrafted when a person must look
// at the order; any other is a defect of ours.
func (c commission) draft(ctx context.Context) (p finish.Pattern, err error) {
	order, err := resolve(c.spec, c.garment, c.measured, c.label)
	if err == nil {
		p, err = drafting.Draft(ctx, order.Altered(c.kept))
	}
	if faults, ok := errors.AsType[fault.List](err); ok {
		return finish.Pattern{}, &undrafted{reasonUndraftable, faults}
	}
	if broken, ok := errors.AsType[*block.CheckError](err); ok {
		return finish.Pattern{}, &undrafted{reasonCheckFailed, checkFaults(broken)}
	}
	if err != nil && c.garment != nil && ctx.Err() == nil {
		return finish.Pattern{}, &undrafted{reasonStyleFailed, styles.ScriptFaults(asStyleError(c.garment, err))}
	}
	return p, err
}

// undrafted says why there is no draft to hand out.
type undrafted struct {
	reason string
	faults fault.List
}

// Error leaves the faults out: they speak of a body.
func (e *undrafted) Error() string { return "not drafted: " + e.reason }

// checkFaults tells which measures of a draft were not what they should be.
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
