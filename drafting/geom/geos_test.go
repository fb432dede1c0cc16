package geom

import (
	"math"
	"testing"

	"tapeline/drafting/shapelytest"
)

// Comparison with GEOS (the geometry engine of PostGIS, a port of the JTS
// Topology Suite) through Shapely. It knows no curves: both sides are flattened
// far below the tolerance compared.

// geosCase is one question to testdata/geos.py.
type geosCase struct {
	Kind  string  `json:"kind"`
	P     []Point `json:"p"`
	Q     []Point `json:"q,omitempty"`
	D     float64 `json:"d,omitempty"`
	Mitre float64 `json:"mitre,omitempty"`
}

// askGEOS runs all the cases in one call and reads the answers into one value
// each.
func askGEOS[T any](t *testing.T, cases []geosCase) []T {
	t.Helper()
	answers := shapelytest.Ask[[]T](t, cases, "testdata/geos.py")
	if len(answers) != len(cases) {
		t.Fatalf("%d answers to %d questions", len(answers), len(cases))
	}
	return answers
}

// geosChord is the chord error in mm of what GEOS sees. It is no finer because
// GEOS thins a line before it buffers it, and of a hollow side followed finely
// it may lose the corner beyond, 50 mm of it: at 1e-4 mm in a third of
// TestGEOSOutlines' inward cases, at 1e-3 mm in none.
const geosChord = 1e-3

type geosParallel struct {
	Parts                   int
	Apart, Area, Difference float64
}

// bodice returns an outline like a front piece's: straight centre and shoulder,
// neck and armhole hollow, a side that bends both ways, a curved hem, every
// corner different.
func bodice(seed uint64) Path {
	r := seeded(seed)
	k := func(v float64) float64 { return v * (0.9 + 0.2*r.Float64()) }
	pit, neck, shoulder := Pt(0, k(80)), Pt(k(70), 0), Pt(k(190), k(45))
	underarm, waist, hem, foot := Pt(k(240), k(210)), Pt(k(215), k(400)), Pt(k(255), k(600)), Pt(0, k(615))
	low := Pt(shoulder.X-k(25), underarm.Y-k(45))
	return Path{
		Line(foot, pit),
		Cubic(pit, Pt(k(40), pit.Y), Pt(neck.X-2, neck.Y+k(45)), neck),
		Line(neck, shoulder),
		Cubic(shoulder, Pt(shoulder.X-k(20), shoulder.Y+k(45)), Pt(low.X, low.Y-k(30)), low),
		Cubic(low, Pt(low.X, low.Y+k(28)), Pt(underarm.X-k(40), underarm.Y), underarm),
		Cubic(underarm, Pt(underarm.X-5, underarm.Y+k(60)), Pt(waist.X, waist.Y-k(50)), waist),
		Cubic(waist, Pt(waist.X, waist.Y+k(60)), Pt(hem.X, hem.Y-k(80)), hem),
		Cubic(hem, Pt(hem.X-k(80), hem.Y+k(12)), Pt(k(90), foot.Y), foot),
	}
}

// Tips of mitres are left to the closed form (TestMitresOfCurves): of a curve
// GEOS has only the thinned line's direction.
func TestGEOSOutlines(t *testing.T) {
	t.Parallel()
	var cases []geosCase
	for seed := range sampled(6, 60) {
		p := bodice(seed)
		for _, d := range []float64{6, 10, 40, -6, -10, -30} {
			o := p.Offset(d, OffsetTol)
			if len(o) == 0 || !o.Closed() {
				t.Errorf("seed %d d %g: %d segments", seed, d, len(o))
				continue
			}
			cases = append(cases, geosCase{Kind: "outline", P: p.Flatten(geosChord), Q: o.Flatten(geosChord), D: d,
				Mitre: MitreLimit})
		}
	}
	for i, a := range askGEOS[geosParallel](t, cases) {
		c := cases[i]
		if a.Parts != 1 || a.Apart > OffsetTol+2*geosChord {
			t.Errorf("case %d d %g: %d parts, %.4f mm apart", i, c.D, a.Parts, a.Apart)
		}
		// The tolerance all round the outline.
		if a.Difference > OffsetTol*Polyline(c.Q...).Length() {
			t.Errorf("case %d d %g: differs by %.2f mm² of %.0f", i, c.D, a.Difference, a.Area)
		}
	}
}

