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
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/style"
)

// Counts are how many drafts ended in which way.
type Counts struct {
	Drafted int `json:"drafted"`
	Refused int `json:"refused"` // with a reason: the body, or what was chosen for it
	Failed  int `json:"failed"`  // a rule of every draft was broken
}

func (c *Counts) plus(o Counts) {
	c.Drafted += o.Drafted
	c.Refused += o.Refused
	c.Failed += o.Failed
}

// Tally is what is known after some of a plan's drafts. It can be stored as
// JSON and gone on from; two merge into the same whatever their order. A draft
// is named by its number in the plan.
type Tally struct {
	Counts
	Variants []Counts          `json:"variants"`
	Refusals map[string]Reason `json:"refusals"` // by the reason without its numbers
	Failures map[string]Reason `json:"failures"`
	Warnings map[string]Reason `json:"warnings"`
	Checks   map[string]Worst  `json:"checks"`
	Cloth    Spread            `json:"cloth"`
	Sheets   Spread            `json:"sheets"`
}

// Reason counts drafts that went the same way, with the first of them.
type Reason struct {
	Count  int    `json:"count"`
	Reason string `json:"reason"` // as said of the first
	At     int    `json:"at"`
	More   []int  `json:"more,omitempty"` // the next few drafts, in order
}

// Worst is the largest difference of one check, mm.
type Worst struct {
	Difference float64 `json:"difference"`
	Tolerance  float64 `json:"tolerance"`
	At         int     `json:"at"`
}

// Spread is a quantity over all drafts that have it.
type Spread struct {
	Count int     `json:"count"`
	Sum   float64 `json:"sum"`
	Least Extreme `json:"least"`
	Most  Extreme `json:"most"`
}

// Extreme is the least or most of a quantity.
type Extreme struct {
	Value float64 `json:"value"`
	At    int     `json:"at"`
}

// A hostile script may give every body its own reason or check: no more than
// so many are told apart, and none is longer.
const (
	maxReasons = 200
	maxChecks  = 500
	maxReason  = 600 // bytes
	others     = "and others"
	maxNamed   = 10 // drafts named for one reason
)

// NewTally is an empty tally for a number of variants.
func NewTally(variants int) *Tally {
	return &Tally{Variants: make([]Counts, variants), Refusals: map[string]Reason{}, Failures: map[string]Reason{},
		Warnings: map[string]Reason{}, Checks: map[string]Worst{}}
}

// drafted counts a draft that was made.
func (t *Tally) drafted(at, variant int, p finish.Pattern, private bool) {
	t.Drafted++
	t.Variants[variant].Drafted++
	for _, c := range p.Checks {
		t.check(c.Name, Worst{c.Difference(), c.Tolerance, at})
	}
	for _, w := range p.Warnings {
		count(t.Warnings, withoutNumbers(w), w, at, private)
	}
}

// lost counts a draft that was refused or failed.
func (t *Tally) lost(at, variant int, err error, private bool) {
	if list, ok := errors.AsType[fault.List](err); ok {
		t.Refused++
		t.Variants[variant].Refused++
		count(t.Refusals, refusalKey(list), strings.ReplaceAll(list.Error(), "\n", "; "), at, private)
		return
	}
	t.Failed++
	t.Variants[variant].Failed++
	for _, rule := range brokenRules(err) {
		count(t.Failures, rule, err.Error(), at, private)
	}
}

func count(reasons map[string]Reason, key, reason string, at int, private bool) {
	if private {
		reason = key
	}
	merge(reasons, key, Reason{Count: 1, Reason: strings.ToValidUTF8(reason[:min(len(reason), maxReason)], ""), At: at})
}

// merge adds to a reason; the first draft of it gives the words.
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

func (t *Tally) check(name string, w Worst) {
	old, ok := t.Checks[name]
	if ok && compareWorst(w, old) >= 0 || !ok && len(t.Checks) >= maxChecks {
		return
	}
	t.Checks[name] = w
}

// compareWorst puts the larger difference first, then the earlier draft.
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
	if s.Count == 0 || o.Least.Value < s.Least.Value || o.Least.Value == s.Least.Value && o.Least.At < s.Least.At {
		s.Least = o.Least
	}
	if s.Count == 0 || o.Most.Value > s.Most.Value || o.Most.Value == s.Most.Value && o.Most.At < s.Most.At {
		s.Most = o.Most
	}
	s.Count += o.Count
	s.Sum += o.Sum
}

// Merge adds what another tally of the same plan has counted.
func (t *Tally) Merge(o *Tally) {
	t.plus(o.Counts)
	for i, c := range o.Variants {
		t.Variants[i].plus(c)
	}
	for _, pair := range [][2]map[string]Reason{{t.Refusals, o.Refusals}, {t.Failures, o.Failures}, {t.Warnings, o.Warnings}} {
		for key, r := range pair[1] {
			merge(pair[0], key, r)
		}
	}
	for name, w := range o.Checks {
		t.check(name, w)
	}
	t.Cloth.merge(o.Cloth)
	t.Sheets.merge(o.Sheets)
}

var number = regexp.MustCompile(`[-+]?\d+(\.\d+)?`)

func withoutNumbers(s string) string { return number.ReplaceAllString(s, "#") }

func refusalKey(list fault.List) string {
	keys := make([]string, len(list))
	for i, f := range list {
		keys[i] = string(f.Code) + " " + f.Field + " " + withoutNumbers(f.Accepted)
	}
	return strings.Join(keys, "; ")
}

// brokenRules names the checks and rules that a draft does not meet.
func brokenRules(err error) []string {
	if e, ok := errors.AsType[*style.Error](err); ok {
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

// sorted lists reasons, the commonest first.
func sorted(reasons map[string]Reason) []Reason {
	return slices.SortedFunc(maps.Values(reasons), func(a, b Reason) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.At, b.At), cmp.Compare(a.Reason, b.Reason))
	})
}
