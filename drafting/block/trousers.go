package block

import (
	"context"
	"fmt"
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/cutting"
	"tapeline/drafting/pattern"
)

// trousers holds the measures of a pair of trousers. Back and front share a
// frame: the crease, which is the grain, lies on x = 0 with the side at +x and
// the inside of the leg at -x; the front's waist at the side lies on y = 0.
// Widths are of one piece, girths of one leg or of half a body.
//
// "Handbook" is a British handbook's classic trouser block (W. Aldrich, Metric
// Pattern Cutting for Women's Wear, size 12: waist 680, hip 940, body rise 280;
// from memory).
type trousers struct {
	body    body.Body
	ease    map[string]float64
	altered map[string]float64

	top        loweredWaist
	waist, hip float64    // half girths with ease
	hipWidth   [2]float64 // of one piece: back, front
	belly      float64    // moved from the back to the front at the waist
	bellyRise  float64
	pleats     float64 // what the front's pleats take in

	depth  float64 // from the waist at the side down to the crotch line
	inside float64 // from the crotch line to the hem
	crotch float64 // the whole seam from waist to waist

	knee, hemAt, shapedTo float64 // levels of knee, hem, and of where the hem's width is
	kneeGirth, hemGirth   float64 // of the leg there
	thigh                 float64 // girth that the leg needs at the crotch line

	warnings []string
}

func (s *trousers) warn(format string, args ...any) {
	s.warnings = append(s.warnings, fmt.Sprintf(format, args...))
}

// draftTrousers drafts back and front and reads every measure back from them,
// for each side if their alterations differ.
func draftTrousers(ctx context.Context, r Request) (pattern.Pattern, error) {
	return draftBothLegs(ctx, r, draftLeg)
}

// draftBothLegs drafts one leg for both sides, or one for each if their
// alterations differ.
func draftBothLegs(ctx context.Context, r Request, draft legDraft) (pattern.Pattern, error) {
	if !r.hasSides() {
		return draft(ctx, r)
	}
	right, left, err := draftLegs(ctx, r, draft)
	if err != nil {
		return pattern.Pattern{}, err
	}
	return cutting.JoinSides(right, left)
}

// A legDraft drafts one leg, or both if they are alike.
type legDraft func(context.Context, Request) (pattern.Pattern, error)

// draftLegs drafts the right leg and the left leg, each to its own alterations.
func draftLegs(ctx context.Context, r Request, draft legDraft) (right, left pattern.Pattern, err error) {
	if right, err = draft(ctx, r.side(r.Right)); err != nil {
		return right, left, fmt.Errorf("right side: %w", err)
	}
	if left, err = draft(ctx, r.side(r.Left)); err != nil {
		return right, left, fmt.Errorf("left side: %w", err)
	}
	return right, left, sameCrotch(r, right, left)
}

// sameCrotch refuses legs whose crotch seams are not equally long in front and at the back: a leg that
// a narrow hem leaves no room in is widened up to the crotch, and one that is longer or shorter
// differs from the other there.
func sameCrotch(r Request, right, left pattern.Pattern) error {
	for _, a := range right.Pieces {
		b, ok := left.Piece(a.Name)
		if !ok || a.EdgeIndex(edgeCrotch) < 0 || math.Abs(a.RunLength(edgeCrotch)-b.RunLength(edgeCrotch)) < pattern.SeamTol {
			continue
		}
		hem := r.Choices[choiceHem]
		if hem.Word == "" {
			hem.Word = fmt.Sprintf("%.0f mm", hem.Number)
		}
		return refuseChoice(choiceHem, hem.Word, fmt.Sprintf("a wider hem, or legs equally long: to leave "+
			"the legs room, the one with another length is widened up to its crotch, and the crotch seams of the %s would be "+
			"%.1f mm on the right and %.1f on the left", a.Name, a.RunLength(edgeCrotch), b.RunLength(edgeCrotch)))
	}
	return nil
}

// draftLeg drafts back and front of one leg, or of both if they are alike.
func draftLeg(ctx context.Context, r Request) (pattern.Pattern, error) {
	if err := cost.Step(ctx); err != nil {
		return pattern.Pattern{}, err
	}
	s, err := newTrousers(r)
	if err != nil {
		return pattern.Pattern{}, err
	}
	d, err := s.fitLeg()
	if err != nil {
		return pattern.Pattern{}, err
	}
	return s.pattern(d)
}

