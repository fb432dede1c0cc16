package main

import (
	"cmp"
	"errors"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"tapeline/drafting/block"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
)

// A group counts what happened for one reason, with the first place of it.
type group struct {
	Count   int    `json:"count"`
	Reason  string `json:"reason"` // as said at the first
	Line    int    `json:"line"`   // of the file
	Variant string `json:"variant"`
}

// A worst is the largest difference of one check.
type worst struct {
	Name       string  `json:"name"`
	Difference float64 `json:"difference_mm"`
	Tolerance  float64 `json:"tolerance_mm"`
	Line       int     `json:"line"`
	Variant    string  `json:"variant"`
}

// tally counts what became of drafts. Groups are held by their reason without
// its numbers.
type tally struct {
	drafted, refused, failed    int
	refusals, failures, warning map[string]group
	checks                      map[string]worst
	times                       []time.Duration
}

func newTally() *tally {
	return &tally{refusals: map[string]group{}, failures: map[string]group{}, warning: map[string]group{}, checks: map[string]worst{}}
}

// add counts one draft.
func (t *tally) add(line int, variant string, p finish.Pattern, err error, took time.Duration) {
	if err == nil {
		t.drafted++
		t.times = append(t.times, took)
		for _, c := range p.Checks {
			t.check(worst{c.Name, c.Difference(), c.Tolerance, line, variant})
		}
		for _, w := range p.Warnings {
			count(t.warning, withoutNumbers(w), group{1, w, line, variant})
		}
		return
	}
	if list, ok := errors.AsType[fault.List](err); ok {
		t.refused++
		count(t.refusals, refusalKey(list), group{1, strings.ReplaceAll(list.Error(), "\n", "; "), line, variant})
		return
	}
	t.failed++
	for _, rule := range brokenRules(err) {
		count(t.failures, rule, group{1, err.Error(), line, variant})
	}
}

func (t *tally) check(w worst) {
	if old, ok := t.checks[w.Name]; !ok || compareWorst(w, old) < 0 {
		t.checks[w.Name] = w
	}
}

// compareWorst puts the larger difference first, then the earlier row, so that
// the result is the same in whatever order drafts finish.
func compareWorst(a, b worst) int {
	return cmp.Or(cmp.Compare(math.Abs(b.Difference), math.Abs(a.Difference)), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Variant, b.Variant))
}

func count(groups map[string]group, key string, g group) {
	old, ok := groups[key]
	if ok && cmp.Or(cmp.Compare(old.Line, g.Line), cmp.Compare(old.Variant, g.Variant)) <= 0 {
		g.Reason, g.Line, g.Variant = old.Reason, old.Line, old.Variant
	}
	g.Count += old.Count
	groups[key] = g
}

// merge adds what another tally has counted.
func (t *tally) merge(o *tally) {
	t.drafted += o.drafted
	t.refused += o.refused
	t.failed += o.failed
	for _, pair := range [][2]map[string]group{{t.refusals, o.refusals}, {t.failures, o.failures}, {t.warning, o.warning}} {
		for key, g := range pair[1] {
			count(pair[0], key, g)
		}
	}
	for _, w := range o.checks {
		t.check(w)
	}
	t.times = append(t.times, o.times...)
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

// byCount lists groups, the largest first.
func byCount(groups map[string]group) []group {
	return slices.SortedFunc(maps.Values(groups), func(a, b group) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Reason, b.Reason))
	})
}

// worstFirst lists the checks, the largest difference first.
func worstFirst(checks map[string]worst) []worst {
	return slices.SortedFunc(maps.Values(checks), func(a, b worst) int {
		return cmp.Or(compareWorst(a, b), cmp.Compare(a.Name, b.Name))
	})
}

// spread is what drafts took, in milliseconds.
type spread struct {
	Mean   float64 `json:"mean_ms"`
	Median float64 `json:"median_ms"`
	P99    float64 `json:"p99_ms"`
	Max    float64 `json:"max_ms"`
}

func spreadOf(times []time.Duration) spread {
	if len(times) == 0 {
		return spread{}
	}
	sorted := slices.Sorted(slices.Values(times))
	var sum time.Duration
	for _, d := range sorted {
		sum += d
	}
	ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
	last := len(sorted) - 1
	return spread{
		Mean: ms(sum) / float64(len(sorted)), Median: ms(sorted[last/2]),
		P99: ms(sorted[last*99/100]), Max: ms(sorted[last]),
	}
}
