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

// A Cure is a change of an order that removes a finding of its fitting.
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

// A Cured is an order with changes that remove findings of its fitting, drafted and tried
// on with all of them.
type Cured struct {
	Cures []Cure // in the order in which they were found; a finding may need several
	Order Order
	Tried *Fitting
}

const (
	cureStep  = 5.0 // mm: the least change of an ease or a length that is tried
	cureTries = 3   // each from what the one before it came to
)

// Cures returns changes of an order that remove what its fitting finds: other ease, an
// alteration, or another length of the front where that was estimated. Each is tried
// together with those before it, in triangles of twice the size, for what the order shows
// in these. A change is kept if its finding is gone and fewer are left.
func Cures(ctx context.Context, o Order, opts FittingOptions) (Cured, error) {
	opts.Quick = true
	tried, err := TryOn(ctx, o, opts)
	if err != nil {
		return Cured{}, err
	}
	opts.Draft, opts.Form = nil, tried.Form
	spec, _, err := o.Request()
	if err != nil {
		return Cured{}, err
	}
	now := Cured{Order: o, Tried: tried}
	for _, found := range tried.Findings {
		for _, c := range candidates(spec, now, found) {
			if !has(now.Tried, found) {
				break
			}
			next, err := now.try(ctx, c, opts)
			if err != nil {
				return Cured{}, err
			}
			now = next
		}
	}
	return now, nil
}

// A candidate is a set of changes that may cure a finding together.
type candidate struct {
	finding fitting.Finding
	changes []change
}

// A change of a number of an order.
type change struct {
	what          CureKind
	name          string
	before, after float64 // mm
	min, max      float64
	step          func(*Fitting) float64 // by how much it changes at the next try, mm
}

// candidates returns what may cure a finding, the likeliest first.
func candidates(spec block.Spec, now Cured, found fitting.Finding) (list []candidate) {
	one := func(c ...change) {
		if len(c) > 0 {
			list = append(list, candidate{found, c})
		}
	}
	over := found.Value - found.Limit
	switch found.Kind {
	case fitting.Tight:
		for _, at := range roomFor {
			if slices.ContainsFunc(at.places, func(p string) bool { return strings.Contains(found.Place, p) }) {
				mm := math.Ceil(max(now.Tried.Body.Value(at.girth)*over/100, cureStep)/cureStep) * cureStep
				one(now.eases(spec, at.name, mm)...)
				one(now.alterations(spec, steps{at.name: constant(mm)})...)
				break
			}
		}
	case fitting.StandsOff:
		if strings.HasPrefix(found.Place, "armhole of the front") {
			one(now.alterations(spec, steps{"armhole_gape": constant(cureStep)})...)
		}
		if strings.HasPrefix(found.Place, "armhole") {
			one(now.eases(spec, string(body.BustGirth), -2*cureStep)...)
		}
	case fitting.Balance:
		list = lengthCures(spec, now, found)
	case fitting.Hangs:
		if found.Place == "side seam" {
			one(now.alterations(spec, steps{"side_seam_forward": func(f *Fitting) float64 { return -f.Hang.Swing }})...)
			break
		}
		one(now.alterations(spec, steps{
			"hem_front": func(f *Fitting) float64 { return f.Hang.Front - f.Hang.Back },
			"hem_side":  func(f *Fitting) float64 { return f.Hang.Side - f.Hang.Back },
		})...)
		list = append(list, lengthCures(spec, now, found)...)
	}
	return list
}

// roomFor are the eases and alterations that give room at the places of findings, with the
// girth there.
var roomFor = []struct {
	name   string
	girth  body.Name
	places []string
}{
	{"bust_girth", body.BustGirth, []string{"bust", "chest", "upper back"}},
	{"waist_girth", body.WaistGirth, []string{"waist"}},
	{"hip_girth", body.HipGirth, []string{"hip", "skirt"}},
	{"crotch_depth", body.TotalCrotchLength, []string{"between the legs"}},
	{"thigh_girth", body.ThighGirth, []string{"leg"}},
	{"upper_arm", body.UpperArmGirth, []string{"upper arm", "elbow"}},
}

// lengthCures returns what may cure a garment that is too long in front.
func lengthCures(spec block.Spec, now Cured, found fitting.Finding) (list []candidate) {
	hang := now.Tried.Hang
	if found.Kind == fitting.Balance && hang.Shoulder > 0 || found.Kind == fitting.Hangs && hang.Front > hang.Back {
		return nil
	}
	step := math.Ceil(max(found.Value-found.Limit, cureStep)/cureStep) * cureStep
	const length = body.FrontWaistLength
	if _, request, err := now.Order.Request(); err == nil && request.Body.Has(length) && !request.Body.Given(length) {
		mm := request.Body.Value(length)
		list = append(list, candidate{found, []change{{what: CureMeasurement, name: string(length), before: mm, after: mm,
			max: math.Inf(1), step: constant(-step)}}})
	}
	if round := now.alterations(spec, steps{"round_back": constant(step)}); len(round) > 0 {
		list = append(list, candidate{found, round})
	}
	return list
}

