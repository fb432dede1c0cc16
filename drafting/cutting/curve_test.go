package cutting_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

// The curve passes through its points without a corner and leaves and arrives
// as asked.
func TestThrough(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		n := 2 + rng.IntN(6)
		points := make([]geom.Point, n)
		for i := range points {
			points[i] = geom.Pt(100*float64(i)+40*rng.Float64(), 200*rng.Float64())
		}
		var start, end geom.Point
		if rng.IntN(2) == 0 {
			start = geom.Polar(1, rng.Float64()-0.5)
		}
		if rng.IntN(2) == 0 {
			end = geom.Polar(1, rng.Float64()-0.5)
		}
		c, err := geom.Spline(points, start, end, 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Check(); err != nil || len(c) != n-1 {
			t.Fatal(err, len(c))
		}
		for i, s := range c {
			near(t, "distance from its point", s.P0.Dist(points[i]), 0, 1e-9)
			if i > 0 {
				near(t, "turn at a point", geom.AngleBetween(c[i-1].Tangent(1), s.Tangent(0)), 0, 1e-6)
			}
		}
		near(t, "end", c.End().Dist(points[n-1]), 0, 1e-9)
		if start != (geom.Point{}) {
			near(t, "start direction", geom.AngleBetween(c.StartTangent(), start), 0, 1e-6)
		}
		if end != (geom.Point{}) {
			near(t, "end direction", geom.AngleBetween(c.EndTangent(), end), 0, 1e-6)
		}
	}
}

// Hobby's velocity makes a quarter circle to within 0.03 % of the radius when
// its ends are tangent to it (his paper; 4/3 tan(angle/4) to 0.027 %).
func TestThroughACircle(t *testing.T) {
	t.Parallel()
	c, err := geom.Spline([]geom.Point{geom.Pt(100, 0), geom.Pt(0, 100)}, geom.Pt(0, 1), geom.Pt(-1, 0), 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range c.Flatten(0.01) {
		near(t, "radius", q.Norm(), 100, 0.05)
	}
	for _, bad := range [][]geom.Point{nil, {geom.Pt(0, 0)}, {geom.Pt(0, 0), geom.Pt(0, 0)},
		{geom.Pt(0, 0), geom.Pt(math.NaN(), 0)}} {
		if _, err := geom.Spline(bad, geom.Point{}, geom.Point{}, 1); err == nil {
			t.Errorf("a curve through %v", bad)
		}
	}
}

// A circle skirt's waist and hem by formula: r = W / (2 pi f), hem radius
// r + length (common practice).
func TestArcs(t *testing.T) {
	t.Parallel()
	const waist, length = 720.0, 600.0
	for _, f := range []float64{1, 0.75, 0.5, 0.25} {
		r := waist / (2 * math.Pi * f)
		a := geom.Arc(geom.Pt(3, 4), r, 0.3, 0.3+2*math.Pi*f)
		near(t, "waist", a.Length(), waist, 0.005)
		near(t, "hem", geom.Arc(geom.Point{}, r+length, 0, -2*math.Pi*f).Length(), 2*math.Pi*f*(r+length), 0.02)
		for _, q := range a.Flatten(0.01) {
			near(t, "radius", q.Dist(geom.Pt(3, 4)), r, 1e-5*r+0.01)
		}
	}
}

func TestWidthAt(t *testing.T) {
	t.Parallel()
	near(t, "square", cutting.WidthAt(square(), 120), 200, 1e-9)
	near(t, "above it", cutting.WidthAt(square(), -5), 0, 0)
	// On the torso the half girths with ease (regular: 50 at the waist, 60 hip).
	for _, figure := range figures[:1] {
		pieces := blockPieces(t, figure, nil)
		width := func(line string) float64 {
			sum := 0.0
			for _, name := range []string{"back", "front"} {
				for _, l := range pieces[name].Lines {
					if l.Name == line {
						sum += cutting.WidthAt(pieces[name], l.Path.End().Y) // the back hangs lower at the centre
					}
				}
			}
			return 2 * sum
		}
		near(t, "waist", width("waist"), figure["waist_girth"]+50, 0.5)
		near(t, "hip", width("hip"), figure["hip_girth"]+60, 0.5)
	}
}

// Stand and collar are as long as what they are sewn to, whatever their shape.
func TestStandAndCollar(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(7, 8))
	for range 200 {
		neck, button, height, rise := 150+200*rng.Float64(), 25*rng.Float64(), 22+25*rng.Float64(), 25*rng.Float64()
		s, err := cutting.Stand("stand", "Stand", cutting.StandShape{Neck: neck, Button: button, Height: height, Rise: rise})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "stand's neck", s.RunLength("neck"), neck+button, 1e-5)
		near(t, "height at the back", s.RunLength("centre_back"), height, 0.02)
		near(t, "notch", s.Run("neck").Length()-s.Notches[0].At, neck, 1e-5)
		sound(t, s)
		c, err := cutting.Collar("collar", "Collar", cutting.CollarShape{
			Neck: neck, Height: height + 10, Point: 50 + 40*rng.Float64(), Spread: 30 * rng.Float64(), Drop: 15 * rng.Float64(),
		})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "collar's neck", c.RunLength("neck"), neck, 1e-5)
		if c.RunLength("outer") < neck-1 {
			t.Errorf("outer edge %.1f, neck %.1f", c.RunLength("outer"), neck)
		}
		sound(t, c)
	}
	_, err := cutting.Stand("stand", "Stand", cutting.StandShape{Neck: 10, Button: 10, Height: 30, Rise: 10})
	wantError(t, err, "stand", "")
}

func TestBandsAndPockets(t *testing.T) {
	t.Parallel()
	b, err := cutting.Band("band", "Band", 712.5, 40, true)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "length", b.RunLength("bottom"), 712.5, 0)
	near(t, "doubled", b.RunLength("end"), 80, 0)
	near(t, "fold in the middle", b.Lines[0].Path.Start().Y, 40, 0)
	sound(t, b)
	p, err := cutting.PatchPocket("pocket", "Pocket", 130, 150, 20)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pocket", p.Outline().Area(), 130*130+130*20/2, 1e-9)
	sound(t, p)
	bag, err := cutting.PocketBag("bag", "Bag", 150, 150, 100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "opening", bag.RunLength("opening"), 150, 1e-9)
	sound(t, bag)
	_, err = cutting.Band("band", "Band", 2, 40, true)
	wantError(t, err, "band", "")
}
