package block

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/pattern"
	"tapeline/drafting/wear"
)

// leggings holds the measures of a leg of one piece, as they lie on the cloth at
// rest, mm. The grain lies on x = 0, half-way between both ends of the crotch
// seam, with the back at -x and the front at +x. Below the crotch the piece is
// its own mirror image in it. The waist at the side lies on y = 0.
type leggings struct {
	body    body.Body
	ease    map[string]float64
	altered map[string]float64

	cloth

	top        loweredWaist // on the body
	waist, hip float64      // half girths
	hipAt      float64      // level of the hip line
	depth      float64      // of the crotch line
	crotch     float64      // the whole seam from waist to waist
	raise      float64      // of the centre back over the side, for an ordinary seat
	fall       float64      // of the centre front below the side

	leg        []wear.Station // girths of the leg by level: atThigh and so on
	hemAt      float64
	floorBelow float64 // the floor below the crotch, as worn
	gusset     bool

	warnings []string
}

func (s *leggings) warn(format string, args ...any) {
	s.warnings = append(s.warnings, fmt.Sprintf(format, args...))
}

// draftLeggings drafts the leg and reads every measure back from it, for each
// side if their alterations differ.
func draftLeggings(ctx context.Context, r Request) (pattern.Pattern, error) {
	return draftBothLegs(ctx, r, draftLeggingsLeg)
}

// draftLeggingsLeg drafts one leg, or both if they are alike.
func draftLeggingsLeg(ctx context.Context, r Request) (pattern.Pattern, error) {
	if err := cost.Step(ctx); err != nil {
		return pattern.Pattern{}, err
	}
	s, err := newLeggings(r)
	if err != nil {
		return pattern.Pattern{}, err
	}
	d, err := s.fitCrotch()
	if err != nil {
		return pattern.Pattern{}, err
	}
	return s.pattern(d)
}

// without returns the request without its own values of some choices.
func (r Request) without(names ...string) Request {
	r.Choices = maps.Clone(r.Choices)
	for _, n := range names {
		delete(r.Choices, n)
	}
	return r
}

// number returns a chosen number, or otherwise if the order has none.
func (r Request) number(choice string, otherwise float64) float64 {
	if v, ok := r.Choices[choice]; ok {
		return v.Number
	}
	return otherwise
}

func newLeggings(r Request) (*leggings, error) {
	b := r.Body
	ease, err := easeOf(r, leggingsFits())
	if err != nil {
		return nil, err
	}
	s := &leggings{body: b, ease: ease, cloth: knitOf(r), altered: r.Alterations,
		gusset: r.word(choiceGusset, "no") == "yes"}
	if s.top, err = lower(b, r.Choices[choiceWaist]); err != nil {
		return nil, err
	}
	if err := s.setDepth(); err != nil {
		return nil, err
	}
	s.setCrotch()
	if err := s.setGirths(); err != nil {
		return nil, err
	}
	return s, s.setLeg(r.Choices[choiceLength])
}

// setDepth sets the levels of hip and crotch.
func (s *leggings) setDepth() error {
	s.depth = s.along * (s.body.Value(body.BodyRise) + s.ease[string(body.BodyRise)] + s.altered[alterRise] - s.top.by)
	if s.depth < minCrotchDepth {
		return refuse(fmt.Sprintf("the waist would lie %.0f mm above the crotch; at least %d mm are required", s.depth,
			minCrotchDepth), body.BodyRise)
	}
	s.hipAt = math.Min(s.along*s.top.hip, s.depth-hipOverCrotch)
	if off := s.hipAt/s.along - (s.body.Value(body.WaistToHip) - s.top.by); math.Abs(off) > hipOff {
		s.warn("The hip line is drawn %.0f mm below the natural waist as worn; it was measured %.0f mm below.",
			s.hipAt/s.along+s.top.by, s.body.Value(body.WaistToHip))
	}
	return nil
}

// hipOverCrotch is the least distance of the hip line from the crotch line, mm:
// nearer, the curve of the crotch would narrow the piece above it. hipOff is by
// how much a knit's hip line may be drawn off the measured one without a word.
const (
	hipOverCrotch = 65
	hipOff        = 20
)

// underBody is the length of the crotch seam that runs under the body from front
// to back, as a share of the hip girth: that part lies across the cloth (by the
// estimate of the crotch length).
const underBody = 0.21

// The centre back rises over the side and the centre front falls below it, mm
// (common practice for leggings, from memory: 20 to 40, and 10 to 20).
const (
	leggingsRaise = 34.0
	leggingsFall  = 12.0
	seatToRaise   = 0.4 // of what the seat lengthens
)

func (s *leggings) setCrotch() {
	under := underBody * s.body.Value(body.HipGirth)
	whole := s.body.Value(body.TotalCrotchLength) + s.ease[string(body.TotalCrotchLength)] +
		s.alterationOf(body.TotalCrotchLength) - 2*s.top.by
	s.crotch = s.along*(whole-under) + s.around*under
	s.raise = s.along * (leggingsRaise - s.altered[alterSwayBack] + seatToRaise*s.altered[alterSeat])
	s.fall = s.along * (leggingsFall - clamp(0.12*bellyOf(s.body), 0, 30))
}