// steps say by how much alterations change at the next try, by name.
type steps map[string]func(*Fitting) float64

func constant(mm float64) func(*Fitting) float64 {
	return func(*Fitting) float64 { return mm }
}

// alterations returns changes of alterations, or none if the block lacks one of them.
func (c Cured) alterations(spec block.Spec, by steps) (changes []change) {
	for _, a := range spec.Alterations {
		if step, ok := by[a.Name]; ok {
			v := c.Order.Alterations.Both[a.Name]
			changes = append(changes, change{CureAlteration, a.Name, v, v, a.Min, a.Max, step})
		}
	}
	if len(changes) < len(by) {
		return nil
	}
	return changes
}

// eases returns a change of an ease, or none if the fits lack it.
func (c Cured) eases(spec block.Spec, name string, step float64) []change {
	for _, e := range c.Order.fit(spec).Ease {
		if e.Name == name {
			v := e.Value
			if given, ok := c.Order.Ease[name]; ok {
				v = given
			}
			return []change{{CureEase, name, v, v, e.Min, e.Max, constant(step)}}
		}
	}
	return nil
}

// try makes the changes, larger each time, until the finding is gone and fewer are left. If it
// stays, or the order can't be drafted so, try returns c itself.
func (c Cured) try(ctx context.Context, wanted candidate, opts FittingOptions) (Cured, error) {
	last := c.Tried
	changes := slices.Clone(wanted.changes)
	for range cureTries {
		moved, order := false, c.Order
		for i := range changes {
			k := &changes[i]
			v := max(k.min, min(k.max, k.after+math.Round(k.step(last))))
			moved, k.after = moved || v != k.after, v
			if v != k.before {
				order = k.apply(order)
			}
		}
		if !moved {
			return c, nil
		}
		tried, err := TryOn(ctx, order, opts)
		if err != nil && ctx.Err() != nil {
			return c, err
		}
		if err != nil {
			return c, nil // no draft of it, so no cure
		}
		if tried.Settled && !has(tried, wanted.finding) && len(tried.Findings) < len(c.Tried.Findings) {
			changes = slices.DeleteFunc(changes, func(k change) bool { return k.after == k.before })
			return Cured{append(slices.Clone(c.Cures), wanted.cures(changes, c.Order.Unit)...), order, tried}, nil
		}
		last = tried
	}
	return c, nil
}

// has reports whether a fitting has a finding.
func has(f *Fitting, found fitting.Finding) bool {
	return slices.ContainsFunc(f.Findings, func(x fitting.Finding) bool {
		return x.Kind == found.Kind && x.Place == found.Place && x.Piece == found.Piece
	})
}

// apply returns the order with the change.
func (k *change) apply(o Order) Order {
	with := func(m map[string]float64) map[string]float64 {
		m = maps.Clone(m)
		if m == nil {
			m = map[string]float64{}
		}
		m[k.name] = k.after
		return m
	}
	switch k.what {
	case CureEase:
		o.Ease = with(o.Ease)
	case CureAlteration:
		o.Alterations.Both = with(o.Alterations.Both)
	case CureMeasurement:
		o.Measurements = maps.Clone(o.Measurements)
		o.Measurements[body.Name(k.name)] = k.after
	}
	return o
}

// cures returns the changes as cures of the finding, with their words.
func (wanted candidate) cures(changes []change, unit body.Unit) (cures []Cure) {
	for i, k := range changes {
		it := "it"
		for j, other := range changes {
			if j != i {
				it = "it, together with " + spaced(other.name)
			}
		}
		c := Cure{Finding: wanted.finding, What: k.what, Name: k.name, Before: k.before, After: k.after}
		name, before, after := spaced(k.name), unit.Said(k.before), unit.Said(k.after)
		switch k.what {
		case CureEase:
			c.Words = fmt.Sprintf("%s of ease in the %s in place of %s cures %s.", after, name, before, it)
		case CureAlteration:
			c.Words = fmt.Sprintf("The alteration %s of %s in place of %s cures %s.", name, after, before, it)
		case CureMeasurement:
			c.Words = fmt.Sprintf("A %s of %s cures %s. It was estimated at %s: measure it.", name, after, it, before)
		}
		cures = append(cures, c)
	}
	return cures
}

func spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }
