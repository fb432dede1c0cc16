package block

import (
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// skirt holds the measures of a straight skirt and the draft as it proceeds.
// Back and front are each drawn with the centre line on x = 0, the side at +x,
// and the front's waist at the side on y = 0. Widths are half of the body's
// girth, as they lie on one back and one front, or of one piece.
type skirt struct {
	garment bool // is built on the draft
	body    body.Body
	ease    map[string]float64

	top        loweredWaist
	waist, hip float64    // half girths with ease
	hipWidth   [2]float64 // of one piece: back, front
	belly      float64    // moved from the back to the front at the waist
	bellyRise  float64    // by how much the centre front lies higher for it
	darts      [2][]takeUp
	length     float64 // of the side seam

	maternity           *maternity // of a skirt for a belly in pregnancy; nil otherwise
	backFold, frontFold bool
	warnings            []string

	spring  [2]float64 // of the side seams from waist to hip
	hipLine float64
	sides   [2]geom.Segment // waist to hip
	waists  [2]drawnWaist
	centres [2]float64 // level of the waist at the centre
}

// draftSkirt drafts back and front, and reads every measure back from them.
func draftSkirt(r Request) (pattern.Pattern, error) {
	s, err := newSkirt(r)
	if err != nil {
		return pattern.Pattern{}, err
	}
	if err := s.fitWaist(); err != nil {
		return pattern.Pattern{}, err
	}
	return s.pattern()
}

func (s *skirt) warn(format string, args ...any) {
	s.warnings = append(s.warnings, fmt.Sprintf(format, args...))
}

// backMore is the width of one back at the hip less that of one front, mm (W.
// Aldrich, Metric Pattern Cutting for Women's Wear, straight skirt; from
// memory).
const backMore = 15.0

func newSkirt(r Request) (*skirt, error) {
	b := r.Body
	ease, err := easeOf(r, skirtFits())
	if err != nil {
		return nil, err
	}
	s := &skirt{body: b, ease: ease, garment: r.Garment}
	if s.top, err = lower(b, r.Choices[choiceWaist]); err != nil {
		return nil, err
	}
	s.waist = (s.top.girth + ease[string(body.WaistGirth)]) / 2
	s.hip = (b.Value(body.HipGirth) + ease[string(body.HipGirth)]) / 2
	s.carryBelly()
	s.hipWidth = [2]float64{s.hip/2 + backMore/2 - s.belly/2, s.hip/2 - backMore/2 + s.belly/2}
	if r.word(choiceMaternity, none) == none {
		err = s.layDarts()
	} else {
		err = s.carryChild(r)
	}
	if err != nil {
		return nil, err
	}
	s.backFold = r.word(choiceCentreBack, seam) == fold
	s.frontFold = r.word(choiceCentreFront, fold) == fold
	return s, s.setLength(r.Choices[choiceLength])
}

// carryBelly gives the front more of the waist, and a longer centre, as the
// waist nears the hip: a belly lies in front (common practice; the rates are
// ours, tuned by eye on the survey's bodies).
func (s *skirt) carryBelly() {
	belly := bellyOf(s.body)
	s.belly = clamp(0.10*belly, 0, 30)
	s.bellyRise = clamp(0.12*belly, 0, 30)
}

// bellyOf returns the waist girth less that of a figure without a belly, mm, at
// least 0.
func bellyOf(b body.Body) float64 {
	return math.Max(0, b.Value(body.WaistGirth)-0.82*b.Value(body.HipGirth))
}

// Where a skirt's darts lie and how long they are at a hip depth of 206 mm
// (handbook: back darts of 140 and 125 mm at the thirds of the waist, a front
// dart of 100 mm).
var (
	skirtBackDarts  = dartPlace{alone: 20, single: 0.46, inner: 0.35, outer: 0.68, length: 140, outerLen: 125}
	skirtFrontDarts = dartPlace{alone: 36, single: 0.60, inner: 0.45, outer: 0.75, length: 100, outerLen: 90}
)

const handbookHipDepth = 206

func (s *skirt) layDarts() error {
	back, front := shareDarts(hipDarts(s.hip - s.waist))
	for i, p := range [2]dartPlace{skirtBackDarts, skirtFrontDarts} {
		takes, err := p.scale((s.top.hip + 30) / (handbookHipDepth + 30)).darts([2]float64{back, front}[i])
		if err != nil {
			return refuse(err.Error(), body.WaistGirth, body.HipGirth)
		}
		s.darts[i] = takes
	}
	return nil
}

// skirtLength returns the chosen length down the side from the natural waist,
// mm.
func skirtLength(b body.Body, v Value) float64 {
	knee, floor := b.Value(body.WaistToKnee), b.Value(body.WaistToFloor)
	switch {
	case v.Word == "mini":
		return b.Value(body.WaistToThigh)
	case v.Word == "midi":
		return knee + midCalf*(floor-knee)
	case v.Word == "ankle":
		return (1 - ankleHeight) * floor
	case v.Word == "" && v.Number > 0:
		return v.Number
	}
	return knee
}

func (s *skirt) setLength(v Value) error {
	length := skirtLength(s.body, v)
	s.length = length - s.top.by
	if s.length-s.top.hip < minBelowHip {
		return refuseChoice(choiceLength, fmt.Sprintf("%.0f mm", length),
			fmt.Sprintf("a skirt ends at least %d mm below the hip line, which lies %.0f mm below the waist on this body",
				minBelowHip, s.top.by+s.top.hip))
	}
	if wth := s.body.Value(body.WaistToHip); wth < minHipDepth {
		s.warn("The hip line is drawn %d mm below the waist; it was measured %.0f mm below.", minHipDepth, wth)
	}
	if length > s.body.Value(body.WaistToKnee)+20 && !s.garment {
		s.warn("The block is %.0f mm round the hem: below the knee it needs flare, a slit or a vent to walk in.", 2*s.hip)
	}
	return nil
}

const minBelowHip = 40

// Levels of the leg (common practice): mid-calf as a share of the way from
// knee to floor, the ankle's height as a share of the waist's.
const (
	midCalf     = 0.40
	ankleHeight = 0.065
)

// backDrop is how much lower the waist lies at the centre back than the side's
// height requires, in the hollow of the back, mm (common practice 5 to 15).
const backDrop = 8

// fitWaist solves for the spring of the side seams that gives the waist its
// girth.
func (s *skirt) fitWaist() error {
	if s.maternity != nil {
		s.fitBelly()
		return nil
	}
	var broken error
	missing := func(spring float64) float64 {
		if err := s.shape(spring); err != nil {
			broken = err
			return 0
		}
		return s.waists[back].length() + s.waists[front].length() - s.waist
	}
	about := (s.hip - s.waist - widthOf(s.darts[back]) - widthOf(s.darts[front])) / 2
	most := 0.6 * s.top.hip
	if math.Abs(about)+s.belly/2 > most {
		return refuse(fmt.Sprintf("the side seams would spring by %.0f mm in the %.0f mm from waist to hip; at most %.0f "+
			"mm can be drafted",
			about, s.top.hip, most), body.WaistGirth, body.HipGirth, body.WaistToHip)
	}
	spring, ok := root(about-30, about+30, 1e-9, missing)
	if broken != nil {
		return refuse("no room for the darts: "+broken.Error(), body.WaistGirth, body.HipGirth)
	}
	if !ok {
		return refuse("no spring of the side seams gives the waist its girth", body.WaistGirth, body.HipGirth,
			body.WaistToHip)
	}
	return s.shape(spring)
}

// shape draws side seams and waists for one spring of the side seams.
func (s *skirt) shape(spring float64) error {
	s.spring = [2]float64{spring + s.belly/2, spring - s.belly/2}
	s.sides[front], s.hipLine = sideToHip(s.hipWidth[front], s.spring[front], s.top.hip)
	s.sides[back] = sideFromHip(s.hipWidth[back], s.spring[back], s.hipLine, s.top.hip)
	var rises [2]float64
	for i := range 2 {
		rises[i] = openRise(s.waist/2, 0, fromDown(s.sides[i].Tangent(0)), s.darts[i])
	}
	rise := sideRise((rises[front] + rises[back] - backDrop) / 2)
	s.centres = [2]float64{s.sides[back].P0.Y + rise + backDrop, rise - s.bellyRise}
	for i := range 2 {
		drawn, err := waistline{
			centre: geom.Pt(0, s.centres[i]), along: geom.Pt(1, 0),
			side: s.sides[i].P0, into: s.sides[i].Tangent(0).Left(), takes: s.darts[i],
		}.draw()
		if err != nil {
			return err
		}
		s.waists[i] = drawn
	}
	return nil
}

// sideToHip returns a side seam of a given length from the waist at level 0 to
// the hip at x = hip, springing out by spring, and the level of the hip.
func sideToHip(hip, spring, length float64) (geom.Segment, float64) {
	level := length
	var s geom.Segment
	for range 10 {
		s = hipCurve(geom.Pt(hip-spring, 0), geom.Pt(hip, level))
		level += length - s.Length()
	}
	return s, s.P3.Y
}

// sideFromHip returns the same side seam for a given level of the hip; it
// solves for that of the waist.
func sideFromHip(hip, spring, level, length float64) geom.Segment {
	var s geom.Segment
	for y, i := level-length, 0; i < 10; i++ {
		s = hipCurve(geom.Pt(hip-spring, y), geom.Pt(hip, level))
		y += s.Length() - length
	}
	return s
}

// hipCurve returns a side seam from waist to hip, where it runs straight down.
// It is a little rounder than the body's hip.
func hipCurve(waist, hip geom.Point) geom.Segment {
	l := waist.Dist(hip)
	lean := 1.35 * math.Atan2(hip.X-waist.X, hip.Y-waist.Y)
	return geom.Cubic(waist, waist.Add(down(lean).Mul(l/3)), hip.Sub(down(0).Mul(0.38*l)), hip)
}
