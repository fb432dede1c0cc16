package fitting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
)

// A Report holds what a fitting found, as it is stored and published: a Result
// without its cloth. Lengths are in mm.
type Report struct {
	Settled  bool       `json:"settled"`
	Residual float64    `json:"residual"` // unbalanced force over load
	Form     FormReport `json:"form"`
	Levels   []Level    `json:"levels"`
	Openings []Opening  `json:"openings"`
	Findings []Finding  `json:"findings"`
	Readings []Reading  `json:"readings"` // of every place that was judged, findings or not
	LeftOut  []string   `json:"left_out"` // pieces that were not tried on
}

// Sources of a form.
const (
	OfMeasurements = "measurements"
	OfMesh         = "mesh"
)

// A FormReport says what a form is made of, and what a tape reads on it.
type FormReport struct {
	Source   string        `json:"source"` // OfMeasurements or OfMesh
	Measures []FormMeasure `json:"measures"`
}

// A FormMeasure is a measurement of the body beside that of its form.
type FormMeasure struct {
	Name      string  `json:"name"`
	Given     float64 `json:"given_mm"`
	Form      float64 `json:"form_mm"`
	Estimated bool    `json:"estimated"`
}

// Report returns what the fitting of a body found, to a hundredth. source says what its
// form was made of.
func (r *Result) Report(b body.Body, source string) Report {
	report := Report{Settled: r.Settled, Residual: math.Round(1e4*r.Residual) / 1e4,
		Form:   FormReport{Source: source, Measures: []FormMeasure{}},
		Levels: listed(r.Levels), Openings: listed(r.Openings), Findings: listed(r.Findings), Readings: listed(r.Readings),
		LeftOut: listed(r.Left)}
	for _, m := range r.form.Measures(b) {
		report.Form.Measures = append(report.Form.Measures,
			FormMeasure{Name: string(m.Name), Given: round(m.Body), Form: round(m.Form), Estimated: m.Estimated})
	}
	for i := range report.Levels {
		l := &report.Levels[i]
		l.Height, l.Body, l.Worn, l.Cut = round(l.Height), round(l.Body), round(l.Worn), round(l.Cut)
	}
	for i := range report.Openings {
		o := &report.Openings[i]
		o.Girth, o.Needed = round(o.Girth), round(o.Needed)
	}
	for i := range report.Findings {
		f := &report.Findings[i]
		f.Value, f.Limit = round(f.Value), round(f.Limit)
	}
	for i := range report.Readings {
		f := &report.Readings[i]
		f.Value, f.Limit = round(f.Value), round(f.Limit)
	}
	return report
}

// round rounds to a hundredth.
func round(v float64) float64 { return math.Round(100*v) / 100 }

// listed returns the list, empty instead of nil.
func listed[T any](list []T) []T { return append([]T{}, list...) }

// An Opening is a way into the garment and what must pass it, mm.
type Opening struct {
	Name   string  `json:"name"` // what passes through which edge or pieces
	Passes bool    `json:"passes"`
	Girth  float64 `json:"girth_mm"`  // of the garment where it is narrowest; 0 for one that is open from end to end
	Needed float64 `json:"needed_mm"` // girth of what must pass, less what the cloth gives; 0 with Girth
}

// OpeningsOf returns the openings that a draft has read back: its checks with a
// minimum that no ease for a limb set.
func OpeningsOf(p pattern.Pattern) (all []Opening) {
	for _, c := range p.Checks {
		if c.AtLeast && c.Body == 0 {
			all = append(all, Opening{Name: c.Name, Passes: c.Holds(), Girth: c.Drafted, Needed: c.Target})
		}
	}
	return all
}

// openings finds the openings through which the wearer does not pass.
func (r *Result) openings(p pattern.Pattern) {
	r.Openings = OpeningsOf(p)
	for _, o := range r.Openings {
		part, through, _ := strings.Cut(o.Name, " through ")
		r.Readings = append(r.Readings, Reading{NotPutOn, through, o.Girth, "mm", o.Needed})
		if o.Passes {
			continue
		}
		r.Findings = append(r.Findings, Finding{Kind: NotPutOn, Place: through, Value: o.Girth, Unit: "mm",
			Limit: o.Needed,
			Words: fmt.Sprintf("Cannot be put on: the %s does not pass %s, which is %.0f mm round and needs %.0f mm.", part,
				through, o.Girth, o.Needed)})
	}
}

// Kinds returns all kinds of findings, the gravest first.
func Kinds() []Kind { return []Kind{NotPutOn, Tight, Balance, Hangs, StandsOff} }

// AtLeast reports whether kind k is as grave as other, or graver.
func (k Kind) AtLeast(other Kind) bool {
	return slices.Index(Kinds(), k) <= slices.Index(Kinds(), other)
}
