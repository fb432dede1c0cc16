package block

import (
	"maps"
	"math"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/pattern"
)

// fronts are measures of a straight front against its back, mm.
type fronts struct {
	rise, drop float64 // of the neck point and the centre front's hem against the back's, without the seat
	lift       float64 // of the underarm over the back's
}

func straightFronts(t *testing.T, b body.Body, choices map[string]Value) fronts {
	t.Helper()
	p, err := Draft(t.Context(), "straight", Request{Body: b, Fit: "regular", Choices: choices})
	if err != nil {
		t.Fatal(err)
	}
	fp, _ := p.Piece(pieceFront)
	bp, _ := p.Piece(pieceBack)
	fp = turnOver(fp)
	return fronts{
		rise: bp.Run(edgeShoulder).Start().Y - fp.Run(edgeShoulder).Start().Y,
		drop: fp.Run(edgeHem).End().Y - bp.Run(edgeHem).End().Y + seatLength(b),
		lift: bp.Run(edgeArmhole).End().Y - fp.Run(edgeArmhole).End().Y,
	}
}

// near allows for the height of the side neck point over the nape: the draft's
// differs from that in the estimate of the front's length by up to 4 mm.
func (f fronts) near(rise, drop, lift float64) bool {
	return math.Abs(f.rise-rise) < 4 && math.Abs(f.drop-drop) < 4 && math.Abs(f.lift-lift) < 4
}

// A straight front of a woman is longer over the bust by what her body is: all
// of it with a dart, and without one by what armhole and hem take up. A man's
// is not, unless a belly or a measured length says so (common practice).
func TestStraightFrontBalance(t *testing.T) {
	t.Parallel()
	woman := body.Measures{
		body.BustGirth: 960, body.WaistGirth: 800, body.HipGirth: 1040, body.NeckBaseGirth: 375, body.ShoulderLength: 127,
		body.BackWidth: 362, body.NapeToWaist: 420, body.WaistToHip: 205, body.UpperArmGirth: 300,
		body.WristGirth: 160, body.ArmLength: 585,
	}
	man := body.Measures{
		body.BustGirth: 1060, body.WaistGirth: 940, body.HipGirth: 1015, body.NeckBaseGirth: 435, body.ShoulderLength: 150,
		body.BackWidth: 415, body.NapeToWaist: 475, body.WaistToHip: 200, body.UpperArmGirth: 355, body.WristGirth: 175,
		body.ArmLength: 590,
	}
	with := func(m body.Measures, more body.Measures) body.Measures {
		m = maps.Clone(m)
		maps.Copy(m, more)
		return m
	}
	longer := func(m body.Measures, by float64) body.Measures {
		return with(m, body.Measures{body.FrontWaistLength: m[body.NapeToWaist] + person(t, m).NeckRise() + by})
	}
	dart, part := words("bust_dart", "side"), words("bust_dart", "side")
	part[choiceBustSurplus] = Value{Number: 15}
	for _, c := range []struct {
		name             string
		body             body.Measures
		choices          map[string]Value
		rise, drop, lift float64
	}{
		{"woman, no dart", woman, nil, 12, 4, 0},
		{"woman, dart", woman, dart, 30, 0, 30},
		{"woman, small dart", woman, part, 27, 3, 15},
		{"woman, measured 2", longer(woman, 2), nil, 2, 0, 0},
		{"woman, measured 2, dart", longer(woman, 2), dart, 2, 0, 0},
		{"woman, measured 60, dart", longer(woman, 60), dart, 60, 0, 60},
		{"man", man, nil, 0, 0, 0},
		{"man, measured 10", longer(man, 10), nil, 10, 0, 0},
		{"man, measured -30", longer(man, -30), nil, -20, 0, 0},
		{"big man", with(man, body.Measures{body.BustGirth: 1300, body.WaistGirth: 1330, body.HipGirth: 1250,
			body.NeckBaseGirth: 480, body.UpperArmGirth: 410}), nil, 7, 0, 0},
	} {
		if got := straightFronts(t, person(t, c.body), c.choices); !got.near(c.rise, c.drop, c.lift) {
			t.Errorf("%s: %+v, want rise %g, drop %g, lift %g", c.name, got, c.rise, c.drop, c.lift)
		}
	}
}

// The straight block takes a bust dart on every body of the survey, at every
// position, whole or in part.
func TestStraightBustDartOnSurvey(t *testing.T) {
	t.Parallel()
	spec, _ := Find("straight")
	for _, at := range []string{"side", "shoulder", "armhole", "neck"} {
		choices := words("bust_dart", at)
		draftAll(t, spec, surveytest.Women(t), everyNth(14), choices)
		choices[choiceBustSurplus] = Value{Number: 14}
		draftAll(t, spec, surveytest.Women(t), everyNth(23), choices)
		draftAll(t, spec, surveytest.Men(t), everyNth(23), choices)
	}
}

// A bust dart on the straight block is read back like the torso's: its legs are
// equal, and the sides as long as each other.
func TestStraightBustDartIsChecked(t *testing.T) {
	t.Parallel()
	request := Request{Body: standard(t), Fit: "regular", Choices: words("bust_dart", "side")}
	p, err := Draft(t.Context(), "straight", request)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{"front/bust_dart_legs": true, string(body.FrontWaistLength): true,
		string(body.SideNeckToBust): true, string(body.BustPointWidth): true}
	for _, c := range p.Checks {
		delete(want, c.Name)
	}
	if len(want) > 0 {
		t.Errorf("missing checks: %v", want)
	}
	for _, q := range p.Pieces {
		for _, d := range q.Darts {
			if d.Mouth == "" {
				t.Errorf("%s has a dart inside: %s", q.Name, d.Name)
			}
		}
		if _, ok := markAt(q, pattern.MarkBustPoint); ok != (q.Name == pieceFront) {
			t.Errorf("%s: bust point %t", q.Name, ok)
		}
	}
}
