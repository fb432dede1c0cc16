// Package drafting turns an order into a finished pattern. It does no I/O and
// knows no clock: the same order gives the same pattern, always.
package drafting

import (
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
)

// Order says what to draft for whom. Lengths are mm whatever Unit is.
type Order struct {
	Reference    string    // the shop's, lettered on every piece
	Customer     string    // the shop's reference for the customer, may be empty
	Date         string    // ISO 8601 calendar date, may be empty
	Revision     int       // from 1 on
	Unit         body.Unit // cm or inch, in which the order was given and faults are written
	Measurements body.Measures
	Block        string         // a block, or
	Style        string         // a garment built on one, by its slug
	Own          []*style.Style // styles that Style may name, looked at before the built-in ones
	Fit          string         // "" for the first of the block or style
	Choices      map[string]block.Value
	Ease         map[string]float64 // over the fit's table
	Allowances   map[string]float64 // by what they apply to, see finish.Rules
	Alterations  Alterations

	unused []string // alterations kept for the customer that the block or style has none of
}

// maxReference is the most characters of a reference: two lines of a label.
const maxReference = 64

// maxRevision keeps a revision to four digits on the label.
const maxRevision = 9999

// Check lists all that is wrong with the order, each fault at its JSON pointer
// in the order file. Whether the block can be drafted to this body only
// drafting tells.
func (o Order) Check() fault.List {
	_, _, faults := o.resolve()
	return faults
}

// Request is the order's block and what that is to be drafted from. The error
// is a fault.List.
func (o Order) Request() (block.Spec, block.Request, error) {
	spec, person, faults := o.resolve()
	if err := faults.Err(); err != nil {
		return block.Spec{}, block.Request{}, err
	}
	return spec, block.Request{Body: person, Fit: o.fit(spec).Name, Choices: o.Choices, Ease: o.Ease,
		Alterations: o.Alterations.Both, Left: o.Alterations.Left, Right: o.Alterations.Right}, nil
}

func (o Order) resolve() (block.Spec, body.Body, fault.List) {
	faults := checkText("reference", o.Reference, true)
	faults = append(faults, checkText("customer", o.Customer, false)...)
	faults = append(faults, checkDate(o.Date)...)
	if o.Revision < 1 || o.Revision > maxRevision {
		faults = append(faults, fault.Fault{Code: fault.Range, Field: "/revision", Value: strconv.Itoa(o.Revision),
			Accepted: "a whole number from 1 to " + strconv.Itoa(maxRevision)})
	}
	if !o.unitKnown() {
		faults = append(faults, choiceFault("/unit", string(o.Unit), unitNames()))
	}
	spec, specFaults := o.spec()
	specKnown := len(specFaults) == 0
	faults = append(faults, specFaults...)
	person, bodyFaults := body.Body{}, body.Missing(o.Measurements, spec.Requires, spec.Uses)
	if o.unitKnown() {
		person, bodyFaults = body.NewIn(o.Unit, o.Measurements, spec.Requires, spec.Uses)
	}
	faults = append(faults, bodyFaults...)
	if specKnown {
		faults = append(faults, o.checkFit(spec)...)
		faults = append(faults, o.checkChoices(spec)...)
		faults = append(faults, o.checkEase(spec)...)
		faults = append(faults, o.checkAlterations(spec)...)
	}
	return spec, person, append(faults, o.checkAllowances()...)
}

// unitKnown tells whether lengths can be written for the shop; where they
// can't, they come from no known unit and are not worth a fault of their own.
func (o Order) unitKnown() bool { return slices.Contains(body.OrderUnits(), o.Unit) }

func checkText(name, v string, required bool) fault.List {
	f := fault.Fault{Code: fault.Format, Field: fault.Pointer(name), Value: fault.Shorten(v)}
	switch {
	case v == "" && !required:
		return nil
	case v == "":
		f.Code, f.Value, f.Accepted = fault.Missing, "", "required: the shop's reference, lettered on every piece"
	case utf8.RuneCountInString(v) > maxReference:
		f.Accepted = "at most " + strconv.Itoa(maxReference) + " characters"
	case strings.TrimSpace(v) == "":
		f.Accepted = "more than spaces"
	case strings.ContainsFunc(v, func(r rune) bool { return !unicode.IsPrint(r) || r == utf8.RuneError }):
		f.Accepted = "characters that can be printed, on one line"
	default:
		return nil
	}
	return fault.List{f}
}

func checkDate(v string) fault.List {
	if v == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, v); err != nil {
		return fault.List{{Code: fault.Format, Field: "/date", Value: fault.Shorten(v), Accepted: "a day of the calendar as 2026-01-31 (ISO 8601)"}}
	}
	return nil
}

// fit is the order's fit of the block, its first where none or no such is named.
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

func (o Order) checkChoices(spec block.Spec) fault.List {
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
		faults = append(faults, o.checkChoice(field, c, o.Choices[name])...)
	}
	return faults
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
	switch {
	case slices.Contains(c.Options, v.Word):
		return nil
	case v.Word != "":
		return fault.List{choiceFault(field, v.Word, accepted)}
	case c.Kind == block.KindOption, c.Kind == block.KindYesNo, c.Kind == block.KindCount && v.Number != math.Trunc(v.Number):
		return fault.List{{Code: fault.Choice, Field: field, Value: number(v.Number), Accepted: orList(accepted)}}
	case c.Kind == block.KindLength && !o.unitKnown(), v.Number >= c.Min && v.Number <= c.Max:
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

func (o Order) checkEase(spec block.Spec) fault.List {
	var faults fault.List
	table := o.fit(spec).Ease
	names := make([]string, len(table))
	for i, e := range table {
		names[i] = e.Name
	}
	for _, name := range slices.Sorted(maps.Keys(o.Ease)) {
		field, mm := fault.Pointer("ease", name), o.Ease[name]
		i := slices.Index(names, name)
		if i < 0 {
			faults = append(faults, fault.UnknownName(field, name, "ease of "+o.subject(), names))
			continue
		}
		if o.unitKnown() && !(mm >= table[i].Min && mm <= table[i].Max) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: o.Unit.Format(mm),
				Accepted: "ease from " + o.Unit.FormatRange(table[i].Min, table[i].Max)})
		}
	}
	return faults
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
		if o.unitKnown() && !(mm >= 0 && mm <= finish.MaxAllowance) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: o.Unit.Format(mm),
				Accepted: "an allowance from " + o.Unit.FormatRange(0, finish.MaxAllowance)})
		}
	}
	return faults
}

// choiceFault is that of a word that is none of those accepted, or absent.
func choiceFault(field, word string, accepted []string) fault.Fault {
	if word == "" {
		return fault.Fault{Code: fault.Missing, Field: field, Accepted: "required: " + orList(accepted)}
	}
	return fault.Fault{Code: fault.Choice, Field: field, Value: fault.Shorten(word), Accepted: orList(accepted)}
}

// orList writes the words as a, b or c.
func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

func unitNames() []string {
	var names []string
	for _, u := range body.OrderUnits() {
		names = append(names, string(u))
	}
	return names
}

func blockNames() []string {
	var names []string
	for _, s := range block.Specs() {
		names = append(names, s.Name)
	}
	return names
}
