package cloth

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"reflect"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
)

// fewTries is a budget for tests of what holds whatever the budget.
const fewTries = 20_000

// Every garment, on a single layer and on the fold, with a nap and without: no
// longer than the plain placing, every copy of every piece there, nothing
// overlapping or off the cloth by GEOS's reckoning, the grain along the cloth.
func TestLayEveryOrder(t *testing.T) {
	t.Parallel()
	for name, p := range ordertest.Patterns(t) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, way := range []struct {
				spread Spread
				nap    Nap
			}{{Single, TwoWay}, {Single, OneWay}, {Fold, TwoWay}, {Fold, OneWay}} {
				o := On(1700) // the robe is wide
				o.Cloth.Spread, o.Cloth.Nap = way.spread, way.nap
				o.Cloth.ShrinkageWarp, o.Cloth.ShrinkageWeft = 4, 2
				plan, err := newPlan(t.Context(), p, o, fewTries)
				if err != nil {
					t.Fatal(err)
				}
				copies := map[[2]string]int{}
				var sections []Section
				for _, l := range plan.Cloths {
					if l.Length > l.BottomLeft*(1+1e-9) {
						t.Errorf("%s %s %s: %.1f long, plain %.1f", l.Name, way.spread, way.nap, l.Length, l.BottomLeft)
					}
					if l.Used <= 0 || l.Used > 1 {
						t.Errorf("%s %s: %g of the cloth used", l.Name, way.spread, l.Used)
					}
					laid := 0.0
					for _, s := range l.Sections {
						laid += s.Length
						if s.Folded && way.spread == Single {
							t.Errorf("%s: folded where a single layer was asked for", l.Name)
						}
						for _, q := range s.Pieces {
							checkLaid(t, q, s, way.nap)
							n := q.Layers
							if q.OnFold {
								n = 1
							}
							copies[[2]string{l.Name, q.Name}] += n
						}
					}
					if math.Abs(l.Length*0.96-laid) > 1e-6 {
						t.Errorf("%s: %.1f to buy for a lay of %.1f that shrinks by 4 %%", l.Name, l.Length, laid)
					}
					sections = append(sections, l.Sections...)
				}
				for _, q := range p.Pieces {
					cloth := q.Cloth
					if cloth == "" {
						cloth = "shell"
					}
					want := q.Cut.Count
					if cloth == "interfacing" {
						want += q.Interfacing
					} else if got := copies[[2]string{"interfacing", q.Name}]; got != q.Interfacing {
						t.Errorf("%s is laid %d times on interfacing, cut %d times", q.Name, got, q.Interfacing)
					}
					if got := copies[[2]string{cloth, q.Name}]; got != want {
						t.Errorf("%s %s: %s is laid %d times, cut %d times", way.spread, way.nap, q.Name, got, want)
					}
				}
				checkByGEOS(t, sections)
			}
		})
	}
}

// checkLaid holds a piece's grain and fold against the cloth's.
func checkLaid(t *testing.T, q Laid, s Section, nap Nap) {
	t.Helper()
	if g := q.Grain; g.P0 != g.P3 {
		u := g.P3.Sub(g.P0).Unit()
		if math.Abs(u.Y) > 1e-6 || nap == OneWay && u.X < 0 {
			t.Errorf("%s: the grain runs along (%.3f, %.3f) of the cloth, nap %s", q.Name, u.X, u.Y, nap)
		}
	}
	if b := q.CutLine.Bounds(); q.OnFold && (!s.Folded || math.Abs(b.Min.Y) > 0.3) {
		t.Errorf("%s: its fold lies %.2f mm from that of the cloth", q.Name, b.Min.Y)
	}
}

// checkByGEOS lets shapely say whether the cut lines themselves, flattened
// finely, stay on the cloth and apart.
func checkByGEOS(t *testing.T, sections []Section) {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("shapely is required: %v", err)
		}
		t.Skip("shapely is not installed")
	}
	type section struct {
		Width, Length float64
		Pieces        [][][2]float64
	}
	var all []section
	for _, s := range sections {
		out := section{Width: s.Width, Length: s.Length}
		for _, q := range s.Pieces {
			var line [][2]float64
			for _, p := range q.CutLine.Flatten(0.02) {
				line = append(line, [2]float64{p.X, p.Y})
			}
			out.Pieces = append(out.Pieces, line)
		}
		all = append(all, out)
	}
	input, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", `
import json, sys
from shapely.geometry import Polygon
from shapely.strtree import STRtree
nearest, off = 1e9, 0.0
for s in json.load(sys.stdin):
    shapes = [Polygon(p) for p in s["Pieces"]]
    for i, a in enumerate(shapes):
        x0, y0, x1, y1 = a.bounds
        off = max(off, -x0, -y0, x1 - s["Length"], y1 - s["Width"])
        for b in shapes[:i]:
            nearest = min(nearest, a.distance(b))