// Open seams without corners: every place of ours at its distance, as GEOS
// measures it.
func TestGEOSSeams(t *testing.T) {
	t.Parallel()
	var cases []geosCase
	seeds := sampled(12, 40)
	for seed := range seeds {
		p := seam(seeded(seed), 3, 0)
		for _, d := range []float64{6, 10, -10, 40} {
			if o := p.Offset(d, OffsetTol); p.Simple() && !crowded(p, d) && len(o) > 0 {
				cases = append(cases, geosCase{Kind: "side", P: p.Flatten(geosChord), Q: o.Flatten(geosChord), D: d})
			}
		}
	}
	if uint64(len(cases)) < 5*seeds/2 {
		t.Errorf("only %d cases", len(cases))
	}
	for i, a := range askGEOS[[2]float64](t, cases) {
		d := math.Abs(cases[i].D)
		if a[0] < d-OffsetTol-2*geosChord || a[1] > d+OffsetTol+2*geosChord {
			t.Errorf("case %d d %g: %.4f to %.4f mm away", i, cases[i].D, a[0], a[1])
		}
	}
}

func TestGEOSAreas(t *testing.T) {
	t.Parallel()
	var cases []geosCase
	var ours []float64
	for seed := range sampled(4, 12) {
		p := bodice(seed)
		cases = append(cases, geosCase{Kind: "area", P: p.Flatten(1e-4)})
		ours = append(ours, p.Area())
	}
	for i, theirs := range askGEOS[float64](t, cases) {
		if math.Abs(ours[i]-theirs) > 1e-6*theirs {
			t.Errorf("case %d: %.4f mm², GEOS %.4f", i, ours[i], theirs)
		}
	}
}

func TestGEOSContainment(t *testing.T) {
	t.Parallel()
	var cases []geosCase
	var ours [][]bool
	seeds := sampled(10, 40)
	for seed := range seeds {
		r := seeded(seed)
		p := bodice(seed)
		c := geosCase{Kind: "contains", P: p.Flatten(geosChord)}
		var in []bool
		for len(c.Q) < 200 {
			q := Pt(320*r.Float64()-30, 700*r.Float64()-30)
			if _, d, _ := p.Nearest(q); d > 2e-3 {
				c.Q = append(c.Q, q)
				in = append(in, p.Contains(q))
			}
		}
		cases, ours = append(cases, c), append(ours, in)
	}
	var inside uint64
	for i, theirs := range askGEOS[[]bool](t, cases) {
		for k := range theirs {
			if theirs[k] {
				inside++
			}
			if ours[i][k] != theirs[k] {
				t.Errorf("case %d: %v inside is %v, GEOS says %v", i, cases[i].Q[k], ours[i][k], theirs[k])
			}
		}
	}
	if inside < 25*seeds {
		t.Errorf("only %d points inside", inside)
	}
}

func TestGEOSCrossings(t *testing.T) {
	t.Parallel()
	var cases []geosCase
	var ours [][]Crossing
	seeds := sampled(60, 200)
	for seed := range seeds {
		r := seeded(seed)
		p, q := anyPath(r, 3, 300), anyPath(r, 3, 300)
		cases = append(cases, geosCase{Kind: "crossings", P: p.Flatten(geosChord), Q: q.Flatten(geosChord)})
		ours = append(ours, p.Crossings(q))
	}
	var found uint64
	for i, theirs := range askGEOS[[][2]float64](t, cases) {
		if theirs == nil {
			continue // chords on top of each other
		}
		found += uint64(len(theirs))
		if len(ours[i]) != len(theirs) {
			t.Errorf("case %d: %d crossings, GEOS %d", i, len(ours[i]), len(theirs))
			continue
		}
		for _, xy := range theirs {
			at := Pt(xy[0], xy[1])
			nearest := math.Inf(1)
			for _, c := range ours[i] {
				nearest = min(nearest, c.At.Dist(at))
			}
			if nearest > 0.2 { // chord error over the sine of the angle
				t.Errorf("case %d: GEOS crosses at %v, %.4f from ours", i, at, nearest)
			}
		}
	}
	if found < 4*seeds {
		t.Errorf("only %d crossings", found)
	}
}

func TestGEOSSimple(t *testing.T) {
	t.Parallel()
	var cases []geosCase
	var ours []bool
	seeds := sampled(90, 300)
	for seed := range seeds {
		r := seeded(seed)
		p := anyPath(r, 2, 300)
		if seed%2 == 0 {
			p = seam(r, 5, 1)
		}
		cases = append(cases, geosCase{Kind: "simple", P: p.Flatten(geosChord)})
		ours = append(ours, p.Simple())
	}
	var yes uint64
	for i, theirs := range askGEOS[bool](t, cases) {
		if theirs {
			yes++
		}
		if ours[i] != theirs {
			t.Errorf("seed %d: simple %v, GEOS says %v", i, ours[i], theirs)
		}
	}
	if yes < seeds/6 || yes > seeds*5/6 {
		t.Errorf("%d of %d simple", yes, seeds)
	}
}
