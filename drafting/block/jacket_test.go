package block

import (
	"fmt"
	"iter"
	"math"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// jacketVariants are choices that between them try every way to cut a jacket.
var jacketVariants = []map[string]Value{
	words(),
	words("side", "seam", "centre_back", "fold", "length", "knee"),
	words("side", "seam", "bust", "shaped", "sleeve", "one_piece", "suppression", "half"),
	words("bust", "shaped", "sleeve", "none", "length", "thigh"),
	words("bust", "straight", "suppression", "none", "centre_front", "seam"),
	{"length": {Number: 620}, "centre_back": {Word: "fold"}},
}

// Every real body is drafted or refused with a reason, under 0.5 % refused (ANSUR II; the figures
// are the product's own promise).
func TestJacketsOfTheSurvey(t *testing.T) {
	t.Parallel()
	for i, choices := range jacketVariants {
		nth := everyNth(17)
		if i == 0 {
			nth = everyNth(5)
		}
		y := draftAll(t, jacketSpec(), surveytest.Women(t), nth, choices)
		men := draftAll(t, jacketSpec(), surveytest.Men(t), 2*nth, choices)
		if total := y.drafted + y.refused + men.drafted + men.refused; (y.refused+men.refused)*200 > total {
			t.Errorf("%v: %d of %d refused: %v %v", choices, y.refused+men.refused, total, y.reasons, men.reasons)
		}
	}
}

// Every alteration at both its ends, with all the others a little, and on one side alone, is drafted
// and read back.
func TestAlteredJackets(t *testing.T) {
	t.Parallel()
	spec := jacketSpec()
	y := newTally()
	for i, b := range womenFor(t, spec, 70) {
		for _, a := range spec.Alterations {
			for _, v := range []float64{a.Min, a.Max} {
				r := Request{Body: b, Fit: "regular", Alterations: map[string]float64{a.Name: v}}
				if a.Sided && v == a.Max {
					r.Alterations, r.Left = map[string]float64{alterSwayBack: 25}, map[string]float64{a.Name: v}
				}
				p, err := Draft(t.Context(), spec.Name, r)
				y.add(t, fmt.Sprintf("row %d %v %v", i, r.Alterations, r.Left), p, err)
			}
		}
	}
	y.report(t)
}

// A prominent seat bends the line of the hips: the panel's seams let out there what they should.
func TestHipsOfAlteredJackets(t *testing.T) {
	t.Parallel()
	spec := jacketSpec()
	drafted := 0
	for i, b := range womenFor(t, spec, 40) {
		for _, below := range []float64{2, 15, 60} { // mm, from the hips to the hem
			length := b.Value(body.NapeToWaist) + b.Value(body.WaistToHip) + below
			p, err := Draft(t.Context(), spec.Name, Request{Body: b, Fit: "regular",
				Choices:     map[string]Value{choiceLength: {Number: length}},
				Alterations: map[string]float64{alterSeat: maxCentreChange}})
			if err != nil {
				continue // TestAlteredJackets counts them
			}
			drafted++
			for _, c := range p.Checks {
				if off := c.Drafted - c.Target; c.Name == string(body.HipGirth) && math.Abs(off) > 0.05 {
					t.Errorf("row %d, %g mm below the hips: %s is %.2f mm off", i, below, c.Name, off)
				}
			}
		}
	}
	if drafted < 60 {
		t.Errorf("only %d jackets drafted", drafted)
	}
}

// womenFor returns every nth woman of the survey, by row, with what a block uses.
func womenFor(t *testing.T, spec Spec, nth int) iter.Seq2[int, body.Body] {
	people := surveytest.Women(t)
	return func(yield func(int, body.Body) bool) {
		for i := 0; i < len(people); i += everyNth(nth) {
			b, faults := body.NewIn(body.Millimetre, people[i], spec.Requires, spec.Uses)
			if faults != nil {
				t.Fatal(faults)
			}
			if !yield(i, b) {
				return
			}
		}
	}
}

// The waist notches of a panel's seams lie at the waist of both pieces, within what a full bust
// leaves between them, and as far from the hem on both: no ease lies below the waist.
func TestWaistNotchesOfPanels(t *testing.T) {
	t.Parallel()
	const off = 4.0 // mm; the farthest on the survey's women is 3.3
	spec := jacketSpec()
	for i, b := range womenFor(t, spec, 9) {
		p, err := Draft(t.Context(), spec.Name, Request{Body: b, Fit: "regular"})
		if err != nil {
			continue // TestJacketsOfTheSurvey counts them
		}
		for run, names := range map[string][2]string{edgeFrontSeam: {pieceSide, pieceFront},
			edgeBackSeam: {pieceSide, pieceBack}} {
			var below [2]float64
			for k, name := range names {
				piece, _ := p.Piece(name)
				notch, waist := waistOf(t, piece, run)
				if d := math.Abs(notch - waist); d > off {
					t.Errorf("row %d: %s/%s: the notch lies %.1f mm from the waist", i, name, run, d)
				}
				below[k] = notch
				if path := piece.Run(run); path.Start().Y < path.End().Y {
					below[k] = path.Length() - notch
				}
			}
			if d := math.Abs(below[0] - below[1]); d > 0.1 {
				t.Errorf("row %d: %s: the notches lie %.1f and %.1f mm above the hem", i, run, below[0], below[1])
			}
		}
	}
}

// waistOf returns where the notch of a run lies, and where the waist line meets it, mm along it.
func waistOf(t *testing.T, p pattern.Piece, run string) (notch, waist float64) {
	t.Helper()
	path := p.Run(run)
	nearest := math.Inf(1)
	for _, l := range p.Lines {
		for _, end := range []geom.Point{l.Path.Start(), l.Path.End()} {
			if at, _, along := path.Nearest(end); l.Name == lineWaist && at.Dist(end) < nearest {
				nearest, waist = at.Dist(end), along
			}
		}
	}
	for _, n := range p.Notches {
		if n.Edge == run {
			return n.At, waist
		}
	}
	t.Fatalf("%s/%s has no notch", p.Name, run)
	return 0, 0
}
