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

// expecting returns the request for a maternity skirt in a regular fit, worn with a belly girth in mm.
func expecting(t *testing.T, word string, waist, hip, waistToHip, belly float64) Request {
	t.Helper()
	r := Request{Fit: "regular", Choices: words(choiceMaternity, word)}
	requires, uses := skirtSpec().Needs(r.Choices)
	b, faults := body.NewIn(body.Millimetre, body.Measures{body.WaistGirth: waist, body.HipGirth: hip,
		body.WaistToHip: waistToHip, body.Height: 1640, body.BellyGirth: belly}, requires, uses)
	if faults != nil {
		t.Fatal(faults)
	}
	r.Body = b
	return r
}

// A belly 82 mm below a waist of 780, where the body without it is 880 round, has grown by 270 mm
// to 1150: it stands out by some 120 (from memory). From half of that at the waist to its fullest place the
// way is sqrt(60.75^2 + 82^2), 20 mm longer than its height. Half the skirt is 620 wide there, of which
// the back has 1080/4 + 7.5.
func TestMaternitySkirtByHand(t *testing.T) {
	t.Parallel()
	p, err := draftSkirt(expecting(t, overBelly, 780, 1030, 205, 1150))
	if err != nil {
		t.Fatal(err)
	}
	b, f := p.Pieces[back], p.Pieces[front]
	near := func(name string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 0.1 {
			t.Errorf("%s = %.2f mm, want %.2f", name, got, want)
		}
	}
	near("back", b.Run(edgeWaist).Length(), 277.5)
	near("front", f.Run(edgeWaist).Length(), 342.5)
	near("centre front longer than the centre back", f.Run(edgeCentre).Length()-b.Run(edgeBackCentre).Length(), 20.05)
	near("side of the front less that of the back", f.Run(edgeSide).Length()-b.Run(edgeSide).Length(), 0)

	// Below the belly it begins 107 mm down the side, and in front at 0.9 of the 123 mm from there to the hip.
	p, err = draftSkirt(expecting(t, belowBelly, 780, 1030, 205, 1150))
	if err != nil {
		t.Fatal(err)
	}
	b, f = p.Pieces[back], p.Pieces[front]
	near("centre front shorter than the centre back", b.Run(edgeBackCentre).Length()-f.Run(edgeCentre).Length(),
		82+0.9*123-107)
	level, _ := levelOf(b, lineHip)
	near("from the upper edge to the hip", level-b.Run(edgeSide).Start().Y, 98)
}

// Every real woman with a belly of 1.05 to 1.35 of her waist gets a skirt over it and one below it
// in every fit. It is wide enough at belly and hip, without darts, its lines run from seam to seam, and
// both sides have the same notches.
func TestMaternitySkirtOnWomen(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for i := 0; i < len(people); i += everyNth(7) {
		m := people[i]
		m[body.BellyGirth] = m[body.WaistGirth] * (1.05 + 0.05*float64(i%7))
		for _, word := range []string{overBelly, belowBelly} {
			for _, fit := range skirtFits() {
				r := Request{Fit: fit.Name, Choices: words(choiceMaternity, word)}
				p, err := draftTo(skirtSpec(), r, m)
				name := fmt.Sprintf("woman %d, %s, %s", i, word, fit.Name)
				if err != nil {
					t.Errorf("%s: %v", name, err)
					continue
				}
				wideEnough(t, name, p, word, m, fit)
			}
		}
	}
}

func wideEnough(t *testing.T, name string, p pattern.Pattern, word string, m body.Measures, fit Fit) {
	t.Helper()
	girths := map[string]float64{}
	for i, centre := range [2]string{edgeBackCentre, edgeCentre} {
		q := p.Pieces[i]
		if len(q.Darts) > 0 {
			t.Errorf("%s: %s has darts", name, q.Name)
		}
		for _, l := range q.Lines {
			w, _ := breadth(q, centre, edgeSide, l.Path.Start().Y)
			girths[l.Name] += 2 * w
			if math.Abs(w-l.Path.Length()) > 0.01 {
				t.Errorf("%s: the line %s of the %s is %.1f mm long, the piece %.1f wide", name, l.Name, q.Name, l.Path.Length(), w)
			}
		}
	}
	for _, e := range fit.Ease {
		line := map[string]string{string(body.HipGirth): lineHip, string(body.BellyGirth): lineBelly}[e.Name]
		if line == "" || line == lineBelly && word != overBelly {
			continue
		}
		if least := m[body.Name(e.Name)] + e.Value; girths[line] < least-0.01 {
			t.Errorf("%s: %.1f mm round the %s, want at least %.1f", name, girths[line], line, least)
		}
	}
	if b, f := sideNotches(p.Pieces[back]), sideNotches(p.Pieces[front]); len(b) == 0 || fmt.Sprint(b) != fmt.Sprint(f) {
		t.Errorf("%s: notches of the back's side at %v mm, of the front's at %v", name, b, f)
	}
}

// sideNotches returns how far down the side a piece has notches, mm.
func sideNotches(p pattern.Piece) (at []string) {
	side := p.Run(edgeSide)
	long := side.Length()
	for _, n := range p.Notches {
		if n.Edge != edgeSide {
			continue
		}
		down := n.At
		if side.Start().Y > side.End().Y {
			down = long - n.At
		}
		at = append(at, fmt.Sprintf("%.1f", down))
	}
	return at
}

func TestMaternitySkirtRefusals(t *testing.T) {
	t.Parallel()
	low := expecting(t, belowBelly, 780, 1030, 205, 1000)
	low.Choices[choiceWaist] = Value{Number: 30, Length: true}
	bare := expecting(t, overBelly, 780, 1030, 205, 1000)
	bare.Body = skirtBody(t, 780, 1030, 205)
	_, err := draftSkirt(low)
	wantRefusal(t, err, "/choices/waist", "the belly says where")
	_, err = draftSkirt(bare)
	wantRefusal(t, err, "/measurements/belly_girth", "drafted by the belly girth")
}

func TestReadingFindsSpoiledMaternitySkirts(t *testing.T) {
	t.Parallel()
	s, p := skirtOf(t, expecting(t, overBelly, 780, 1030, 205, 1150))
	spoiled(t, s.readBack, p, front, edgeSide, geom.Pt(3, 0), "belly_girth")
	spoiled(t, s.readBack, p, back, edgeSide, geom.Pt(0, 1), "waist_to_hip")
	spoiled(t, s.readBack, p, front, edgeCentre, geom.Pt(0, 1), "not closed")
}
