package drafting

import (
	"context"
	"errors"
	"maps"
	"slices"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/fitting"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// FittingOptions say how an order is tried on.
type FittingOptions struct {
	Form     *form.Form      // nil for one of the order's measurements
	Draft    *finish.Pattern // the order's draft, made before; nil to make it
	Cloth    string          // name of a preset; "" for the one that suits the style
	Quick    bool
	Progress func(steps int, residual float64)
}

// fittingMemory is about what the form, the cloth and the picture of a fitting take,
// bytes.
const fittingMemory = 40 << 20

// Fitting is an order tried on.
type Fitting struct {
	*fitting.Result
	Pattern finish.Pattern
	Body    body.Body   // with all that a form needs
	Assumed []body.Name // measurements of the body that nothing given says, expected by the model of bodies
	Form    *form.Form
	Options fitting.Options
}

// TryOn drafts an order, unless its draft is given, and tries the pattern on its body. An
// order whose alterations differ from left to right is always drafted: each half is tried
// on as if both were alike. The error is a fault.List where the order or an option is at
// fault.
func TryOn(ctx context.Context, o Order, opts FittingOptions) (*Fitting, error) {
	spec, request, err := o.Request()
	if err != nil {
		return nil, err
	}
	if len(request.Left)+len(request.Right) > 0 {
		return tryOnSides(ctx, o, opts)
	}
	gives, knit := stretch(spec, o, "stretch")
	along, _ := stretch(spec, o, "lengthwise_stretch")
	cloth, ok := fitting.Cloth(opts.Cloth, knit)
	if !ok {
		return nil, fault.List{{Code: fault.Choice, Field: "/cloth", Value: opts.Cloth, Accepted: fitting.ClothNames()}}
	}
	if knit && cloth.Knit {
		cloth.Comfort = gives / 2
	}
	person, assumed, faults := wearer(o.Unit, request.Body)
	if len(faults) > 0 {
		return nil, faults
	}
	on := opts.Form
	if on == nil { // whoever has a form has taken the memory
		if err := cost.Take(ctx, fittingMemory); err != nil {
			return nil, err
		}
		if on, err = form.Make(ctx, person, person.Woman()); err != nil {
			if ctx.Err() != nil {
				return nil, err
			}
			return nil, fault.List{{Code: fault.Undraftable, Field: "/measurements", Accepted: err.Error()}}
		}
	}
	drafted := opts.Draft
	if drafted == nil {
		made, err := Draft(ctx, o)
		if err != nil {
			return nil, err
		}
		drafted = &made
	}
	p := unfinished(*drafted)
	options := fitting.Options{Cloth: cloth, Quick: opts.Quick, Close: request.Fit == "close", Progress: opts.Progress}
	if cloth.Knit {
		options.Along = along / 2
	}
	ofBand, _ := stretch(spec, o, "jersey")
	options.Band = ofBand / 2
	r, err := fitting.Wear(ctx, p, on, person, options)
	if not, ok := errors.AsType[*fitting.NotTriedError](err); ok {
		return nil, fault.List{{Code: fault.Undraftable, Field: "/style", Value: spec.Name, Accepted: not.Reason}}
	}
	if err != nil {
		return nil, err
	}
	return &Fitting{Result: r, Pattern: *drafted, Body: person, Assumed: assumed, Form: on, Options: options}, nil
}

// unfinished returns a draft on its seam lines.
func unfinished(drafted finish.Pattern) pattern.Pattern {
	p := pattern.Pattern{Seams: drafted.Seams, Checks: drafted.Checks}
	for _, q := range drafted.Pieces {
		p.Pieces = append(p.Pieces, q.Piece)
	}
	return p
}

// tryOnSides tries an order on of which the alterations differ from left to right: once
// with those of the left side on both, once with those of the right.
func tryOnSides(ctx context.Context, o Order, opts FittingOptions) (*Fitting, error) {
	drafted, err := Draft(ctx, o)
	if err != nil {
		return nil, err
	}
	half := func(side map[string]float64) (*Fitting, error) {
		both := maps.Clone(o.Alterations.Both)
		if both == nil {
			both = map[string]float64{}
		}
		maps.Copy(both, side)
		one := o
		one.Alterations = Alterations{Both: both}
		return TryOn(ctx, one, opts)
	}
	left, err := half(o.Alterations.Left)
	if err != nil {
		return nil, err
	}
	opts.Form = left.Form
	f, err := half(o.Alterations.Right)
	if err != nil {
		return nil, err
	}
	f.Result, f.Pattern = fitting.Sides(left.Result, f.Result, unfinished(drafted)), drafted
	return f, nil
}

// stretch returns by what share the knit of a style stretches, where an order makes that choice.
// A knit is worn in comfort up to half of its stretch (common practice).
func stretch(spec block.Spec, o Order, choice string) (share float64, ok bool) {
	for _, c := range spec.Choices {
		if c.Name == choice {
			v := c.Default
			if chosen, given := o.Choices[c.Name]; given {
				v = chosen
			}
			return v.Number / 100, v.Number > 0
		}
	}
	return 0, false
}

// roots are measurements from which all follow that a form needs.
var roots = []body.Name{body.Height, body.BustGirth, body.WaistGirth, body.HipGirth, body.NeckBaseGirth,
	body.ShoulderLength, body.BackWidthArmpitLevel, body.NapeToWaist, body.UpperArmGirth, body.WristGirth, body.ArmLength}

// wearer returns a body with all that a form needs. What neither is given nor follows
// from what is given is expected by the model of bodies: the bust of a skirt's wearer.
func wearer(unit body.Unit, b body.Body) (person body.Body, assumed []body.Name, faults fault.List) {
	given := body.Measures{}
	for _, n := range b.Names() {
		if b.Given(n) {
			given[n] = b.Value(n)
		}
	}
	if len(body.Missing(given, nil, form.Needs)) > 0 {
		expected, faults := body.NewIn(unit, given, nil, roots)
		if len(faults) > 0 {
			return body.Body{}, nil, faults
		}
		for _, n := range roots {
			if _, ok := given[n]; !ok && !(n == body.BackWidthArmpitLevel && expected.Given(body.BackWidth)) {
				given[n] = expected.Value(n)
				assumed = append(assumed, n)
			}
		}
	}
	person, faults = body.NewIn(unit, given, nil, form.Needs)
	return person, assumed, faults
}

// Report returns what the fitting found. source says what its form was made of.
func (f *Fitting) Report(source string) fitting.Report {
	r := f.Result.Report(f.Body, source)
	for i, m := range r.Form.Measures {
		r.Form.Measures[i].Estimated = m.Estimated || slices.Contains(f.Assumed, body.Name(m.Name))
	}
	return r
}

// Title returns the title of the fitting's picture.
func (f *Fitting) Title(reference string) string {
	title := "Fitting of order " + reference
	if f.Pattern.Style != "" {
		title += ": " + f.Pattern.Style
	}
	return title
}
