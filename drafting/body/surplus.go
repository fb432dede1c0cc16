package body

import "math"

// NeckRise returns by how much a back is longer from the side neck point to the waist
// than from the nape, in mm: a third of the width of the back neck, 23 at a neck's base of
// 370 (common practice: 23 to 25), and on fuller bodies the flesh over the shoulder
// (measured on forms of the surfaces: 0.03 for each mm of bust girth, of which the draft
// takes 0.02).
func (b Body) NeckRise() float64 {
	return 0.055*b.Value(NeckBaseGirth) + 3 + clamp(0.02*(b.Value(BustGirth)-800), 0, 6)
}

// BustSurplus returns by how much the front of a body is longer than its back
// from the neck to the waist, over the bust, in mm: the length that a bust dart
// takes up. It is measured where front_waist_length is given. Otherwise it
// follows from the estimate of that length, which is a woman's: in full where
// under_bust_girth says how full the bust is, and without it as far as the
// other measurements are more likely a woman's than a man's. The result is 0
// if a length that it needs is unknown.
func (b Body) BustSurplus() Measure {
	front := b.Get(FrontWaistLength)
	if !b.Has(FrontWaistLength) || !b.Has(NapeToWaist) || !b.Has(NeckBaseGirth) {
		return Measure{}
	}
	front.Value -= b.Value(NapeToWaist) + b.NeckRise()
	if front.Estimated && !b.Given(UnderBustGirth) {
		front.Value *= b.woman
	}
	return front
}

// BustByGirths returns the length that the girths alone let expect of
// BustSurplus, with its standard deviation, in mm: how far a bust stands out
// is seen round it as well as over it. Its witnesses are the bust girth over
// the girth below and the girth above it, 7 mm of length for 25 mm of fullness;
// without them the bust girth itself; and a chest width that was measured,
// which tells the girth of the frame. Each counts by its precision. (Common
// practice; the spread by the bust alone is that of lengths computed from the
// survey's heights, the others are our judgement.)
func (b Body) BustByGirths() Measure {
	bust := b.Value(BustGirth)
	var sum, weight float64
	add := func(surplus, spread float64) {
		sum += surplus / (spread * spread)
		weight += 1 / (spread * spread)
	}
	byFullness := func(overStandard float64) float64 { return 24 + 0.28*overStandard }
	if b.Given(UnderBustGirth) {
		add(byFullness(bust-b.Value(UnderBustGirth)-standardFullness), 10)
	}
	if b.Given(OverBustGirth) {
		add(byFullness(bust-b.Value(OverBustGirth)-standardOverBust), 10)
	}
	if weight == 0 {
		add(24+0.1*(bust-880), 12.6)
	}
	if b.Given(ChestWidth) && b.Has(BackWidth) {
		frame := (2*b.Value(ChestWidth) - 0.94*b.Value(BackWidth)) / 0.365
		add(byFullness(bust-frame), 25)
	}
	return Measure{Value: clamp(sum/weight, 10, 100), Spread: max(9, 1/math.Sqrt(weight)), Estimated: true,
		Source: "bust, over bust and under bust girth, and chest width (practice)"}
}

// FrameGirth returns the bust girth that the frame would have with a standard
// cup, in mm: by the under bust and the over bust, whichever are known.
func (b Body) FrameGirth() float64 {
	under, over := b.Value(UnderBustGirth)+standardFullness, b.Value(OverBustGirth)+standardOverBust
	switch {
	case b.Has(UnderBustGirth) && b.Has(OverBustGirth):
		return (under + over) / 2
	case b.Has(UnderBustGirth):
		return under
	case b.Has(OverBustGirth):
		return over
	}
	return b.Value(BustGirth)
}
