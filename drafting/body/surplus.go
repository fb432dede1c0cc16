package body

// frontRise is the height of the side neck points over the nape by a neck's
// base, in mm, as far as it lengthens the front.
func (b Body) frontRise() float64 { return 0.055*b.Value(NeckBaseGirth) + 3 }

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
	front.Value -= b.Value(NapeToWaist) + b.frontRise()
	if front.Estimated && !b.Given(UnderBustGirth) {
		front.Value *= b.woman
	}
	return front
}
