package proof

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math"
	"slices"

	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/fitting"
)

// Worn is a plan whose drafts are tried on forms of their bodies.
type Worn struct {
	Plan
	Cloth string // name of a preset; "" for the one that suits the style
	Full  bool   // in triangles of half the size
	Cures bool   // look for changes of the orders that remove what is found
}

// WornCounts are numbers of drafts tried on, by outcome.
type WornCounts struct {
	Fit       int `json:"fit"`       // nothing found
	Found     int `json:"found"`     // something found that a cutter would alter
	Unsettled int `json:"unsettled"` // the cloth did not come to rest
	Refused   int `json:"refused"`   // not drafted or not tried on, with a reason
	Failed    int `json:"failed"`    // a fault of the program

	Cured int `json:"cured,omitempty"` // of Found, those of which nothing is found with the cures
}

// Tried returns the number of drafts that were hung on a form.
func (c WornCounts) Tried() int { return c.Fit + c.Found + c.Unsettled }

func (c *WornCounts) add(o WornCounts) {
	c.Fit += o.Fit
	c.Found += o.Found
	c.Unsettled += o.Unsettled
	c.Refused += o.Refused
	c.Failed += o.Failed
	c.Cured += o.Cured
}

// A WornTally sums up some of a plan's drafts as worn, as a Tally does.
type WornTally struct {
	WornCounts
	Variants []WornCounts         `json:"variants"`
	Findings map[string]WornWorst `json:"findings"` // by kind and place
	Uncured  map[string]WornWorst `json:"uncured"`  // of them, what is found with the cures
	Reasons  map[string]Reason    `json:"reasons"`  // of those refused and failed
	Residual Extreme              `json:"residual"` // the largest of those that did not come to rest
}

// A WornWorst counts the drafts with a finding, and has the worst of them.
type WornWorst struct {
	Count   int             `json:"count"`
	Worst   float64         `json:"worst"` // the worst value less its limit
	At      int             `json:"at"`
	Finding fitting.Finding `json:"finding"`
}

// NewWornTally returns an empty tally of a plan with that many variants.
func NewWornTally(variants int) *WornTally {
	return &WornTally{Variants: make([]WornCounts, variants), Findings: map[string]WornWorst{},
		Uncured: map[string]WornWorst{}, Reasons: map[string]Reason{}}
}

// Merge adds the drafts of another tally of the same plan.
func (t *WornTally) Merge(o *WornTally) {
	t.add(o.WornCounts)
	for i, c := range o.Variants {
		t.Variants[i].add(c)
	}
	for key, w := range o.Findings {
		find(t.Findings, key, w)
	}
	for key, w := range o.Uncured {
		find(t.Uncured, key, w)
	}
	for key, r := range o.Reasons {
		had, ok := t.Reasons[key]
		if !ok || r.At < had.At {
			had.Reason, had.At = r.Reason, r.At
		}
		had.Count += r.Count
		t.Reasons[key] = had
	}
	if worse(o.Residual.Value, o.Residual.At, t.Residual.Value, t.Residual.At) {
		t.Residual = o.Residual
	}
}

// worse reports whether a value of a draft is worse than that of another. Of equal
// ones the first draft counts.
func worse(value float64, at int, than float64, thanAt int) bool {
	return value > than || value == than && value != 0 && at < thanAt
}

// find adds a finding to those of a kind and place.
func find(all map[string]WornWorst, key string, w WornWorst) {
	had, ok := all[key]
	count := had.Count + w.Count
	if !ok || worse(w.Worst, w.At, had.Worst, had.At) {
		had = w
	}
	had.Count = count
	all[key] = had
}

// findAll adds what a fitting found.
func findAll(all map[string]WornWorst, at int, f *drafting.Fitting) {
	for _, x := range f.Findings {
		find(all, string(x.Kind)+" "+x.Place, WornWorst{1, math.Abs(x.Value - x.Limit), at, x})
	}
}

// addTried counts a draft tried on, and what its cures leave; nil if none were looked for.
func (t *WornTally) addTried(at, variant int, f, cured *drafting.Fitting) {
	var c WornCounts
	switch {
	case !f.Settled:
		c.Unsettled = 1
		if worse(f.Residual, at, t.Residual.Value, t.Residual.At) {
			t.Residual = Extreme{f.Residual, at}
		}
	case len(f.Findings) > 0:
		c.Found = 1
		if cured != nil && len(cured.Findings) == 0 {
			c.Cured = 1
		}
	default:
		c.Fit = 1
	}
	t.add(c)
	t.Variants[variant].add(c)
	if !f.Settled {
		return
	}
	findAll(t.Findings, at, f)
	if cured != nil {
		findAll(t.Uncured, at, cured)
	}
}

