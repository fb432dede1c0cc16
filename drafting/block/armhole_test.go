package block

import (
	"math"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// An armhole without a sleeve lies closer to the body than one for a sleeve: 10
// to 20 mm higher, 5 to 10 mm narrower on each side, its shoulder 5 to 15 mm
// shorter, its front shorter than the raised underarm alone would make it, and
// with room for the arm (common practice). Well above the bust its side is taken in
// by 6 mm or more on each piece (from memory: 6 to 15).
func TestSleevelessArmhole(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for i := 0; i < len(people); i += 25 {
		b, faults := body.New(people[i], torsoNeeds)
		if faults != nil {
			t.Fatal(faults)
		}
		for _, fit := range []string{"close", "regular", "loose"} {
			_, u, m := draftedTo(t, Request{Body: b, Fit: fit, Choices: words("sleeve", "none")})
			_, su, sm := draftedTo(t, Request{Body: b, Fit: fit, Choices: words("sleeve", "none", "armhole", "for_sleeve")})
			within := func(what string, got, lo, hi float64) {
				t.Helper()
				if !(got >= lo-1e-6 && got <= hi+1e-6) {
					t.Errorf("body %d, %s: %s by %.2f mm; want %g to %g", i, fit, what, got, lo, hi)
				}
			}
			if raised := sm.depth - m.depth; sm.depth > sm.tipOf(&su)+tipToScye+0.01 {
				within("underarm higher", raised, 0, 20)
				if m.depth > m.tipOf(&u)+tipToScye+0.01 {
					within("underarm higher", raised, 10, 20)
				}
			}
			for side := range 2 {
				within("narrower across", sm.armholes[side].upper.P3.X-m.armholes[side].upper.P3.X, 5, 10)
			}
			if m.bustLine-m.depth > sleevelessAbove {
				for side, piece := range []string{"back", "front"} {
					seam := m.seams[side]
					plain := sideSeam{in: seam.in, top: seam.top, waist: seam.waist}
					within(piece+" taken in", plain.upper().Start().X-seam.upper().Start().X, 6, 80)
				}
			}
			within("shorter shoulder", su.frontShoulder.Length()-u.frontShoulder.Length(), 5, 15)
			if round := m.armholes[back].length() + m.armholes[front].length(); round < b.Value(body.UpperArmGirth)+40 {
				t.Errorf("body %d, %s: the armhole is %.0f mm round, the arm %.0f", i, fit, round, b.Value(body.UpperArmGirth))
			}
			if u.lift > 12 && !(m.dart.angle > sm.dart.angle+0.02) {
				t.Errorf("body %d, %s: the bust dart takes nothing of the gaping armhole: %.2f degrees, with a sleeve %.2f", i,
					fit, m.dart.angle/degree, sm.dart.angle/degree)
			}
		}
	}
}

// tipOf returns the level of the lower shoulder point.
func (m *married) tipOf(u *upper) float64 { return math.Max(u.backTip.Y, u.frontShoulder.P3.Y) }