// Shares of the hip by which the crotch reaches in below the body, and by how
// much the back is wider at the hip than the front (handbook: 1/16 hip + 5 in
// front; at the back half of that + 5 more, from a centre back a quarter of
// hip/12 + 15 farther in; a back hip of hip/4 + 15 to a front of hip/4 + 5).
const (
	trouserBackMore = 10.0
	frontReach      = 1.0 / 16
	backReach       = 1.0/16 + 1.0/32 + 1.0/48
	backReachPlus   = 11.25
)

func newTrousers(r Request) (*trousers, error) {
	b := r.Body
	ease, err := easeOf(r, trousersFits())
	if err != nil {
		return nil, err
	}
	s := &trousers{body: b, ease: ease, altered: r.Alterations}
	if s.top, err = lower(b, r.Choices[choiceWaist]); err != nil {
		return nil, err
	}
	if err := s.setDepth(); err != nil {
		return nil, err
	}
	s.waist = (s.top.girth + ease[string(body.WaistGirth)]) / 2
	s.hip = (b.Value(body.HipGirth) + ease[string(body.HipGirth)]) / 2
	belly := bellyOf(b)
	s.belly, s.bellyRise = clamp(0.10*belly, 0, 30), clamp(0.12*belly, 0, 30)
	seat := seatToHipWidth * s.altered[alterSeat]
	more := trouserBackMore/2 - s.belly/2 + seat
	s.hipWidth = [2]float64{s.hip/2 + more, s.hip/2 - more}
	s.crotch = b.Value(body.TotalCrotchLength) + ease[string(body.TotalCrotchLength)] +
		s.alterationOf(body.TotalCrotchLength) - 2*s.top.by
	if r.word(choiceFront, frontDarts) == frontPleats {
		s.addPleats()
	}
	return s, s.setLeg(r)
}

// alterationOf returns what the alterations add to a measure, mm.
func (s *trousers) alterationOf(n body.Name) float64 {
	switch n {
	case body.TotalCrotchLength:
		return s.altered[alterSeat] - s.altered[alterSwayBack] + 2*s.altered[alterRise] + thighToCrotch*s.altered[alterThigh]
	case body.BodyRise:
		return s.altered[alterRise]
	case body.InsideLeg:
		return s.altered[alterLegLength] - s.altered[alterRise]
	case body.OutsideLeg, body.WaistToFloor:
		return s.altered[alterLegLength]
	}
	return 0
}

// thighToCrotch is how much the crotch seam gains for each mm that the legs are
// widened inside.
const thighToCrotch = 0.85

// minHipToCrotch is the least distance of the hip line from the crotch line,
// mm: the crotch's curve needs it.
const minHipToCrotch = 45

// minCrotchDepth is the least depth of the crotch below the waist, mm.
const minCrotchDepth = 110

func (s *trousers) setDepth() error {
	s.depth = s.body.Value(body.BodyRise) + s.ease[string(body.BodyRise)] + s.altered[alterRise] - s.top.by
	if s.depth < minCrotchDepth {
		return refuse(fmt.Sprintf("the waist would lie %.0f mm above the crotch; at least %d mm are required", s.depth,
			minCrotchDepth), body.BodyRise)
	}
	measured := s.body.Value(body.WaistToHip) - s.top.by
	if most := s.depth - minHipToCrotch; s.top.hip > most {
		s.top.hip = most
	}
	if off := s.top.hip - measured; math.Abs(off) > 10 {
		s.warn("The hip line is drawn %.0f mm below the natural waist; it was measured %.0f mm below.", s.top.hip+s.top.by,
			measured+s.top.by)
	}
	return nil
}

// Levels above the floor, mm, and shares (common practice).
const (
	hemOverFloor  = 20.0 // of full trousers, without shoes
	maxBelowFloor = 60.0 // by which a leg may reach below the floor, for heels
	calfBelow     = 0.30 // of the way from knee to floor, where the calf is fullest
	minInside     = 50.0
	mostPart      = 0.6 // of the way from knee to hem: below it the hem itself has the calf's room
)

