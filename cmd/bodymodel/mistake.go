package main

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
)

// mistake is a kind of mistake to try.
type mistake struct {
	title string
	short string  // title in the curve, "" if it is not in the curve
	goal  string  // in words
	asked float64 // goal for the share of sets asked about
	named float64 // goal for the share asked about with the mistake named
	slip  float64 // size in mm of a slip in one number, 0 for other mistakes
	make  maker
}

// untouched makes no mistake.
var untouched = mistake{title: "untouched", short: "untouched", goal: "<= 1.0 asked, none refused",
	make: func(m body.Measures, yield func(body.Measures, ...body.Name)) { yield(m) }}

// met reports whether a trial meets the goal.
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
				yield(with(with(m, body.WaistGirth, m[body.HipGirth]), body.HipGirth, m[body.WaistGirth]),
					body.WaistGirth, body.HipGirth)
			}
		}},
	{title: "digits swapped, over 9 cm off", short: "digits", goal: ">= 95 asked, 90 named", asked: 0.95, named: 0.90,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			for _, n := range slices.Sorted(maps.Keys(m)) {
				for _, v := range swapDigits(m[n]) {
					if math.Abs(v-m[n]) > 90 {
						yield(with(m, n, v), n)
					}
				}
			}
		}},
	{title: "10 cm off in a girth", short: "10 cm in a girth", slip: 100, goal: ">= 80 asked", asked: 0.80,
		make: shift(isGirth, 100)},
	{title: "5 cm off in a length under 60 cm", short: "5 cm in a length", slip: 50, goal: ">= 60 asked", asked: 0.60,
		make: shift(isShortLength, 50)},
	{title: "leading digit wrong by one",
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			for _, n := range slices.Sorted(maps.Keys(m)) {
				step := math.Pow10(int(math.Log10(m[n]/10))) * 10
				for _, v := range []float64{m[n] - step, m[n] + step} {
					if v >= step {
						yield(with(m, n, v), n)
					}
				}
			}
		}},
	{title: "girth doubled", make: each(isGirth, func(v float64) float64 { return 2 * v })},
	{title: "girth halved", make: each(isGirth, func(v float64) float64 { return v / 2 })},
}

// inInches returns the length read when a length in inches, to a quarter, is
// taken for centimetres.
func inInches(mm float64) float64 { return math.Round(mm/25.4*4) / 4 * 10 }

func anyField(body.Name, float64) bool { return true }

func isGirth(n body.Name, _ float64) bool { return strings.HasSuffix(string(n), "_girth") }

func isShortLength(n body.Name, mm float64) bool { return !isGirth(n, mm) && mm < 600 }

// maker calls yield with each set that a mistake makes of m, and with the names of
// the changed measurements.
type maker func(m body.Measures, yield func(changed body.Measures, fields ...body.Name))

// each returns a maker that changes each number of a kind in turn.
func each(which func(body.Name, float64) bool, change func(float64) float64) maker {
	return func(m body.Measures, yield func(body.Measures, ...body.Name)) {
		for _, n := range slices.Sorted(maps.Keys(m)) {
			if which(n, m[n]) {
				yield(with(m, n, change(m[n])), n)
			}
		}
	}
}

// shift returns a maker that adds by to each number of a kind, then subtracts it.
func shift(which func(body.Name, float64) bool, by float64) maker {
	up := each(which, func(v float64) float64 { return v + by })
	down := each(which, func(v float64) float64 { return v - by })
	return func(m body.Measures, yield func(body.Measures, ...body.Name)) {
		up(m, yield)
		down(m, yield)
	}
}

// with returns m with one number changed.
func with(m body.Measures, n body.Name, mm float64) body.Measures {
	out := maps.Clone(m)
	out[n] = mm
	return out
}

// swapDigits returns the lengths made by swapping two neighbouring digits of the
// number in cm.
func swapDigits(mm float64) []float64 {
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
