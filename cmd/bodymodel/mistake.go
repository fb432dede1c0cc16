package main

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
)

// A mistake is a kind of slip that the check is tried with: make calls yield
// with every set that it makes of a person's, and what was changed in it.
type mistake struct {
	title string
	short string  // in the curve, "" for not in it
	goal  string  // what the product wants: so many asked about, so many named
	asked float64 // the same as shares
	named float64
	slip  float64 // mm that one number is off by, where each measurement's own spread limits what can be told
	make  func(m body.Measures, yield func(changed body.Measures, fields ...body.Name))
}

// untouched is no mistake at all.
var untouched = mistake{title: "untouched", short: "untouched", goal: "<= 1.0 asked, none refused",
	make: func(m body.Measures, yield func(body.Measures, ...body.Name)) { yield(m) }}

// met tells whether a trial is as good as the product wants it.
func (m mistake) met(t trial) bool {
	if m.title == untouched.title {
		return t.asked(confirm) <= 0.01 && t.refused() == 0
	}
	return t.asked(confirm) >= m.asked && t.named() >= m.named
}

var mistakes = []mistake{
	{title: "all in inches", goal: "100 named", asked: 1, named: 1,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			all := body.Measures{}
			for n, v := range m {
				all[n] = inInches(v)
			}
			yield(all)
		}},
	{title: "one in inches", short: "in inches", goal: ">= 99.5 asked, 99 named", asked: 0.995, named: 0.99,
		make: each(anyField, inInches)},
	{title: "waist and hip exchanged, over 8 cm apart", short: "exchanged", goal: ">= 95 asked", asked: 0.95,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			if math.Abs(m[body.WaistGirth]-m[body.HipGirth]) > 80 {
				yield(with(m, body.WaistGirth, m[body.HipGirth], body.HipGirth, m[body.WaistGirth]), body.WaistGirth, body.HipGirth)
			}
		}},
	{title: "digits swapped, over 9 cm off", short: "digits", goal: ">= 95 asked, 90 named", asked: 0.95, named: 0.90,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			for _, n := range sorted(m) {
				for _, v := range swapped(m[n]) {
					if math.Abs(v-m[n]) > 90 {
						yield(with(m, n, v), n)
					}
				}
			}
		}},
	{title: "10 cm off in a girth", short: "10 cm in a girth", slip: 100, goal: ">= 80 asked", asked: 0.80, make: shifted(girth, 100)},
	{title: "5 cm off in a length under 60 cm", short: "5 cm in a length", slip: 50, goal: ">= 60 asked", asked: 0.60, make: shifted(shortLength, 50)},
	{title: "leading digit wrong by one",
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			for _, n := range sorted(m) {
				step := math.Pow10(int(math.Log10(m[n]/10))) * 10
				for _, v := range []float64{m[n] - step, m[n] + step} {
					if v >= step {
						yield(with(m, n, v), n)
					}
				}
			}
		}},
	{title: "girth doubled", make: each(girth, func(v float64) float64 { return 2 * v })},
	{title: "girth halved", make: each(girth, func(v float64) float64 { return v / 2 })},
}

func sorted(m body.Measures) []body.Name {
	names := make([]body.Name, 0, len(m))
	for n := range m {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

// inInches is a length as it stands when its inches, read to a quarter, are
// written for centimetres.
func inInches(mm float64) float64 { return math.Round(mm/25.4*4) / 4 * 10 }

func anyField(body.Name, float64) bool { return true }

func girth(n body.Name, _ float64) bool { return strings.HasSuffix(string(n), "_girth") }

func shortLength(n body.Name, mm float64) bool { return !girth(n, mm) && mm < 600 }

func each(which func(body.Name, float64) bool, change func(float64) float64) func(body.Measures, func(body.Measures, ...body.Name)) {
	return func(m body.Measures, yield func(body.Measures, ...body.Name)) {
		for _, n := range sorted(m) {
			if which(n, m[n]) {
				yield(with(m, n, change(m[n])), n)
			}
		}
	}
}

func shifted(which func(body.Name, float64) bool, by float64) func(body.Measures, func(body.Measures, ...body.Name)) {
	up := each(which, func(v float64) float64 { return v + by })
	down := each(which, func(v float64) float64 { return v - by })
	return func(m body.Measures, yield func(body.Measures, ...body.Name)) {
		up(m, yield)
		down(m, yield)
	}
}

// with is the set with some numbers changed, named and given in turn.
func with(m body.Measures, changes ...any) body.Measures {
	out := make(body.Measures, len(m))
	for n, v := range m {
		out[n] = v
	}
	for i := 0; i < len(changes); i += 2 {
		out[changes[i].(body.Name)] = changes[i+1].(float64)
	}
	return out
}

// swapped are the lengths that an exchange of two neighbouring digits makes.
func swapped(mm float64) []float64 {
	s := []byte(strconv.FormatFloat(body.Centimetre.From(mm), 'f', -1, 64))
	var out []float64
	last := -1
	for i := range s {
		if s[i] == '.' {
			continue
		}
		if last >= 0 && s[i] != s[last] {
			t := slices.Clone(s)
			t[i], t[last] = t[last], t[i]
			if v, err := strconv.ParseFloat(string(t), 64); err == nil && t[0] != '0' {
				out = append(out, body.Centimetre.MM(v))
			}
		}
		last = i
	}
	return out
}
