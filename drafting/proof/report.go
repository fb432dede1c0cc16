package proof

import (
	"cmp"
	"maps"
	"slices"
)

// A Report is a tally with the names of the plan's bodies and variants.
type Report struct {
	Counts
	Variants []VariantReport `json:"variants"`
	Refusals []ReasonReport  `json:"refusals"` // the most frequent first, as in all lists of reasons
	Failures []ReasonReport  `json:"failures"`
	Warnings []ReasonReport  `json:"warnings"`
	Faults   []ReasonReport  `json:"faults"`          // of drafted patterns, see Fault
	Checks   []CheckReport   `json:"checks"`          // the largest difference first
	Cloth    *SpreadReport   `json:"cloth,omitempty"` // m² of the main cloth, without the gaps between pieces
	Sheets   *SpreadReport   `json:"sheets,omitempty"`
}

// A VariantReport has the counts of one variant.
type VariantReport struct {
	Name string `json:"name"`
	Counts
}

// Where names one draft.
type Where struct {
	Body    string `json:"body"`
	Variant string `json:"variant"`
}

// A ReasonReport has the reason for which drafts were refused or failed, or
// their warning, and names the first of them.
type ReasonReport struct {
	Count  int    `json:"count"`
	Reason string `json:"reason"`
	Where
	More []Where `json:"more,omitempty"` // the next few drafts
}

// A CheckReport has the largest difference of one check.
type CheckReport struct {
	Name       string  `json:"name"`
	Difference float64 `json:"difference_mm"`
	Tolerance  float64 `json:"tolerance_mm"`
	Where
}

// A SpreadReport has the range of a quantity over all drafts.
type SpreadReport struct {
	Mean float64       `json:"mean"`
	Min  ExtremeReport `json:"min"`
	Max  ExtremeReport `json:"max"`
}

// An ExtremeReport is the minimum or maximum of a quantity.
type ExtremeReport struct {
	Value float64 `json:"value"`
	At    int     `json:"at"` // the draft's number in the plan; -1 if the plan is private
	Where
}

// Report returns the report of a tally of the plan.
func (p Plan) Report(t *Tally) Report { return report(p, t) }

func report(s series, t *Tally) Report {
	names := s.variants()
	r := Report{Counts: t.Counts, Variants: make([]VariantReport, len(names)), Checks: []CheckReport{},
		Refusals: reasons(s, t.Refusals), Failures: reasons(s, t.Failures), Warnings: reasons(s, t.Warnings),
		Faults: reasons(s, t.Faults),
		Cloth:  spread(s, t.Cloth), Sheets: spread(s, t.Sheets)}
	for i, name := range names {
		r.Variants[i] = VariantReport{name, t.Variants[i]}
	}
	checks := slices.SortedFunc(maps.Keys(t.Checks), func(a, b string) int {
		return cmp.Or(compareWorst(t.Checks[a], t.Checks[b]), cmp.Compare(a, b))
	})
	for _, name := range checks {
		w := t.Checks[name]
		r.Checks = append(r.Checks, CheckReport{name, w.Difference, w.Tolerance, s.Where(w.At)})
	}
	return r
}

// Where returns the name of the draft with that number.
func (p Plan) Where(at int) Where {
	return Where{p.Bodies[at%len(p.Bodies)].Name, p.Variants[at/len(p.Bodies)].Name}
}

func reasons(s series, reasons map[string]Reason) []ReasonReport {
	list := []ReasonReport{}
	for _, r := range sorted(reasons) {
		report := ReasonReport{Count: r.Count, Reason: r.Reason, Where: s.Where(r.At)}
		for _, at := range r.More {
			report.More = append(report.More, s.Where(at))
		}
		list = append(list, report)
	}
	return list
}

func spread(s series, of Spread) *SpreadReport {
	if of.Count == 0 {
		return nil
	}
	return &SpreadReport{of.Sum / float64(of.Count), extreme(s, of.Min), extreme(s, of.Max)}
}

// extreme does not name a known person as the smallest or largest.
func extreme(s series, e Extreme) ExtremeReport {
	r := ExtremeReport{e.Value, e.At, s.Where(e.At)}
	if s.isPrivate() {
		r.At, r.Body = -1, ""
	}
	return r
}

// Undrafted returns the variants in which no body was drafted.
func (r Report) Undrafted() []string {
	var names []string
	for _, v := range r.Variants {
		if v.Drafted == 0 {
			names = append(names, v.Name)
		}
	}
	return names
}
