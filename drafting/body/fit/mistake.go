package main

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/body/plausible"
)

// A mistake is a kind of slip that the check is tried with: make calls yield
// with every set that it makes of a person's, and what was changed in it.
type mistake struct {
	title    string
	goal     string // what issue and documents ask for
	flagged  float64
	named    float64 // 0 for no goal
	explains plausible.Explanation
	make     func(m body.Measures, yield func(changed body.Measures, fields ...body.Name))
}

var mistakes = []mistake{
	{title: "all in inches", goal: "100 % named", flagged: 1, named: 1, explains: plausible.AllOtherUnit,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			all := body.Measures{}
			for n, v := range m {
				all[n] = inInches(v)
			}
			yield(all)
		}},
	{title: "one in inches", goal: "99.5 % flagged, 99 % named", flagged: 0.995, named: 0.99, explains: plausible.OtherUnit,
		make: each(anyField, inInches)},
	{title: "waist and hip exchanged, over 8 cm apart", goal: "95 % flagged", flagged: 0.95, explains: plausible.Exchanged,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			if math.Abs(m[body.WaistGirth]-m[body.HipGirth]) > 80 {
				yield(with(m, body.WaistGirth, m[body.HipGirth], body.HipGirth, m[body.WaistGirth]), body.WaistGirth, body.HipGirth)
			}
		}},
	{title: "digits swapped, over 9 cm off", goal: "95 % flagged, 90 % named", flagged: 0.95, named: 0.90, explains: plausible.DigitsSwapped,
		make: func(m body.Measures, yield func(body.Measures, ...body.Name)) {
			for _, n := range sorted(m) {
				for _, v := range swapped(m[n]) {
					if math.Abs(v-m[n]) > 90 {
						yield(with(m, n, v), n)
					}
				}
			}
		}},
	{title: "10 cm off in a girth", goal: "80 % flagged", flagged: 0.80, explains: plausible.TenOff, make: shifted(girth, 100)},
	{title: "5 cm off in a length under 60 cm", goal: "60 % flagged", flagged: 0.60, explains: plausible.Slip, make: shifted(shortLength, 50)},
	{title: "leading digit wrong by one", explains: plausible.LeadingDigit,
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
	{title: "girth doubled", explains: plausible.Doubled, make: each(girth, func(v float64) float64 { return 2 * v })},
	{title: "girth halved", explains: plausible.Halved, make: each(girth, func(v float64) float64 { return v / 2 })},
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
