package proof

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
	"tapeline/drafting/style"
)

// Random is a series of orders at random: a garment, a body that it suits, any
// fit, choices and alterations within their limits, some measurements that the
// garment can do without, and some more off their estimates. The same Seed gives
// the same orders on any number of processors, and an order does not depend on
// Count.
//
// It leaves out what an order's check refuses by what is published of a garment:
// combinations of choices that Spec.Excludes names, and numbers beyond the limits
// that Choice.Range states for the body.
type Random struct {
	Seed     uint64
	Count    int
	Garments []Garment
	Women    []Body // for every garment
	Men      []Body // for the garments that suit men
}

// A Garment is a block or a style to order.
type Garment struct {
	Name string
	Men  bool // suits men too
	spec block.Spec
	base drafting.Order
}

// NewRandom returns orders for the bodies of the built-in panel, and the garments
// of those names: all that are built in if there are none. Names of neither a
// block nor a style are left out. A style is one of own, which come first, or
// built in.
func NewRandom(seed uint64, count int, names []string, own ...*style.Style) Random {
	if len(names) == 0 {
		for _, b := range block.Specs() {
			names = append(names, b.Name)
		}
		names = append(names, drafting.Styles()...)
	}
	r := Random{Seed: seed, Count: count}
	var needed []body.Name
	for _, name := range names {
		spec, ok := drafting.Find(name, own...)
		if !ok {
			continue
		}
		needed = append(needed, spec.Requires...)
		r.Garments = append(r.Garments, Garment{name, suitsMen(drafting.BlockOf(name, own...), spec.Requires), spec,
			Base(name, own...)})
	}
	r.Women, r.Men = Panels(needed...)
	return r
}

// suitsMen reports whether garments on a block that require measurements are made for
// men too.
func suitsMen(blockName string, requires []body.Name) bool {
	return !slices.Contains(requires, body.BellyGirth) &&
		!slices.Contains([]string{"torso", "skirt", "circle_skirt"}, blockName)
}

// Len returns the number of orders.
func (r Random) Len() int { return r.Count }

// Run drafts the orders from one on, as Plan.Run its drafts.
func (r Random) Run(ctx context.Context, from int, pace Pace) (t *Tally, next int, err error) {
	return run(ctx, r, from, pace)
}

// Report returns the report of a tally of the orders. Its variants are the
// garments, and its bodies are the orders by number.
func (r Random) Report(t *Tally) Report { return report(r, t) }

// Where returns the number and the body of an order, and its garment.
func (r Random) Where(at int) Where {
	draw := r.draw(at)
	return Where{fmt.Sprintf("order %d, %s", at, draw.body.Name), draw.garment.Name}
}

// Order returns the order with that number. The error is the faults of its
// body.
func (r Random) Order(at int) (drafting.Order, error) { return r.order(at) }

func (r Random) variant(at int) int {
	name := r.draw(at).garment.Name
	return slices.IndexFunc(r.Garments, func(g Garment) bool { return g.Name == name })
}

func (r Random) variants() []string {
	names := make([]string, len(r.Garments))
	for i, g := range r.Garments {
		names[i] = g.Name
	}
	return names
}

func (r Random) group(at int) string { return r.draw(at).garment.Name + ": " }

func (Random) countsSheets(int) bool { return false }

func (Random) isPrivate() bool { return false }

// draw holds the values that an order draws first.
type draw struct {
	*rand.Rand
	garment Garment
	body    Body
}

func (r Random) draw(at int) draw {
	d := draw{Rand: rand.New(rand.NewPCG(r.Seed, uint64(at)))}
	d.garment = r.Garments[d.IntN(len(r.Garments))]
	bodies := r.Women
	if d.garment.Men && len(r.Men) > 0 && (len(r.Women) == 0 || d.IntN(2) == 0) {
		bodies = r.Men
	}
	d.body = bodies[d.IntN(len(bodies))]
	return d
}

func (r Random) order(at int) (drafting.Order, error) {
	d := r.draw(at)
	spec, o := d.garment.spec, d.garment.base
	o.Reference = fmt.Sprintf("order %d", at)
	if len(d.body.Faults) > 0 {
		return o, d.body.Faults
	}
	o.Fit = spec.Fits[d.IntN(len(spec.Fits))].Name
	o.Choices = d.choices(spec)
	o.Alterations = d.alterations(spec)
	requires, uses := o.Needs(spec)
	o.Measurements = d.measurements(requires, uses)
	o.Choices = onBody(o, spec)
	return o, nil
}

// onBody returns the order's choices with each number as far between its limits on
// the order's body as it was between those of the choice.
func onBody(o drafting.Order, spec block.Spec) map[string]block.Value {
	for _, c := range spec.Choices {
		v, ok := o.Choices[c.Name]
		if !ok || v.Word != "" || !c.FollowsBody() {
			continue
		}
		lo, hi := o.ChoiceRange(spec, c)
		v.Number = math.Round(lo + (v.Number-c.Min)/(c.Max-c.Min)*(hi-lo))
		o.Choices[c.Name] = v
	}
	return o.Choices
}

// choices returns values for two of three choices, any of those accepted beside each
// other.
func (d draw) choices(spec block.Spec) map[string]block.Value {
	for {
		values := d.values(spec)
		if !slices.ContainsFunc(spec.Excludes, func(e block.Exclusion) bool { return e.Applies(spec, values) }) {
			return values
		}
	}
}

