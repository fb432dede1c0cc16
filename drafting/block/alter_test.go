package block

import (
	"fmt"
	"math"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Every alteration, at both its ends, drafts every body: nothing fails.
func TestAlterationsOnRealBodies(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	type change struct {
		all, left map[string]float64
		choices   map[string]Value
	}
	var changes []change
	for _, a := range torsoAlterations() {
		for _, v := range [2]float64{a.Min, a.Max} {
			if v == 0 {
				continue
			}
			set := map[string]float64{a.Name: v}
			changes = append(changes, change{all: set, choices: words()},
				change{all: set, choices: words("length", "waist", "centre_back", "seam")})
			if a.Sided {
				changes = append(changes, change{left: set, choices: words("centre_front", "fold")},
					change{left: set, choices: words("centre_front", "seam", "bust_dart", "shoulder")})
			}
		}
	}
	changes = append(changes,
		change{all: map[string]float64{alterSwayBack: 20, alterSeat: 15, alterRoundBack: 12, alterForward: 8},
			left: map[string]float64{alterShoulder: -12}, choices: words("length", "knee")})
	for _, c := range changes {
		y := newTally()
		for i := 0; i < len(people); i += everyNth(60) {
			b, faults := body.New(people[i], torsoNeeds)
			if faults != nil {
				t.Fatal(faults)
			}
			p, err := draftTorso(t.Context(), Request{Body: b, Fit: "regular", Choices: c.choices, Alterations: c.all,
				Left: c.left}, shapedTorso)
			y.add(t, fmt.Sprintf("row %d %v left %v %v", i, c.all, c.left, c.choices), p, err)
		}
		if total := y.drafted + y.refused; y.refused*10 > total {
			t.Errorf("%v left %v: %d of %d refused: %v", c.all, c.left, y.refused, total, y.reasons)
		}
	}
}

// An alteration changes what its name says by what it says, and is shown.
func TestAlterationsChangeWhatTheySay(t *testing.T) {
	t.Parallel()
	draft := func(alterations map[string]float64) pattern.Pattern {
		p, err := draftTorso(t.Context(), Request{Body: standard(t), Fit: "regular", Alterations: alterations}, shapedTorso)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	plain := draft(nil)
	get := func(p pattern.Pattern, name string) pattern.Check {
		for _, c := range p.Checks {
			if c.Name == name {
				return c
			}
		}
		t.Fatalf("no check %s", name)
		return pattern.Check{}
	}
	for _, tt := range []struct {
		alteration string
		by         float64
		check      string
		want       float64
	}{
		{alterSwayBack, 12, "nape_to_waist", -12},
		{alterSwayBack, 12, "centre_back_length", -12},
		{alterRoundBack, 10, "nape_to_waist", 10},
		{alterRoundBack, 10, "scye_depth", 10},
		{alterSeat, 15, "centre_back_length", 15},
		{alterSeat, 15, "waist_to_hip", 15},
		{alterUpperArm, 20, "upper_arm_girth", 20},
		{alterBust, 15, "side_neck_to_bust", -15},
		// What must not change.
		{alterSwayBack, 12, "waist_girth", 0},
		{alterSeat, 15, "hip_girth", 0},
		{alterShoulder, 10, "shoulder_length", 0},
		{alterForward, 10, "neck_base_girth", 0},
		{alterBust, 15, "front_waist_length", 0},
	} {
		c := get(draft(map[string]float64{tt.alteration: tt.by}), tt.check)
		if got := c.Drafted - get(plain, tt.check).Drafted; math.Abs(got-tt.want) > 0.01 {
			t.Errorf("%s of %g mm changes %s by %.2f mm, want %g", tt.alteration, tt.by, tt.check, got, tt.want)
		}
	}
	if c := get(draft(map[string]float64{alterUpperArm: 20}), "upper_arm_girth"); c.Alteration != 20 {
		t.Errorf("the check shows an alteration of %g mm, want 20", c.Alteration)
	}
	tip := func(p pattern.Pattern) (front, back float64) {
		b, _ := p.Piece(pieceBack)
		f, _ := p.Piece(pieceFront)
		return read(f, true).above.Run(edgeShoulder).End().Y, read(b, false).above.Run(edgeShoulder).End().Y
	}
	f0, b0 := tip(plain)
	f1, b1 := tip(draft(map[string]float64{alterShoulder: 10}))
	if f0-f1 < 8 || b0-b1 < 8 {
		t.Errorf("a square shoulder of 10 mm raises the points by %.1f and %.1f mm", f0-f1, b0-b1)
	}
	f1, b1 = tip(draft(map[string]float64{alterForward: 10}))
	if f1-f0 < 8 || b0-b1 < 8 {
		t.Errorf("a forward shoulder of 10 mm lowers the front point by %.1f and raises the back one by %.1f mm", f1-f0,
			b0-b1)
	}
}

// Alterations of the hem move its ends by what they say, against the centre back.
func TestAlteredHems(t *testing.T) {
	t.Parallel()
	for _, block := range []string{"torso", "straight"} {
		ends := func(alterations map[string]float64) (centre, side geom.Point) {
			p, err := Draft(t.Context(), block, Request{Body: standard(t), Fit: "regular", Alterations: alterations,
				Choices: words(choiceLength, "knee")})
			if err != nil {
				t.Fatal(err)
			}
			f, _ := p.Piece(pieceFront)
			hem := f.Run(edgeHem)
			return hem.Start(), hem.End()
		}
		centre, side := ends(nil)
		for _, mm := range []float64{-20, 15} {
			c, s := ends(map[string]float64{alterHemFront: mm})
			if got := c.Y - centre.Y; math.Abs(got-mm) > 0.01 || math.Abs(s.Y-side.Y) > 0.01 {
				t.Errorf("%s, %s of %g: the hem moves by %.2f at the centre front and %.2f at the side", block, alterHemFront, mm,
					got, s.Y-side.Y)
			}
			c, s = ends(map[string]float64{alterHemSide: mm})
			if got := s.Y - side.Y; math.Abs(got-mm) > 0.5 || math.Abs(c.Y-centre.Y) > 0.01 {
				t.Errorf("%s, %s of %g: the hem moves by %.2f at the side and %.2f at the centre front", block, alterHemSide, mm,
					got, c.Y-centre.Y)
			}
			if _, s = ends(map[string]float64{alterSideSeam: mm}); math.Abs(math.Abs(s.X-side.X)-math.Abs(mm)) > 2.5 {
				t.Errorf("%s, %s of %g: the side seam moves by %.2f at the hem", block, alterSideSeam, mm, s.X-side.X)
			}
		}
	}
}

// What gapes at a front armhole without sleeve is taken out of it by a larger bust dart.
func TestAlteredArmhole(t *testing.T) {
	t.Parallel()
	front := func(gape float64) (armhole, dart float64) {
		p, err := Draft(t.Context(), "torso", Request{Body: standard(t), Fit: "regular", Choices: words(choiceSleeve, none),
			Alterations: map[string]float64{alterGape: gape}})
		if err != nil {
			t.Fatal(err)
		}
		f, _ := p.Piece(pieceFront)
		return f.RunLength(edgeArmhole), f.Run(mouthOf(dartBust)).Length()
	}
	armhole, dart := front(0)
	for _, gape := range []float64{5, 15} {
		a, d := front(gape)
		if off := armhole - a - gape; math.Abs(off) > 0.6*gape || d < dart+0.5*gape {
			t.Errorf("%g mm: the armhole is %.1f mm shorter, the dart %.1f wider", gape, armhole-a, d-dart)
		}
	}
}

// An altered hem is square to the centre back and to the side as before, and it
// runs without a corner.
func TestAlteredHemsAreSquare(t *testing.T) {
	t.Parallel()
	for _, length := range []string{"waist", "hip", "knee"} {
		for _, a := range []map[string]float64{{alterSwayBack: 40}, {alterSeat: 40}, {alterSwayBack: 15, alterSeat: 25}} {
			p, err := draftTorso(t.Context(), Request{Body: standard(t), Fit: "regular", Alterations: a,
				Choices: map[string]Value{choiceLength: {Word: length}}}, shapedTorso)
			if err != nil {
				t.Fatal(err)
			}
			b, _ := p.Piece(pieceBack)
			hem, side, centre := b.Run(edgeHem), b.Run(edgeSide), b.Run(edgeBackCentre)
			for name, corner := range map[string]float64{
				"centre": geom.AngleBetween(hem.EndTangent(), centre.StartTangent()),
				"side":   geom.AngleBetween(side.EndTangent(), hem.StartTangent()),
			} {
				if off := corner/degree - 90; math.Abs(off) > 1 {
					t.Errorf("%s length, %v: the hem is %.1f degrees off square at the %s", length, a, off, name)
				}
			}
			for i, s := range hem[1:] {
				// Across a dart that is open the parts turn by the dart's angle.
				turn := geom.AngleBetween(hem[i].Tangent(1), s.Tangent(0))
				if length != "waist" && math.Abs(turn) > degree {
					t.Errorf("%s length, %v: a corner of %.1f degrees in the hem", length, a, turn/degree)
				}
			}
		}
	}
}

// A body whose sides differ gets whole pieces with both sides; where they are
// alike the halves are each other's mirror image.
func TestSidesThatDiffer(t *testing.T) {
	t.Parallel()
	p, err := draftTorso(t.Context(), Request{Body: standard(t), Fit: "regular",
		Left: map[string]float64{alterShoulder: -10}, Right: map[string]float64{alterUpperArm: 15}}, shapedTorso)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, q := range p.Pieces {
		names = append(names, q.Name)
		if q.Cut.OnFold || q.Cut.Count != 1 {
			t.Errorf("%s is cut %+v, want once", q.Name, q.Cut)
		}
		if o := q.Outline(); !o.Closed() || !o.Simple() || o.Area() <= 0 {
			t.Errorf("%s is malformed", q.Name)
		}
	}
	if got, want := fmt.Sprint(names), "[back front right_sleeve left_sleeve]"; got != want {
		t.Errorf("pieces %s, want %s", got, want)
	}
	for _, s := range p.Seams {
		a, okA := edgeOf(&p, s.A)
		b, okB := edgeOf(&p, s.B)
		if !okA || !okB {
			t.Errorf("seam %s to %s: no such edge", s.A, s.B)
		} else if d := a.Path.Length() - b.Path.Length() - s.Ease; math.Abs(d) > 0.01 {
			t.Errorf("seam %s to %s is %.2f mm off", s.A, s.B, d)
		}
	}
}

// Where only the arms differ, front and back stay halves on the fold, and the
// neckline is still read all round.
func TestArmsThatDiffer(t *testing.T) {
	t.Parallel()
	p, err := draftTorso(t.Context(), Request{Body: standard(t), Fit: "regular",
		Right: map[string]float64{alterUpperArm: 2}}, shapedTorso)
	if err != nil {
		t.Fatal(err)
	}
	if front, ok := p.Piece(pieceFront); !ok || !front.Cut.OnFold {
		t.Errorf("front is cut %+v, want on the fold", front.Cut)
	}
	if _, ok := p.Piece("right_sleeve"); !ok {
		t.Error("the sleeves do not differ")
	}
}
