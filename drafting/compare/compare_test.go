package compare_test

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/compare"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/pattern"
)

// draft is the sample order's pattern with a change to its ease, mm.
func draft(t testing.TB, ease map[string]float64, choices ...string) finish.Pattern {
	t.Helper()
	o := ordertest.Order(t, "torso")
	o.Ease = ease
	for i := 0; i+1 < len(choices); i += 2 {
		v := o.Choices[choices[i]]
		v.Word = choices[i+1]
		o.Choices[choices[i]] = v
	}
	p, err := drafting.Draft(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func difference(t *testing.T, was, now finish.Pattern) compare.Difference {
	t.Helper()
	d, err := compare.Patterns(t.Context(), was, now)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestSameDraftDoesNotMove(t *testing.T) {
	t.Parallel()
	d := difference(t, draft(t, nil), draft(t, nil))
	if !d.Unchanged() || d.Largest() != 0 {
		t.Errorf("the same draft twice differs: %+v", d)
	}
}

// Bust ease 20 mm more gives each of the four quarter panels 5 mm (arithmetic),
// the back a little less and the front a little more, as the balance has it,
// and leaves the necklines alone.
func TestMoreBustEase(t *testing.T) {
	t.Parallel()
	d := difference(t, draft(t, map[string]float64{"bust_girth": 70}), draft(t, map[string]float64{"bust_girth": 90}))
	for _, p := range d.Pieces {
		if p.Name == "sleeve" {
			continue
		}
		if p.Move.Largest < 4 || p.Move.Largest > 7 {
			t.Errorf("%s moves by %.2f mm at most, want about 5", p.Name, p.Move.Largest)
		}
	}
	// The back's bust line ends at the side seam, which no dart cuts there.
	bust := func(ease float64) float64 {
		back := draft(t, map[string]float64{"bust_girth": ease}).Pieces[0]
		i := slices.IndexFunc(back.Lines, func(l pattern.Line) bool { return l.Name == "bust" })
		return back.Lines[i].Path.Length()
	}
	if by := bust(90) - bust(70); math.Abs(by-5) > 0.6 {
		t.Errorf("the back's bust line changes by %.3f mm, want about 5", by)
	}
	found := false
	for _, c := range d.Measures {
		if c.Name == "bust_girth" {
			found = true
			// The bust is read where the side dart's edge is redrawn over the closed
			// dart, which moves the side seam by thousandths of a millimetre.
			if quarter := (c.Now - c.Was) / 4; math.Abs(quarter-5) > 0.003 {
				t.Errorf("a quarter panel changes by %.4f mm, want 5", quarter)
			}
		}
		if c.Name == "neck_base_girth" {
			t.Errorf("the neckline changes by %.3f mm", c.Now-c.Was)
		}
	}
	if !found {
		t.Error("the change of bust girth is not listed")
	}
	for _, c := range d.Edges {
		if strings.Contains(c.Name, "neckline") || strings.Contains(c.Name, "shoulder") {
			t.Errorf("%s changes from %.3f to %.3f mm", c.Name, c.Was, c.Now)
		}
	}
}

func TestPiecesThatComeAndGo(t *testing.T) {
	t.Parallel()
	d := difference(t, draft(t, nil), draft(t, nil, "sleeve", "none", "armhole", "for_sleeve"))
	if len(d.Gone) != 1 || d.Gone[0] != "sleeve" || len(d.Added) != 0 {
		t.Errorf("gone %v, added %v", d.Gone, d.Added)
	}
	if d.Largest() > 0.01 {
		t.Errorf("the torso without its sleeve moves by %.3f mm", d.Largest())
	}
}

// An outline that was only shifted lies on itself again.
func TestShiftIsNoMove(t *testing.T) {
	t.Parallel()
	for _, p := range draft(t, nil).Pieces {
		by := geom.Pt(37, -12)
		m := compare.Outlines(p.Outline(), p.Outline().Move(geom.Shift(by)))
		if m.Largest > 0.01 || !m.Shift.Near(by, 0.01) {
			t.Errorf("%s shifted by %v: found %v, largest %.4f mm", p.Name, by, m.Shift, m.Largest)
		}
	}
}

// Hausdorff distance and area by GEOS, through shapely.
func TestAgainstGEOS(t *testing.T) {
	t.Parallel()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("shapely is required: %v", err)
		}
		t.Skip("shapely is not installed")
	}
	was, now := draft(t, nil), draft(t, map[string]float64{"bust_girth": 110, "hip_girth": 20, "upper_arm_girth": 80,
		"neck_base_girth": 20})
	type pair struct{ Was, Now [][2]float64 }
	var pairs []pair
	var moves []compare.Move
	points := func(p geom.Path, by geom.Point) [][2]float64 {
		var out [][2]float64
		for _, q := range p.Flatten(0.005) {
			out = append(out, [2]float64{q.X + by.X, q.Y + by.Y})
		}
		return out
	}
	for i, p := range now.Pieces {
		m := compare.Outlines(was.Pieces[i].Outline(), p.Outline())
		moves = append(moves, m)
		pairs = append(pairs, pair{points(was.Pieces[i].Outline(), m.Shift), points(p.Outline(), geom.Point{})})
	}
	input, err := json.Marshal(pairs)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", `
import json, sys
from shapely.geometry import LinearRing, Polygon
out = []
for p in json.load(sys.stdin):
    a, b = LinearRing(p["Was"]), LinearRing(p["Now"])
    points = [b.interpolate(i * 0.5) for i in range(int(b.length * 2))]
    back = [a.interpolate(i * 0.5) for i in range(int(a.length * 2))]
    there, here = [a.distance(q) for q in points], [b.distance(q) for q in back]
    out.append([max(max(there), max(here)), Polygon(p["Now"]).area, sum(there + here) / len(there + here)])
print(json.dumps(out))`)
	cmd.Stdin = strings.NewReader(string(input))
	raw, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want [][3]float64
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatal(err)
	}
	for i, p := range now.Pieces {
		if got := moves[i].Largest; math.Abs(got-want[i][0]) > 0.05 {
			t.Errorf("%s moves by %.3f mm, by GEOS %.3f", p.Name, got, want[i][0])
		}
		if got := moves[i].Mean; math.Abs(got-want[i][2]) > 0.02 {
			t.Errorf("%s moves by %.3f mm in the mean, by GEOS %.3f", p.Name, got, want[i][2])
		}
		if got := p.Outline().Area(); math.Abs(got-want[i][1]) > 1e-4*want[i][1] {
			t.Errorf("%s has %.1f mm², by GEOS %.1f", p.Name, got, want[i][1])
		}
	}
}

func BenchmarkPatterns(b *testing.B) {
	was, now := draft(b, nil), draft(b, map[string]float64{"bust_girth": 90})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := compare.Patterns(b.Context(), was, now); err != nil {
			b.Fatal(err)
		}
	}
}
