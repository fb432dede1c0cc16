package drafting

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/document"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
)

// Draft drafts an order's block, reads its measures back and finishes it to
// cut from. A cancelled context ends it within a block's draft or the finish of
// one pattern, a few milliseconds. The error is a fault.List where the order is
// at fault or the block can't be drafted to the body, with the reason; a
// *block.CheckError where a draft did not measure what it should, which is a
// defect of the program; or the context's.
func Draft(ctx context.Context, o Order) (finish.Pattern, error) {
	spec, request, err := o.Request()
	if err != nil {
		return finish.Pattern{}, err
	}
	drafted, err := o.draftPattern(ctx, request)
	if err == nil {
		err = cost.Step(ctx)
	}
	if err != nil {
		return finish.Pattern{}, cost.Named(ctx, err, "the draft")
	}
	o.warnOfAlterations(&drafted)
	p, err := finish.Finish(ctx, drafted, finish.Rules{Allowances: o.Allowances})
	if err != nil {
		return finish.Pattern{}, err
	}
	p.Style = fmt.Sprintf("%s, %s fit", spec.Title, request.Fit)
	requires, uses := o.Needs(spec)
	p.Measurements, p.Alterations = usedMeasurements(requires, uses, request.Body), o.Alterations.list()
	// Rounded as it is stored: a stored pattern renders as one just drafted.
	p = document.New(p).Pattern()
	p.Label = finish.Label{Reference: o.Reference, Customer: o.Customer, Date: o.Date, Revision: o.Revision,
		Measures: keyMeasures(spec, request.Body, o.Unit), OrderUnit: string(o.Unit)}
	if spelled := p.SpelledNote(); spelled != "" {
		p.Warnings = append(p.Warnings, spelled)
	}
	return p, nil
}

// draftPattern drafts the order's style, or its block, on its seam lines.
func (o Order) draftPattern(ctx context.Context, r block.Request) (pattern.Pattern, error) {
	garment := o.Garment
	if garment == nil {
		garment, _ = style.Builtin(o.Style)
	}
	switch {
	case garment == nil:
		return block.Draft(ctx, o.Block, r)
	case !o.Told:
		return garment.Draft(ctx, r)
	}
	trace := new(style.Trace)
	p, err := garment.Tracing(trace).Draft(ctx, r)
	if err != nil {
		return p, err
	}
	p.Instructions.Built = sentence.Built(trace, cmp.Or(o.Unit, body.Centimetre))
	return p, nil
}

// usedMeasurements lists the measurements that a draft used, in the order in
// which its block names them.
func usedMeasurements(requires, uses []body.Name, b body.Body) []pattern.Measurement {
	var list []pattern.Measurement
	for _, n := range slices.Concat(requires, uses) {
		if !b.Has(n) {
			continue
		}
		info, _ := body.Lookup(n)
		m := b.Get(n)
		list = append(list, pattern.Measurement{Name: string(n), Title: info.Title, Value: m.Value,
			Degrees: info.Unit == body.Degree, Estimated: m.Estimated, Spread: m.Spread})
	}
	return list
}

// keyMeasures lists the measurements by which a maker tells one customer's
// pattern of a block or garment from another's.
func keyMeasures(spec block.Spec, b body.Body, u body.Unit) []string {
	var lines []string
	for _, n := range [...]body.Name{body.BustGirth, body.WaistGirth, body.HipGirth, body.NapeToWaist, body.BodyRise,
		body.InsideLeg} {
		info, _ := body.Lookup(n)
		if b.Has(n) && (slices.Contains(spec.Requires, n) || slices.Contains(spec.Uses, n)) {
			value := u.Format(math.Round(b.Value(n)))
			if u == body.Inch {
				value = u.Tape(b.Value(n)) + " in"
			}
			lines = append(lines, info.Title+" "+value)
		}
	}
	return lines
}