// addUntried counts a draft that was not tried on.
func (t *WornTally) addUntried(at, variant int, err error) {
	c := WornCounts{Failed: 1}
	reason := err.Error()
	if faults, ok := errors.AsType[fault.List](err); ok {
		c = WornCounts{Refused: 1}
		reason = cmp.Or(faults[0].Accepted, faults[0].Error())
	}
	t.add(c)
	t.Variants[variant].add(c)
	key := number.ReplaceAllString(reason, "#")
	had, ok := t.Reasons[key]
	if !ok || at < had.At {
		had.Reason, had.At = reason, at
	}
	had.Count++
	t.Reasons[key] = had
}

// Run tries drafts on, as Plan.Run makes them.
func (w Worn) Run(ctx context.Context, from int, pace Pace) (t *WornTally, next int, err error) {
	return share(ctx, w.Len(), from, pace, func() *WornTally { return NewWornTally(len(w.Variants)) },
		func(ctx context.Context, at int, t *WornTally) { w.try(ctx, at, t, pace.Recovered) })
}

func (w Worn) try(ctx context.Context, at int, t *WornTally, recovered func(context.Context, any)) {
	var f, cured *drafting.Fitting
	_, err := recoverPanic(ctx, recovered, func() (p finish.Pattern, err error) {
		o, err := w.order(at)
		if err != nil {
			return p, err
		}
		options := drafting.FittingOptions{Cloth: w.Cloth, Quick: !w.Full}
		f, err = drafting.TryOn(ctx, o, options)
		if err != nil || !w.Cures || !f.Settled || len(f.Findings) == 0 {
			return p, err
		}
		options.Form = f.Form
		if c, err := drafting.Cures(ctx, o, options); err == nil { // else it takes too long
			cured = c.Tried
		}
		return p, nil
	})
	if err != nil {
		t.addUntried(at, w.variant(at), err)
		return
	}
	t.addTried(at, w.variant(at), f, cured)
}

// A WornReport is a tally of drafts as worn with the names of bodies and variants.
type WornReport struct {
	WornCounts
	Variants []WornVariant  `json:"variants"`
	Findings []WornFinding  `json:"findings"` // the most frequent first
	Uncured  []WornFinding  `json:"uncured,omitempty"`
	Reasons  []ReasonReport `json:"reasons"`
	Residual *WornResidual  `json:"residual,omitempty"`
}

// A WornVariant has the counts of one variant.
type WornVariant struct {
	Name string `json:"name"`
	WornCounts
}

// A WornFinding counts the drafts with a finding at a place, and has the worst.
type WornFinding struct {
	Count int             `json:"count"`
	Worst fitting.Finding `json:"worst"`
	Where
}

// A WornResidual names the draft whose cloth was furthest from rest.
type WornResidual struct {
	Value float64 `json:"value"` // unbalanced force over load
	Where
}

// Report returns the report of a tally of this plan.
func (w Worn) Report(t *WornTally) WornReport {
	r := WornReport{WornCounts: t.WornCounts, Findings: []WornFinding{}, Reasons: []ReasonReport{}}
	for i, v := range w.Plan.Variants {
		r.Variants = append(r.Variants, WornVariant{v.Name, t.Variants[i]})
	}
	list := func(all map[string]WornWorst) (list []WornFinding) {
		for _, key := range slices.Sorted(maps.Keys(all)) {
			f := all[key]
			list = append(list, WornFinding{f.Count, f.Finding, w.Where(f.At)})
		}
		slices.SortStableFunc(list, func(a, b WornFinding) int { return cmp.Compare(b.Count, a.Count) })
		return list
	}
	r.Findings, r.Uncured = append(r.Findings, list(t.Findings)...), list(t.Uncured)
	for _, key := range slices.Sorted(maps.Keys(t.Reasons)) {
		x := t.Reasons[key]
		r.Reasons = append(r.Reasons, ReasonReport{Count: x.Count, Reason: x.Reason, Where: w.Where(x.At)})
	}
	slices.SortStableFunc(r.Reasons, func(a, b ReasonReport) int { return cmp.Compare(b.Count, a.Count) })
	if t.Unsettled > 0 {
		r.Residual = &WornResidual{t.Residual.Value, w.Where(t.Residual.At)}
	}
	return r
}

// Sample returns n of the bodies, evenly spread; all of them for 0.
func Sample(bodies []Body, n int) []Body {
	if n <= 0 || n >= len(bodies) {
		return bodies
	}
	some := make([]Body, n)
	for i := range some {
		some[i] = bodies[i*len(bodies)/n]
	}
	return some
}