// alterationOf returns what the alterations add to a measure, mm.
func (s *leggings) alterationOf(n body.Name) float64 {
	switch n {
	case body.TotalCrotchLength:
		return s.altered[alterSeat] - s.altered[alterSwayBack] + 2*s.altered[alterRise]
	case body.BodyRise:
		return s.altered[alterRise]
	case body.InsideLeg:
		return s.altered[alterLegLength] - s.altered[alterRise]
	case body.OutsideLeg, body.WaistToFloor:
		return s.altered[alterLegLength]
	}
	return 0
}

// Angles by which the centre seams lean inward from the hip up. There is no side
// seam: what a narrow waist still has over is drawn in by its elastic. For a wide
// waist both seams lean less, and then outward, the front most.
const (
	frontLean    = 4 * degree
	backLean     = 12.5 * degree
	backWithLean = 0.8 // of what the front leans less
	maxFrontLean = 32 * degree
)

// setGirths sets the half girths of the hip, and of the waist at least: as wide as
// the body's with the tension of the cloth, and as the hips need to pass it.
func (s *leggings) setGirths() error {
	rest := func(girth float64, n body.Name) float64 { return s.around * (girth + s.ease[string(n)]) / 2 }
	s.hip = rest(s.body.Value(body.HipGirth), body.HipGirth)
	pass, err := wear.Hips.Girth(s.body.Find, s.stretch)
	if err != nil {
		return err
	}
	s.waist = max(rest(s.top.girth, body.WaistGirth), pass/2)
	return nil
}

// The stations of a leg.
const (
	atThigh = iota
	atAboveKnee
	atKnee
	atCalf
	atShin // so that the leg does not taper to the ankle faster than the body
	atAboveAnkle
	atAnkle
)

// shinsAt are the ways from calf to ankle to atShin and atAboveAnkle.
var shinsAt = [...]float64{0.65, 0.85}

// Levels of the leg as shares of the way from crotch to knee, or to just above the
// knee (common practice, from memory), and by how many mm the foot may widen the
// ankle without a word.
const (
	thighBelow = 0.25 // at least, where the piece is as wide as the thigh
	shortBelow = 0.45 // where a short leg ends
	footWord   = 30.0
)

// setLeg sets the length of the leg and its widths. The crotch line of the leg
// hangs as far below the body's as the rise taken on a chair is longer.
func (s *leggings) setLeg(length Value) error {
	stations, err := wear.Leg(s.body.Find)
	if err != nil {
		return err
	}
	foot, err := wear.Foot.Girth(s.body.Find, s.stretch)
	if err != nil {
		return err
	}
	hangs := seated(s.ease) + s.altered[alterRise]
	level := func(at float64) float64 { return s.depth + s.along*(at-hangs) }
	for i, name := range [...]string{easeThigh, easeKnee, easeKnee, easeCalf, easeAnkle} {
		s.leg = append(s.leg, wear.Station{At: level(stations[i].At), Girth: s.around * (stations[i].Girth + s.ease[name])})
	}
	calf, ankle := s.leg[atCalf], &s.leg[len(s.leg)-1]
	footWider := foot - ankle.Girth
	ankle.Girth = math.Max(ankle.Girth, foot)
	var shins []wear.Station
	for _, way := range shinsAt {
		shins = append(shins, wear.Station{At: calf.At + way*(ankle.At-calf.At),
			Girth: calf.Girth + way*(ankle.Girth-calf.Girth)})
	}
	s.leg = slices.Insert(s.leg, atShin, shins...)
	s.floorBelow = s.body.Value(body.InsideLeg) - hangs
	switch {
	case length.Word == "" && length.Number > 0:
		if length.Number > s.floorBelow {
			return refuseChoice(choiceLength, fmt.Sprintf("%.0f mm", length.Number), fmt.Sprintf(
				"at most %.0f mm from crotch to hem on this body: there is the floor", s.floorBelow))
		}
		s.hemAt = s.depth + s.along*length.Number
	case length.Word == lengthCalf:
		s.hemAt = s.leg[atCalf].At
	case length.Word == lengthKnee:
		s.hemAt = s.leg[atKnee].At
	case length.Word == lengthShort:
		s.hemAt = s.depth + shortBelow*(s.leg[atKnee].At-s.depth)
	default:
		s.hemAt = s.leg[atAnkle].At
	}
	s.hemAt += s.along * s.altered[alterLegLength]
	if at := s.leg[atAnkle].At; math.Abs(s.hemAt-at) < 1 {
		s.hemAt = at // no stump
	}
	if footWider > footWord && s.hemAt >= s.leg[atAnkle].At {
		s.warn("The ends of the legs are drawn %.0f mm wider than the tension asks for, so that the foot passes: a knit "+
			"with more stretch may be narrower.", footWider)
	}
	return nil
}
