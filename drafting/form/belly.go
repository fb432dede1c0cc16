package form

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// A belly in pregnancy stands out in front: from bellyTop of the way from the bust down to
// the waist, most at the level of its girth, to the hip, and round to bellySide from the
// middle of the front. Above its fullest place it slopes like a wave, below it is round
// (all from memory: of a girth that grows by 270 mm at the end the depth grows by some 120).
const (
	bellyTop  = 0.55
	bellySide = 2 * math.Pi / 3 // radians
)

// The bulge of a belly is at most so deep, mm, and at least so: a front that is flatter than
// the sections' own.
const (
	deepestBelly = 400.0
	flattestOf   = -40.0
)

// belly adds the bulge with which a tape reads the body's belly girth. All other girths and
// lengths stay those of the body without it.
func (k *maker) belly(b body.Body) {
	if !b.Given(body.BellyGirth) || !b.Has(body.WaistToBelly) {
		return
	}
	waist := k.height[atWaist]
	top, fullest := k.height[atBust]+bellyTop*(waist-k.height[atBust]), waist-b.Value(body.WaistToBelly)
	k.addRow(top)
	k.addRow(fullest)
	row := k.rowAt(fullest)
	short := func(deep float64) float64 {
		return b.Value(body.BellyGirth) - Girth(loopOf(bulged(row.Radius, deep), row.Middle))
	}
	low, high := flattestOf, deepestBelly
	for range 40 {
		if mid := (low + high) / 2; short(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	for i, r := range k.made {
		deep := low
		switch {
		case r.y >= top || r.y <= k.height[atHip]:
			continue
		case r.y > fullest:
			deep *= (1 + math.Cos(math.Pi*(r.y-fullest)/(top-fullest))) / 2
		default:
			deep *= math.Cos(math.Pi / 2 * (fullest - r.y) / (fullest - k.height[atHip]))
		}
		k.made[i].Radius = bulged(r.Radius, deep)
	}
}

// bulged returns the radii with the front standing out, most in the middle.
func bulged(radius []float64, deep float64) []float64 {
	out := slices.Clone(radius)
	for i := range out {
		if a := angle(i); a < bellySide {
			out[i] += deep * (1 + math.Cos(math.Pi*a/bellySide)) / 2
		}
	}
	return out
}

// addRow adds a row at a height, between two that are there.
func (k *maker) addRow(y float64) {
	at := slices.IndexFunc(k.made, func(r madeRow) bool { return r.y > y-0.5 })
	if at > 0 && k.made[at].y > y+0.5 {
		k.made = slices.Insert(k.made, at, madeRow{k.rowAt(y), y})
	}
}
