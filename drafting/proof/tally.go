package proof

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
)

// Counts are numbers of drafts by outcome.
type Counts struct {
	Drafted int `json:"drafted"`
	Faulty  int `json:"faulty"`  // of the drafted: with a Fault
	Refused int `json:"refused"` // with a reason: the body or the choices
	Failed  int `json:"failed"`  // a rule that every draft must keep was broken
}

// Clean returns the number of drafts without a Fault.
func (c Counts) Clean() int { return c.Drafted - c.Faulty }

func (c *Counts) add(o Counts) {
	c.Drafted += o.Drafted
	c.Faulty += o.Faulty
	c.Refused += o.Refused
	c.Failed += o.Failed
}

// A Tally sums up some of a plan's drafts. It can be stored as JSON and
// continued; merging two gives the same result in either order. Drafts are
// identified by their number in the plan.
type Tally struct {
	Counts
	Variants []Counts          `json:"variants"`
	Refusals map[string]Reason `json:"refusals"` // by the reason without its numbers
	Failures map[string]Reason `json:"failures"`
	Warnings map[string]Reason `json:"warnings"`
	Faults   map[string]Reason `json:"faults"` // of drafted patterns, see Fault
	Costly   int               `json:"costly"` // failed drafts that exceeded their budget
	Checks   map[string]Worst  `json:"checks"`
	Cloth    Spread            `json:"cloth"`
	Sheets   Spread            `json:"sheets"`
}

// A Reason counts drafts with the same outcome, and identifies the first.
type Reason struct {
	Count  int    `json:"count"`
	Reason string `json:"reason"` // of the first
	At     int    `json:"at"`
	More   []int  `json:"more,omitempty"` // the next few drafts, in order
}

// A Worst is the largest difference of one check, mm.
type Worst struct {
	Difference float64 `json:"difference"`
	Tolerance  float64 `json:"tolerance"`
	At         int     `json:"at"`
}

// A Spread is the range of a quantity over all drafts that have it.
type Spread struct {
	Count int     `json:"count"`
	Sum   float64 `json:"sum"`
	Min   Extreme `json:"min"`
	Max   Extreme `json:"max"`
}

// An Extreme is the minimum or maximum of a quantity.
type Extreme struct {
	Value float64 `json:"value"`
	At    int     `json:"at"`
}

// Limits of a tally. A hostile script may give every body its own reason or
// check.
const (
	maxReasons = 200
	maxChecks  = 500
	maxReason  = 600 // bytes
	others     = "and others"
	maxNamed   = 10 // drafts identified for one reason
)

// NewTally returns an empty tally for a number of variants.
func NewTally(variants int) *Tally {
	return &Tally{Variants: make([]Counts, variants), Refusals: map[string]Reason{}, Failures: map[string]Reason{},
		Warnings: map[string]Reason{}, Faults: map[string]Reason{}, Checks: map[string]Worst{}}
}

// addDraft adds a drafted pattern. Warnings of different groups are different; one that
// is a fault counts as that.
func (t *Tally) addDraft(at, variant int, p finish.Pattern, group string, private bool) {
	t.Drafted++
	t.Variants[variant].Drafted++
	for _, c := range p.Checks {
		t.addCheck(c.Name, Worst{c.Difference(), c.Tolerance, at})
	}
	faults := Faults(p)
	for _, w := range p.Warnings {
		if !slices.ContainsFunc(faults, func(f Fault) bool { return f.Reason == w }) {
			addReason(t.Warnings, group+withoutNumbers(w), w, at, private)
		}
	}
	if len(faults) > 0 {
		t.Faulty++
		t.Variants[variant].Faulty++
	}
	for _, f := range faults {
		key := group + f.Rule + ": " + sideNames.ReplaceAllString(withoutNumbers(f.Reason), "")
		addReason(t.Faults, key, f.Rule+": "+f.Reason, at, private)
	}
}

// addFailure adds a draft that was refused or failed. Reasons of different groups
// are different.
func (t *Tally) addFailure(at, variant int, err error, group string, private bool) {
	if list, ok := errors.AsType[fault.List](err); ok {
		t.Refused++
		t.Variants[variant].Refused++
		addReason(t.Refusals, group+refusalKey(list), strings.ReplaceAll(list.Error(), "\n", "; "), at, private)
		return
	}
	t.Failed++
	if _, ok := errors.AsType[*cost.Error](err); ok {
		t.Costly++
	}
	t.Variants[variant].Failed++
	for _, rule := range brokenRules(err) {
		addReason(t.Failures, group+rule, err.Error(), at, private)
	}
}