print(json.dumps({"Nearest": nearest, "Off": off}))`)
	cmd.Stdin = bytes.NewReader(input)
	answer, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var found struct{ Nearest, Off float64 }
	if err := json.Unmarshal(answer, &found); err != nil {
		t.Fatal(err)
	}
	// The outline that is laid may lie strayIn inside the cut line.
	if found.Nearest < Gap-2*strayIn-0.05 {
		t.Errorf("two pieces lie %.2f mm apart", found.Nearest)
	}
	if found.Off > strayIn+0.05 {
		t.Errorf("a piece reaches %.2f mm over the cloth's edge", found.Off)
	}
}

// The same pattern and cloth give the same plan.
func TestSamePlanAgain(t *testing.T) {
	t.Parallel()
	p := ordertest.Patterns(t)["torso"]
	once, err := newPlan(t.Context(), p, On(1400), fewTries)
	if err != nil {
		t.Fatal(err)
	}
	again, err := newPlan(t.Context(), p, On(1400), fewTries)
	if err != nil || !reflect.DeepEqual(once, again) {
		t.Errorf("another plan the second time, %v", err)
	}
}

// Pieces that do not fit are all named, with their numbers.
func TestTooWide(t *testing.T) {
	t.Parallel()
	p := ordertest.Patterns(t)["torso"]
	_, err := newPlan(t.Context(), p, On(400), fewTries)
	faults, ok := err.(fault.List)
	if !ok || len(faults) == 0 {
		t.Fatalf("the torso lies on cloth 40 cm wide: %v", err)
	}
	for _, f := range faults {
		var named bool
		for i, q := range p.Pieces {
			named = named || strings.Contains(f.Accepted, "piece "+string(rune('1'+i))+", "+q.Name+",")
		}
		if !named || f.Field != "/fabric_width" {
			t.Errorf("%v names no piece", f)
		}
	}
	// What the fault says would do does, and a millimetre less does not.
	var need float64
	for _, f := range faults {
		words := strings.Fields(f.Accepted)
		for i, w := range words {
			if w == "mm" {
				var v float64
				if err := json.Unmarshal([]byte(words[i-1]), &v); err != nil {
					t.Fatal(err)
				}
				need = max(need, v)
			}
		}
	}
	if _, err := newPlan(t.Context(), p, On(need), fewTries); err != nil {
		t.Errorf("on %g mm, which was said to do: %v", need, err)
	}
	if _, err := newPlan(t.Context(), p, On(need-2), fewTries); err == nil {
		t.Errorf("on %g mm too", need-2)
	}
}

func TestParseOptions(t *testing.T) {
	t.Parallel()
	o, err := ParseOptions(map[string][]string{
		"fabric_width": {"140", "lining=55.5"}, "nap": {"one-way", "lining=two-way"},
		"fabric": {"fold"}, "shrinkage": {"3/1.5"}, "selvedge": {"interfacing=0"},
	}, body.Centimetre)
	if err != nil {
		t.Fatal(err)
	}
	shell := Cloth{Width: 1400, Selvedge: 10, ShrinkageWarp: 3, ShrinkageWeft: 1.5, Nap: OneWay, Spread: Fold}
	lining, interfacing := shell, shell
	lining.Width, lining.Nap = 555, TwoWay
	interfacing.Selvedge = 0
	if o.of("shell") != shell || o.of("lining") != lining || o.of("interfacing") != interfacing {
		t.Errorf("read as %+v", o)
	}
	for field, values := range map[string]string{"fabric_width": "wide", "nap": "up", "fabric": "double", "shrinkage": "3", "selvedge": "x"} {
		said := map[string][]string{"fabric_width": {"140"}}
		said[field] = append(said[field], values)
		_, err := ParseOptions(said, body.Inch)
		if err == nil || !strings.Contains(err.Error(), "/"+field) || !strings.Contains(err.Error(), values) {
			t.Errorf("%s %q: %v", field, values, err)
		}
	}
	if _, err := ParseOptions(nil, body.Inch); err == nil {
		t.Error("no width, and no fault")
	}
	if _, err := New(t.Context(), ordertest.Patterns(t)["torso"], Options{Cloth: Cloth{}, Cloths: map[string]Cloth{"velvet": {}}}); err == nil ||
		!strings.Contains(err.Error(), "velvet") || !strings.Contains(err.Error(), "/fabric_width") {
		t.Errorf("a cloth that the pattern has not, of no width: %v", err)
	}
}

// A band is the same both ways, a yoke drawn as its half is not.
func TestSymmetric(t *testing.T) {
	t.Parallel()
	box := func(points ...geom.Point) []geom.Point { return points }
	for _, c := range []struct {
		what string
		line []geom.Point
		same bool
	}{
		{"a band", box(geom.Pt(0, 0), geom.Pt(400, 0), geom.Pt(400, 60), geom.Pt(0, 60)), true},
		{"a yoke", box(geom.Pt(0, 0), geom.Pt(400, 0), geom.Pt(380, 60), geom.Pt(0, 60)), false},
	} {
		if got := symmetric(c.line); got != c.same {
			t.Errorf("%s is the same both ways: %v", c.what, got)
		}
	}
}

func BenchmarkPlan(b *testing.B) {
	data, err := os.ReadFile("../../testdata/orders/shift-dress.json")
	if err != nil {
		b.Fatal(err)
	}
	o, err := drafting.ParseOrder(data)
	if err != nil {
		b.Fatal(err)
	}
	p, err := drafting.Draft(o)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := New(b.Context(), p, On(1400)); err != nil {
			b.Fatal(err)
		}
	}
}
