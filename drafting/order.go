// Package drafting turns an order into a finished pattern. It does no I/O and
// reads no clock: the same order always gives the same pattern.
//
// NewOrder makes an Order of what a shop gave, Draft drafts it, and Estimates
// says what its estimated measurements could do to the pattern.
package drafting

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
)

// Order says what to draft, and to which measurements. Lengths are mm and angles
// degrees, whatever unit the shop gave them in.
type Order struct {
	Label
	Unit         body.Unit // the shop's, centimetres or inches: faults and warnings use it
	Measurements body.Measures
	Block        string       // a block, or
	Style        string       // a garment built on one, by its slug
	Garment      *style.Style // Style, compiled; nil for the built-in style of that slug
	Fit          string       // "" is the first of the block or style
	Choices      map[string]block.Value
	Ease         map[string]float64 // replaces the fit's ease of the same name
	Allowances   map[string]float64 // by what they apply to, see finish.Rules
	Alterations  Alterations
	Told         bool // the draft tells how its pieces were built, for who makes the garment

	unused []string // alterations of the customer that the block or style does not have
}

// Check lists everything that is wrong with the order short of drafting it,
// each fault at its JSON pointer in an OrderInput.
func (o Order) Check() fault.List {
	_, _, faults := o.resolve()
	return faults
}

// Request returns the order's block or style and what it is drafted from. The
// error is a fault.List.
func (o Order) Request() (block.Spec, block.Request, error) {
	spec, person, faults := o.resolve()
	if err := faults.Err(); err != nil {
		return block.Spec{}, block.Request{}, err
	}
	return spec, o.request(spec, person), nil
}

func (o Order) request(spec block.Spec, person body.Body) block.Request {
	return block.Request{Body: person, Fit: o.fit(spec).Name, Choices: o.Choices, Ease: o.Ease,
		Alterations: o.Alterations.Both, Left: o.Alterations.Left, Right: o.Alterations.Right}
}

// ChoiceRange returns the limits of a choice of the order's block or style as the
// order's body and its other choices narrow them, mm for a length; those of the
// choice itself if the body has faults.
func (o Order) ChoiceRange(spec block.Spec, c block.Choice) (lo, hi float64) {
	requires, uses := o.Needs(spec)
	person, faults := newBody(o.Unit, o.Measurements, requires, uses)
	if len(faults) > 0 {
		return c.Min, c.Max
	}
	return c.Range(o.request(spec, person))
}

func (o Order) resolve() (block.Spec, body.Body, fault.List) {
	var faults fault.List
	if !unitKnown(o.Unit) {
		faults = append(faults, choiceFault("/unit", string(o.Unit), unitNames()))
	}
	spec, specFaults := o.Spec()
	faults = append(faults, specFaults...)
	requires, uses := o.Needs(spec)
	person, bodyFaults := newBody(o.Unit, o.Measurements, requires, uses)
	faults = append(faults, bodyFaults...)
	if len(specFaults) == 0 {
		unit := o.Unit
		if !unitKnown(o.Unit) {
			unit = ""
		}
		faults = append(faults, o.checkFit(spec)...)
		var request *block.Request
		if len(bodyFaults) == 0 {
			r := o.request(spec, person)
			request = &r
		}
		faults = append(faults, o.checkChoices(spec, request)...)
		faults = append(faults, CheckEase(o.Ease, o.fit(spec), unit, o.subject(), "ease")...)
		faults = append(faults, o.Alterations.check(spec.Alterations, unit, "alteration of "+o.subject())...)
	}
	return spec, person, append(faults, o.checkAllowances()...)
}

// fit returns the order's fit of the block, the first if it has no such fit.
func (o Order) fit(spec block.Spec) block.Fit {
	for _, f := range spec.Fits {
		if f.Name == o.Fit {
			return f
		}
	}
	return spec.Fits[0]
}

func (o Order) checkFit(spec block.Spec) fault.List {
	if o.Fit == "" || o.fit(spec).Name == o.Fit {
		return nil
	}
	names := make([]string, len(spec.Fits))
	for i, f := range spec.Fits {
		names[i] = f.Name
	}
	return fault.List{choiceFault("/fit", o.Fit, names)}
}

// checkChoices checks the order's choices; their limits on its body too if there is
// a request.
func (o Order) checkChoices(spec block.Spec, request *block.Request) fault.List {
	var faults fault.List
	names := make([]string, len(spec.Choices))
	for i, c := range spec.Choices {
		names[i] = c.Name
	}
	for _, name := range slices.Sorted(maps.Keys(o.Choices)) {
		field := fault.Pointer("choices", name)
		c, ok := findChoice(spec, name)
		if !ok {
			faults = append(faults, fault.UnknownName(field, name, "choice of "+o.subject(), names))
			continue
		}
		wrong := o.checkChoice(field, c, o.Choices[name])
		if len(wrong) == 0 && request != nil {
			wrong = o.checkRange(field, c, *request)
		}
		faults = append(faults, wrong...)
	}
	for _, e := range spec.Excludes {
		if c, ok := findChoice(spec, e.Choice); ok && e.Applies(spec, o.Choices) {
			others := slices.DeleteFunc(slices.Clone(c.Options), func(w string) bool { return w == e.Word })
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: fault.Pointer("choices", e.Choice), Value: e.Word,
				Accepted: fmt.Sprintf("%s with %s %s", orList(others), e.Beside, e.Chosen)})
		}
	}
	return faults
}

