package fitting_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting"
	"tapeline/drafting/finish"
	"tapeline/drafting/fitting"
	"tapeline/drafting/form"
	"tapeline/drafting/pattern"
)

// TestElasticDrawsIn: the waist of pyjama trousers, cut wide enough for the hips, lies on the
// body's waist as worn.
func TestElasticDrawsIn(t *testing.T) {
	f, err := drafting.TryOn(t.Context(), orderOf(t, "pyjama-trousers", ""), drafting.FittingOptions{})
	if err != nil {
		t.Fatal(err)
	}
	waist := f.Form.TrunkGirth(f.Form.Landmarks[form.CentreFrontWaist].Y)
	worn := fitting.HeldLength(f.Result)
	if math.Abs(worn/waist-1) > 0.03 {
		t.Errorf("the waist is %.0f mm round as worn, the body's %.0f", worn, waist)
	}
	i := slices.IndexFunc(f.Openings, func(o fitting.Opening) bool { return o.Needed > 1000 })
	if i < 0 || f.Openings[i].Girth < 1.2*waist {
		t.Errorf("openings %+v: the waist is not cut wider than the body's", f.Openings)
	}
}

// TestLeggingsOnTheBody: leggings are stretched to the body's girth, and by the share of the
// stretch for which they are drafted, about 18 per cent: three tenths of 60.
func TestLeggingsOnTheBody(t *testing.T) {
	for _, choices := range []string{"", `"waist": "turned"`, `"gusset": true`} {
		f, err := drafting.TryOn(t.Context(), orderOf(t, "leggings", choices), drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Errorf("%s: %v", choices, err)
			continue
		}
		if !f.Settled || len(f.Levels) != 2 {
			t.Errorf("%s: settled %v with a residual of %.3f, levels %v", choices, f.Settled, f.Residual, f.Levels)
		}
		for _, l := range f.Levels {
			if math.Abs(l.Worn/l.Body-1) > 0.015 || math.Abs(l.Worn/l.Cut-1.18) > 0.03 {
				t.Errorf("%s: %s: body %.0f mm, worn %.0f, cut %.0f", choices, l.Name, l.Body, l.Worn, l.Cut)
			}
		}
		for _, x := range f.Findings {
			t.Errorf("%s: %s", choices, x.Words)
		}
	}
}

// TestPleatsClosed: a skirt in pleats of each kind is as wide at the hip as worn as its closed
// pleats were drafted, a third of its cloth.
func TestPleatsClosed(t *testing.T) {
	for _, kind := range []string{"knife", "box", "inverted"} {
		f, err := drafting.TryOn(t.Context(), orderOf(t, "pleated-skirt", `"kind": "`+kind+`"`),
			drafting.FittingOptions{Quick: true})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(f.Pattern.Checks, func(c pattern.Check) bool { return c.Name == "hip over the closed pleats" })
		if i < 0 {
			t.Fatalf("%s: no check of the hip: %+v", kind, f.Pattern.Checks)
		}
		want := f.Pattern.Checks[i].Drafted
		cloth := 0.0
		for _, p := range f.Pattern.Pieces {
			cloth += 2 * p.RunLength("hem")
		}
		for _, l := range f.Levels {
			if l.Name == "hip" && math.Abs(l.Worn/want-1) > 0.01 {
				t.Errorf("%s: %.0f mm round the hip as worn, %.0f as closed", kind, l.Worn, want)
			}
		}
		if cloth < 2.5*want {
			t.Errorf("%s: a hem of %.0f mm has no pleats", kind, cloth)
		}
	}
}

// TestStrapsReach: between the corners of a slip the way over the middle of the shoulder is as
// long as its strap was drafted, within what its slider adjusts, and it draws the front's corner to
// within 10 mm of the body (our judgement). Behind it leaves over the shoulder blade.
func TestStrapsReach(t *testing.T) {
	f, err := drafting.TryOn(t.Context(), orderOf(t, "bias-slip", ""), drafting.FittingOptions{Quick: true})
	if err != nil {
		t.Fatal(err)
	}
	l := f.Form.Landmarks
	top := r3.Scale(0.5, r3.Add(l[form.SideNeck], l[form.Shoulder]))
	top.X = -top.X
	front, back := fitting.Corners(f.Result, "front"), fitting.Corners(f.Result, "back")
	if len(front) != 1 || len(back) != 1 {
		t.Fatalf("corners %v and %v", front, back)
	}
	way := r3.Norm(r3.Sub(front[0], top)) + r3.Norm(r3.Sub(back[0], top))
	const slider, lapped = 80, 40
	i := slices.IndexFunc(f.Pattern.Pieces, func(p finish.Piece) bool { return p.Name == "strap" })
	strap := f.Pattern.Pieces[i].RunLength("top") - slider - lapped
	if math.Abs(way-strap) > slider/2 {
		t.Errorf("%.0f mm over the shoulder, a strap of %.0f", way, strap)
	}
	t.Logf("%.0f mm over the shoulder, a strap of %.0f", way, strap)
	if off, _ := f.Form.TrunkDistance(front[0]); off > 10 {
		t.Errorf("the front's corner stands off by %.0f mm", off)
	}

	// A tape at the bust's level goes straight from bust point to bust point.
	bust := l[form.BustPoint]
	for _, x := range []float64{0, -0.5 * bust.X} {
		tape := fitting.Spanned(f.Form, r3.Vec{X: x, Y: bust.Y})
		if math.Abs(tape-bust.Z) > 1 || tape < f.Form.Depth(bust.Y, x, 1)+1 {
			t.Errorf("%.0f mm from the middle the tape lies at %.1f mm, the bust point at %.1f, the body at %.1f", x, tape,
				bust.Z, f.Form.Depth(bust.Y, x, 1))
		}
	}
}