func addReason(reasons map[string]Reason, key, reason string, at int, private bool) {
	if private {
		reason = key
	}
	merge(reasons, key, Reason{Count: 1, Reason: strings.ToValidUTF8(reason[:min(len(reason), maxReason)], ""), At: at})
}

// merge merges a reason; its first draft gives the text.
func merge(reasons map[string]Reason, key string, r Reason) {
	old, ok := reasons[key]
	if !ok && len(reasons) >= maxReasons {
		key = others
		old, ok = reasons[key]
	}
	if !ok {
		reasons[key] = r
		return
	}
	named := slices.Concat([]int{old.At, r.At}, old.More, r.More)
	slices.Sort(named)
	if old.At < r.At {
		r.Reason = old.Reason
	}
	r.Count += old.Count
	r.At, r.More = named[0], named[1:min(len(named), maxNamed)]
	reasons[key] = r
}

func mergeAll(reasons, others map[string]Reason) {
	for key, r := range others {
		merge(reasons, key, r)
	}
}

func (t *Tally) addCheck(name string, w Worst) {
	old, ok := t.Checks[name]
	if ok && compareWorst(w, old) >= 0 || !ok && len(t.Checks) >= maxChecks {
		return
	}
	t.Checks[name] = w
}

// compareWorst orders by larger difference, then by earlier draft.
func compareWorst(a, b Worst) int {
	return cmp.Or(cmp.Compare(math.Abs(b.Difference), math.Abs(a.Difference)), cmp.Compare(a.At, b.At))
}

func (s *Spread) add(at int, v float64) {
	s.merge(Spread{1, v, Extreme{v, at}, Extreme{v, at}})
}

func (s *Spread) merge(o Spread) {
	if o.Count == 0 {
		return
	}
	if s.Count == 0 || o.Min.Value < s.Min.Value || o.Min.Value == s.Min.Value && o.Min.At < s.Min.At {
		s.Min = o.Min
	}
	if s.Count == 0 || o.Max.Value > s.Max.Value || o.Max.Value == s.Max.Value && o.Max.At < s.Max.At {
		s.Max = o.Max
	}
	s.Count += o.Count
	s.Sum += o.Sum
}

// Merge adds another tally of the same plan.
func (t *Tally) Merge(o *Tally) {
	t.add(o.Counts)
	for i, c := range o.Variants {
		t.Variants[i].add(c)
	}
	mergeAll(t.Refusals, o.Refusals)
	mergeAll(t.Failures, o.Failures)
	mergeAll(t.Warnings, o.Warnings)
	mergeAll(t.Faults, o.Faults)
	t.Costly += o.Costly
	for name, w := range o.Checks {
		t.addCheck(name, w)
	}
	t.Cloth.merge(o.Cloth)
	t.Sheets.merge(o.Sheets)
}

var number = regexp.MustCompile(`[-+]?\d+(\.\d+)?`)

// sideNames are what tells the sides of one order apart.
var sideNames = regexp.MustCompile(`\b(left|right)(_|: )`)

func withoutNumbers(s string) string { return number.ReplaceAllString(s, "#") }

func refusalKey(list fault.List) string {
	keys := make([]string, len(list))
	for i, f := range list {
		keys[i] = string(f.Code) + " " + f.Field + " " + withoutNumbers(f.Accepted)
	}
	return strings.Join(keys, "; ")
}

// brokenRules returns the checks and rules that a draft breaks.
func brokenRules(err error) []string {
	if e, ok := errors.AsType[*style.Error](err); ok && e.Line > 0 {
		return []string{fmt.Sprintf("line %d: %s", e.Line, withoutNumbers(e.Reason))}
	}
	check, ok := errors.AsType[*block.CheckError](err)
	if !ok {
		return []string{withoutNumbers(err.Error())}
	}
	var rules []string
	for _, c := range check.Failed {
		rules = append(rules, c.Name)
	}
	for _, b := range check.Broken {
		rules = append(rules, withoutNumbers(b))
	}
	return rules
}

// sorted returns the reasons, the most frequent first.
func sorted(reasons map[string]Reason) []Reason {
	return slices.SortedFunc(maps.Values(reasons), func(a, b Reason) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.At, b.At), cmp.Compare(a.Reason, b.Reason))
	})
}
