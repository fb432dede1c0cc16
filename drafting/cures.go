package drafting

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fitting"
)

// A Cure is a change of an order that removes a finding of its fitting. It was tried: the
// order was drafted with it and tried on again.
type Cure struct {
	Finding fitting.Finding
	What    CureKind
	Name    string  // of the ease, the alteration or the measurement
	Before  float64 // mm
	After   float64
	Words   string
}

// CureKind says what of an order a cure changes.
type CureKind string

// What cures change.
const (
	CureEase        CureKind = "ease"
	CureAlteration  CureKind = "alteration"
	CureMeasurement CureKind = "measurement" // one that was estimated, and should be measured
)

// cureStep is the least change that is tried, mm. A cure is tried up to three times, each
// time larger.
const (
	cureStep  = 5.0
	cureTries = 3
)

// Cures returns a cure for each finding that has one among those that are tried: more
// ease, an alteration, or another length of the front where that was estimated. They are
// tried in triangles of twice the size, for what the order shows in these.
func Cures(ctx context.Context, o Order, opts FittingOptions) ([]Cure, error) {
	opts.Quick = true
	tried, err := TryOn(ctx, o, opts)
	if err != nil {
		return nil, err
	}
	spec, _, err := o.Request()
	if err != nil {
		return nil, err
	}
	var cures []Cure
	for _, found := range tried.Findings {
		for _, c := range candidates(spec, o, tried, found) {
			cured, err := c.try(ctx, o, opts, tried)
			if ctx.Err() != nil {
				return nil, err
			}
			if cured {
				cures = append(cures, c.cure(o.Unit))
				break
			}
		}
	}
	return cures, nil
}

// A candidate is a change that may cure a finding.
type candidate struct {
	Cure
	step float64 // by which the value changes at each try, mm
}

// candidates returns what may cure a finding, the likeliest first.
func candidates(spec block.Spec, o Order, tried *Fitting, found fitting.Finding) []candidate {
	ease := func(name string, girth, strain float64) (list []candidate) {
		if mm, ok := easeOf(spec, o, name); ok {
			step := math.Ceil(max(girth*strain/100, cureStep)/cureStep) * cureStep
			list = append(list, candidate{Cure{found, CureEase, name, mm, mm, ""}, step})
		}
		return list
	}
	over := found.Value - found.Limit
	switch found.Kind {
	case fitting.Tight:
		for _, e := range easesFor {
			if slices.ContainsFunc(e.places, func(p string) bool { return strings.Contains(found.Place, p) }) {
				return ease(e.ease, tried.Body.Value(e.girth), over)
			}
		}
	case fitting.Balance, fitting.Hangs:
		return lengthCures(spec, o, found)
	}
	return nil
}

// easesFor are the eases that give room at the places of findings.
var easesFor = []struct {
	ease   string
	girth  body.Name
	places []string
}{
	{"bust_girth", body.BustGirth, []string{"bust", "chest", "upper back"}},
	{"waist_girth", body.WaistGirth, []string{"waist"}},
	{"hip_girth", body.HipGirth, []string{"hip", "skirt"}},
	{"thigh_girth", body.ThighGirth, []string{"leg"}},
}

// lengthCures returns what may cure a garment that is too long in front or behind.
func lengthCures(spec block.Spec, o Order, found fitting.Finding) (list []candidate) {
	step := math.Ceil(max(found.Value-found.Limit, cureStep)/cureStep) * cureStep
	if !strings.Contains(found.Words, "behind the shoulder") && !strings.Contains(found.Words, "lower in front") {
		return nil
	}
	const length = body.FrontWaistLength
	if b, ok := draftedBody(o); ok && b.Has(length) && !b.Given(length) {
		mm := b.Value(length)
		list = append(list, candidate{Cure{found, CureMeasurement, string(length), mm, mm, ""}, -step})
	}
	for _, a := range spec.Alterations {
		if a.Name == "round_back" {
			v := o.Alterations.Both[a.Name]
			list = append(list, candidate{Cure{found, CureAlteration, a.Name, v, v, ""}, step})
		}
	}
	return list
}

// draftedBody returns the body that an order is drafted to.
func draftedBody(o Order) (body.Body, bool) {
	_, request, err := o.Request()
	return request.Body, err == nil
}

// easeOf returns the ease of an order, of its fit if it gives none.
func easeOf(spec block.Spec, o Order, name string) (mm float64, ok bool) {
	for _, e := range o.fit(spec).Ease {
		if e.Name == name {
			mm, ok = e.Value, true
		}
	}
	if v, given := o.Ease[name]; given {
		mm = v
	}
	return mm, ok
}

// try changes the order until the finding is gone, and reports whether it is. A change
// that adds another finding is none.
func (c *candidate) try(ctx context.Context, o Order, opts FittingOptions, before *Fitting) (bool, error) {
	for range cureTries {
		c.After += c.step
		tried, err := TryOn(ctx, c.change(o), opts)
		if err != nil {
			return false, err
		}
		if tried.Settled && !has(tried, c.Finding) && len(tried.Findings) < len(before.Findings) {
			return true, nil
		}
	}
	return false, nil
}

// has reports whether a fitting has a finding.
func has(f *Fitting, found fitting.Finding) bool {
	return slices.ContainsFunc(f.Findings, func(x fitting.Finding) bool {
		return x.Kind == found.Kind && x.Place == found.Place && x.Piece == found.Piece
	})
}

// change returns the order with the cure.
func (c *candidate) change(o Order) Order {
	with := func(m map[string]float64) map[string]float64 {
		m = maps.Clone(m)
		if m == nil {
			m = map[string]float64{}
		}
		m[c.Name] = c.After
		return m
	}
	switch c.What {
	case CureEase:
		o.Ease = with(o.Ease)
	case CureAlteration:
		o.Alterations.Both = with(o.Alterations.Both)
	case CureMeasurement:
		o.Measurements = maps.Clone(o.Measurements)
		o.Measurements[body.Name(c.Name)] = c.After
	}
	return o
}

// cure returns the cure with its words.
func (c *candidate) cure(unit body.Unit) Cure {
	name := strings.ReplaceAll(c.Name, "_", " ")
	before, after := unit.Said(c.Before), unit.Said(c.After)
	switch c.What {
	case CureEase:
		c.Words = fmt.Sprintf("%s of ease in the %s in place of %s cures it.", after, name, before)
	case CureAlteration:
		c.Words = fmt.Sprintf("The alteration %s of %s in place of %s cures it.", name, after, before)
	case CureMeasurement:
		c.Words = fmt.Sprintf("A %s of %s cures it. It was estimated at %s: measure it.", name, after, before)
	}
	return c.Cure
}