func (d draw) values(spec block.Spec) map[string]block.Value {
	var values map[string]block.Value
	for _, c := range spec.Choices {
		if d.IntN(3) == 0 {
			continue
		}
		if values == nil {
			values = map[string]block.Value{}
		}
		numeric := c.Min < c.Max
		if n := len(c.Options); n > 0 && !(numeric && d.IntN(2) == 0) {
			values[c.Name] = block.Value{Word: c.Options[d.IntN(n)]}
			continue
		}
		step := 1.0
		if c.Kind == block.KindFraction {
			step = 0.01
		}
		values[c.Name] = block.Value{Number: d.between(c.Min, c.Max, step), Length: c.Kind == block.KindLength}
	}
	return values
}

// alterations returns up to three alterations in one of three orders, any within
// their limits, half of those that can be sided on one side only or on both
// apart.
func (d draw) alterations(spec block.Spec) drafting.Alterations {
	a := drafting.Alterations{Both: map[string]float64{}, Left: map[string]float64{}, Right: map[string]float64{}}
	if len(spec.Alterations) == 0 || d.IntN(3) > 0 {
		return a
	}
	for range 1 + d.IntN(3) {
		one := spec.Alterations[d.IntN(len(spec.Alterations))]
		sides := []map[string]float64{a.Both}
		if one.Sided && d.IntN(2) == 0 {
			sides = [][]map[string]float64{{a.Left}, {a.Right}, {a.Left, a.Right}}[d.IntN(3)]
		}
		for _, values := range sides {
			values[one.Name] = d.between(one.Min, one.Max, 1)
		}
	}
	return a
}

// alsoTaken are measurements that garments use where an order gives them,
// although no block needs them.
var alsoTaken = []body.Name{body.OverBustGirth, body.UnderBustGirth, body.HeadGirth, body.HandGirth, body.FootGirth}

// farthest is by how many of their spreads measurements are given off their
// estimates.
const farthest = 2

// measurements returns the body's own without some of those that the garment can
// do without, and some that would be estimated, off their estimates.
func (d draw) measurements(requires, uses []body.Name) body.Measures {
	given := maps.Clone(d.body.Given)
	if slices.Contains(requires, body.BellyGirth) {
		given = expecting(given, requires, d.Float64())
	}
	for _, n := range slices.Sorted(maps.Keys(given)) {
		v := given[n]
		if d.IntN(2) == 0 {
			delete(given, n)
			if len(body.Missing(given, requires, uses)) > 0 {
				given[n] = v
			}
		}
	}
	return d.offEstimates(given, requires, uses)
}

// offEstimates adds half of the measurements that would be estimated, one after
// the other, each off what is estimated from all given before.
func (d draw) offEstimates(given body.Measures, requires, uses []body.Name) body.Measures {
	optional := slices.Concat(requires, uses, alsoTaken)
	d.Shuffle(len(optional), func(i, k int) { optional[i], optional[k] = optional[k], optional[i] })
	person, faults := body.NewIn(body.Millimetre, given, requires, uses)
	if len(faults) > 0 {
		return given // the order is refused for them
	}
	for _, n := range optional {
		if _, has := given[n]; has || d.IntN(2) == 0 {
			continue
		}
		off := farthest * (2*d.Float64() - 1)
		v, spread, ok := estimate(person, given, n)
		if !ok {
			continue
		}
		info, _ := body.Lookup(n)
		v = math.Round(min(max(v+off*spread, info.Min), info.Max))
		if !found(given, n, v) {
			continue
		}
		given[n] = v
		if with, faults := body.NewIn(body.Millimetre, given, requires, uses); len(faults) == 0 {
			person = with
		} else {
			delete(given, n) // nobody has this beside the others
		}
	}
	return given
}

// estimate returns a measurement as it is estimated, with its spread: by the
// body, or where that does not know it, by the model of bodies.
func estimate(person body.Body, given body.Measures, n body.Name) (v, spread float64, ok bool) {
	if m := person.Get(n); person.Has(n) {
		return m.Value, m.Spread, m.Estimated
	}
	mean, sd, ok := expected(given, n)
	return math.Exp(mean), math.Exp(mean) * sd, ok
}

// rarest is by how many standard deviations of the model of bodies a measurement may
// lie off what the others let it expect: one body in a hundred lies farther off.
const rarest = 2.6

// found reports whether a body with the measurements given has a value of another, so far
// as the model of bodies knows. What is estimated without it contradicts the others
// otherwise: a rise by the crotch length, a waist's height and an inside leg.
func found(given body.Measures, n body.Name, v float64) bool {
	mean, sd, ok := expected(given, n)
	return !ok || math.Abs(math.Log(v)-mean) <= rarest*sd
}

// expected returns what the model of bodies expects of a measurement beside those given:
// the mean of its logarithm and the standard deviation.
func expected(given body.Measures, n body.Name) (mean, sd float64, ok bool) {
	model := population.People()
	at := model.Index(string(n))
	var indices []int
	var logs []float64
	for i, m := range model.Measures {
		if v, ok := given[body.Name(m.Name)]; ok {
			indices, logs = append(indices, i), append(logs, math.Log(v))
		}
	}
	if at < 0 || len(indices) == 0 {
		return 0, 0, false
	}
	e := model.View(indices, logs).Predict(at)
	return e.Mean, e.SD, true
}

// between returns a number from lo to hi, as a multiple of step unless it is a limit.
func (d draw) between(lo, hi, step float64) float64 {
	v := lo + step*float64(d.IntN(int((hi-lo)/step)+1))
	return min(max(math.Round(v/step)*step, lo), hi)
}