// setLeg sets the length and the widths of the leg.
func (s *trousers) setLeg(r Request) error {
	b := s.body
	floor := s.top.by + s.depth + trouserFloor(b, s.ease, s.altered)
	full := floor - s.top.by - hemOverFloor
	knee := b.Value(body.WaistToKnee) - s.top.by
	s.knee = clamp(knee, s.depth+0.38*(full-s.depth), s.depth+0.60*(full-s.depth))
	switch v := r.Choices[choiceLength]; {
	case v.Word == "ankle":
		s.hemAt = floor - s.top.by - ankleHeight*floor
	case v.Word == "knee":
		s.hemAt = s.knee
	case v.Word == "" && v.Number > 0:
		s.hemAt = s.depth + v.Number
		if most := full + hemOverFloor + maxBelowFloor; s.hemAt > most {
			return refuseChoice(choiceLength, fmt.Sprintf("%.0f mm", v.Number),
				fmt.Sprintf("at most %.0f mm from crotch to hem on this body: its floor is %.0f mm below the crotch of the "+
					"trousers", most-s.depth, most-maxBelowFloor-s.depth))
		}
	default:
		s.hemAt = full
	}
	s.hemAt += s.altered[alterLegLength]
	if math.Abs(s.hemAt-s.knee) < 1 {
		s.knee = s.hemAt // no stump of a shin
	}
	s.inside = s.hemAt - s.depth
	if s.inside < minInside {
		return refuse(fmt.Sprintf("the leg would be %.0f mm long inside; at least %.0f mm are required", s.inside, minInside),
			body.InsideLeg)
	}
	if outside := b.Value(body.WaistToFloor); math.Abs(outside-floor) > 15 {
		s.warn("Rise and inside leg make %.0f mm from the waist to the floor; the outside leg was measured as %.0f mm. "+
			"The legs are drawn to the inside leg.", floor, outside)
	}
	s.shapeLeg(r.Choices[choiceHem], full)
	return nil
}

// seated returns how far the crotch line of the trousers hangs below the crotch
// of the body, mm.
func seated(ease map[string]float64) float64 { return 20 + ease[string(body.BodyRise)] }

// shapeLeg sets the girths of hem and knee. The handbook's leg is 440 mm round
// the hem at a hip of 940; the other shapes, and their growth with the hip, are
// ours. A leg is wider at the knee than at the hem by 0.22 of the difference
// between thigh and hem (handbook: 492 between 674 and 440).
func (s *trousers) shapeLeg(hem Value, full float64) {
	b := s.body
	hip := b.Value(body.HipGirth)
	foot := b.Value(body.FootGirth) + s.ease[easeFoot]
	switch {
	case hem.Word == "" && hem.Number > 0:
		s.hemGirth = hem.Number
	case hem.Word == hemTapered:
		s.hemGirth = math.Max(foot, 150+0.225*hip)
	case hem.Word == hemWide:
		s.hemGirth = math.Max(foot, 270+0.335*hip)
	default:
		s.hemGirth = math.Max(foot, 158+0.30*hip)
	}
	calf := s.knee + calfBelow*(full-s.knee)
	s.shapedTo = math.Max(s.hemAt, calf)
	thigh := s.hip + (frontReach+backReach)*hip + backReachPlus + 5
	s.kneeGirth = math.Max(s.hemGirth+0.22*(thigh-s.hemGirth), b.Value(body.KneeGirth)+s.ease[easeKnee])
	if calfGirth := b.Value(body.CalfGirth); calfGirth > 0 {
		part := (calf - s.knee) / (s.shapedTo - s.knee)
		if need := calfGirth + s.ease[easeCalf]; part > mostPart && s.hemAt > s.knee && s.hemGirth < need {
			if hem.Word == "" {
				s.warn("The hem is drawn %.0f mm round instead of %.0f: the leg ends at the calf.", need, s.hemGirth)
			}
			s.hemGirth = need
		}
		part = clamp(part, 0, mostPart)
		s.kneeGirth = math.Max(s.kneeGirth, (calfGirth+s.ease[easeCalf]-part*s.hemGirth)/(1-part))
	}
	if t := b.Value(body.ThighGirth); t > 0 {
		s.thigh = t + s.ease[easeThigh]
	}
}

// pleatGain is the width that pleats add to one front, mm; the front's darts go into them
// too (common practice: 25 to 40).
const pleatGain = 30.0

func (s *trousers) addPleats() {
	s.pleats = pleatGain
	s.hip += pleatGain
	s.hipWidth[front] += pleatGain
}
