package style_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
)

func runOf(p pattern.Pattern, piece, run string) float64 {
	q, _ := p.Piece(piece)
	var sum float64
	for _, e := range q.Edges {
		if e.Run == run {
			sum += e.Path.Length()
		}
	}
	return sum
}

// The waistband is as long as the waist it is sewn to, which has the body's
// girth and its ease, with every closure and pocket (a band is as long as the
// opening it meets: common practice).
func TestWaistbandMeetsTheWaist(t *testing.T) {
	t.Parallel()
	for _, closing := range []string{"fly", "side"} {
		for _, pockets := range []string{"slant", "side", "none"} {
			for _, front := range []string{"darts", "pleats"} {
				p := onStandard(t, "straight-trousers", nil, map[string]block.Value{"closing": {Word: closing},
					"pockets": {Word: pockets}, "front": {Word: front}})
				band := 2 * (runOf(p, "waistband", "bottom") + runOf(p, "waistband_front", "bottom") +
					runOf(p, "waistband_back", "bottom"))
				if want := standard[body.WaistGirth] + 20; math.Abs(band-want) > 0.01 {
					t.Errorf("%s, %s, %s: a waistband of %.2f mm, want %.0f", closing, pockets, front, band, want)
				}
			}
		}
	}
}

// What a fly opens lets the hip pass: it is the deeper, the narrower the waist.
func TestFlyLetsTheHipPass(t *testing.T) {
	t.Parallel()
	var usual float64
	for _, waist := range []float64{760, 690} {
		p := onStandard(t, "straight-trousers", body.Measures{body.WaistGirth: waist, body.HipGirth: 1060,
			body.WaistToHip: 170, body.BodyRise: 250}, nil)
		fly := runOf(p, "front", "fly")
		if open := waist + 20 + 2*fly; open < 1080-0.01 {
			t.Errorf("a waist of %.0f mm opens to %.1f mm, want 1080", waist, open)
		}
		if fly < usual {
			t.Errorf("a waist of %.0f mm has a fly of %.1f mm, a wider one of %.1f", waist, fly, usual)
		}
		usual = fly
		for _, piece := range []string{"fly_facing", "fly_shield"} {
			if got := runOf(p, piece, "fly"); math.Abs(got-fly) > 0.01 {
				t.Errorf("%s is %.2f mm long, the fly %.2f", piece, got, fly)
			}
		}
	}
}

// A hem narrower than the foot is widened, and that is said; shorts are left
// alone.
func TestTrouserHemPassesTheFoot(t *testing.T) {
	t.Parallel()
	own := body.Measures{body.FootGirth: 350}
	for _, length := range []string{"full", "ankle"} {
		p := onStandard(t, "straight-trousers", own, map[string]block.Value{"length": {Word: length}, "hem": {Number: 310}})
		if hem := runOf(p, "front", "hem") + runOf(p, "back", "hem"); math.Abs(hem-360) > 1 {
			t.Errorf("%s: a hem of %.1f mm, want 360", length, hem)
		}
		if !strings.Contains(fmt.Sprint(p.Warnings), "so that the foot passes") {
			t.Errorf("%s: warnings %q", length, p.Warnings)
		}
	}
	p := onStandard(t, "straight-trousers", own, map[string]block.Value{"length": {Number: 250}, "hem": {Number: 310}})
	if len(p.Warnings) > 0 {
		t.Errorf("shorts: warnings %q", p.Warnings)
	}
}

// A slanting pocket lies inside the front, away from the centre and the inseam.
func TestSlantPocketLiesInsideTheFront(t *testing.T) {
	t.Parallel()
	for _, hip := range []float64{880, 1000, 1300} {
		own := body.Measures{body.WaistGirth: 0.76 * hip, body.HipGirth: hip}
		whole, _ := onStandard(t, "straight-trousers", own, map[string]block.Value{"pockets": {Word: "none"}}).Piece("front")
		outline := whole.Outline()
		under, ok := onStandard(t, "straight-trousers", own, nil).Piece("pocket_under")
		if !ok {
			t.Fatal("no pocket")
		}
		for _, e := range under.Edges {
			if e.Run != "bag" {
				continue
			}
			for k := 1; k < 20; k++ {
				at := e.Path.At(e.Path.Length() * float64(k) / 20)
				if _, d, _ := outline.Nearest(at); !outline.Contains(at) || k > 2 && k < 18 && d < 8 {
					t.Errorf("hip %.0f: the bag lies %.0f mm from the front's edge", hip, d)
				}
			}
		}
	}
}