// checkRange checks a number that the choice accepts against its limits in a request.
func (o Order) checkRange(field string, c block.Choice, request block.Request) fault.List {
	v := o.Choices[c.Name]
	lo, hi := c.Range(request)
	if v.Word != "" || v.Number >= lo && v.Number <= hi {
		return nil
	}
	accepted := append(slices.Clone(c.Options), "with these measurements a length from "+o.Unit.FormatRange(lo, hi))
	return fault.List{{Code: fault.Range, Field: field, Value: o.Unit.Format(v.Number), Accepted: orList(accepted)}}
}

func (o Order) checkChoice(field string, c block.Choice, v block.Value) fault.List {
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	accepted := slices.Clone(c.Options)
	switch c.Kind {
	case block.KindFraction:
		accepted = append(accepted, "a number from "+number(c.Min)+" to "+number(c.Max))
	case block.KindCount:
		accepted = append(accepted, "a whole number from "+number(c.Min)+" to "+number(c.Max))
	case block.KindLength:
		accepted = append(accepted, "a length from "+o.Unit.FormatRange(c.Min, c.Max))
		number = o.Unit.Format
	}
	wordOnly := c.Kind == block.KindOption || c.Kind == block.KindYesNo
	switch {
	case slices.Contains(c.Options, v.Word):
		return nil
	case v.Word != "":
		return fault.List{choiceFault(field, v.Word, accepted)}
	case wordOnly, c.Kind == block.KindCount && v.Number != math.Trunc(v.Number):
		return fault.List{{Code: fault.Choice, Field: field, Value: number(v.Number), Accepted: orList(accepted)}}
	case c.Kind == block.KindLength && !unitKnown(o.Unit), v.Number >= c.Min && v.Number <= c.Max:
		return nil
	default:
		return fault.List{{Code: fault.Range, Field: field, Value: number(v.Number), Accepted: orList(accepted)}}
	}
}

func findChoice(spec block.Spec, name string) (block.Choice, bool) {
	for _, c := range spec.Choices {
		if c.Name == name {
			return c, true
		}
	}
	return block.Choice{}, false
}

// allowanceKey is the form of what an allowance applies to. Which edges there
// are only the drafted block tells.
var allowanceKey = regexp.MustCompile(`^[a-z0-9_]+(/[a-z0-9_]+)?$`)

func (o Order) checkAllowances() fault.List {
	var faults fault.List
	for _, key := range slices.Sorted(maps.Keys(o.Allowances)) {
		field, mm := fault.Pointer("allowances", key), o.Allowances[key]
		if !allowanceKey.MatchString(key) {
			faults = append(faults, fault.Fault{Code: fault.Unknown, Field: field, Value: fault.Shorten(key),
				Accepted: `default, a kind of edge as "hem", or an edge as "back/neckline"`})
			continue
		}
		if unitKnown(o.Unit) && !(mm >= 0 && mm <= finish.MaxAllowance) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: o.Unit.Format(mm),
				Accepted: "an allowance from " + o.Unit.FormatRange(0, finish.MaxAllowance)})
		}
	}
	return faults
}

// CheckEase lists what is wrong with the ease given over a fit's table, mm by
// name, of the subject ("the torso block"). Faults are below the JSON pointer
// with the keys at and written in unit; without a unit only names are checked.
func CheckEase(ease map[string]float64, fit block.Fit, unit body.Unit, subject string, at ...string) fault.List {
	limits := make([]limit, len(fit.Ease))
	for i, e := range fit.Ease {
		limits[i] = limit{e.Name, e.Min, e.Max}
	}
	return checkLengths(ease, limits, unit, "ease", "ease of "+subject, at)
}

// limit is a length that an order may name, with its limits in mm.
type limit struct {
	name     string
	min, max float64
}

// checkLengths checks lengths, mm by name, against limits. The noun names one
// value and what the kind of names.
func checkLengths(lengths map[string]float64, limits []limit, unit body.Unit, noun, what string,
	at []string) fault.List {
	var faults fault.List
	names := make([]string, len(limits))
	for i, l := range limits {
		names[i] = l.name
	}
	for _, name := range slices.Sorted(maps.Keys(lengths)) {
		field, mm := fault.Pointer(append(slices.Clip(at), name)...), lengths[name]
		i := slices.Index(names, name)
		if i < 0 {
			faults = append(faults, fault.UnknownName(field, name, what, names))
		} else if unit != "" && !(mm >= limits[i].min && mm <= limits[i].max) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: unit.Format(mm),
				Accepted: noun + " from " + unit.FormatRange(limits[i].min, limits[i].max)})
		}
	}
	return faults
}
