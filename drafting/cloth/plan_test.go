package cloth

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"tapeline/drafting/body"
	"tapeline/drafting/ctxtest"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/shapelytest"
)

// fewTries is a budget for tests that do not depend on the budget.
const fewTries = 20_000

// way is a way of spreading cloth and laying pieces on it.
type way struct {
	spread Spread
	nap    Nap
}

// Every garment, on a single layer and on the fold, with a nap and without: the
// lay is no longer than the bottom-left packing, every copy of every piece is
// there, by GEOS nothing overlaps or leaves the cloth, and the grain runs along
// the cloth. Each garment is laid in one of the ways, with TAPELINE_WHOLE=1 in
// all of them.
func TestPlanEveryOrder(t *testing.T) {
	t.Parallel()
	ways := []way{{Single, TwoWay}, {Fold, OneWay}, {Fold, TwoWay}, {Single, OneWay}}
	patterns := ordertest.Patterns(t)
	for i, name := range slices.Sorted(maps.Keys(patterns)) {
		tried := ways[i%len(ways):][:1]
		if os.Getenv("TAPELINE_WHOLE") != "" {
			tried = ways
		}
		for _, w := range tried {
			t.Run(fmt.Sprintf("%s %s %s", name, w.spread, w.nap), func(t *testing.T) {
				t.Parallel()
				checkWay(t, patterns[name], w)
			})
		}
	}
}

// checkWay plans a pattern in one way and checks the plan.
func checkWay(t *testing.T, p finish.Pattern, w way) {
	o := On(1700) // the robe is wide
	o.Cloth.Spread, o.Cloth.Nap = w.spread, w.nap
	o.Cloth.ShrinkageWarp, o.Cloth.ShrinkageWeft = 4, 2
	plan, err := newPlan(t.Context(), p, o, fewTries)
	if err != nil {
		t.Fatal(err)
	}
	copies := map[[2]string]int{} // by cloth and piece
	var sections []Section
	for _, l := range plan.Cloths {
		if l.Length > l.BottomLeft*(1+1e-9) {
			t.Errorf("%s: %.1f long, bottom-left %.1f", l.Name, l.Length, l.BottomLeft)
		}
		if l.Used <= 0 || l.Used > 1 {
			t.Errorf("%s: %g of the cloth used", l.Name, l.Used)
		}
		total := 0.0
		for _, s := range l.Sections {
			total += s.Length
			if s.Folded && w.spread == Single {
				t.Errorf("%s: folded, want a single layer", l.Name)
			}
			for _, q := range s.Pieces {
				checkPlacement(t, q, s, w.nap)
				n := q.Layers
				if q.OnFold {
					n = 1
				}
				copies[[2]string{l.Name, q.Name}] += n
			}
		}
		if math.Abs(l.Length*0.96-total) > 1e-6 {
			t.Errorf("%s: %.1f to buy for a lay of %.1f that shrinks by 4 %%", l.Name, l.Length, total)
		}
		sections = append(sections, l.Sections...)
	}
	for _, q := range p.Pieces {
		want := q.Cut.Count
		if Of(q) == Interfacing {
			want += q.Interfacing
		} else if got := copies[[2]string{Interfacing, q.Name}]; got != q.Interfacing {
			t.Errorf("%s lies %d times on interfacing, want %d", q.Name, got, q.Interfacing)
		}
		if got := copies[[2]string{Of(q), q.Name}]; got != want {
			t.Errorf("%s lies %d times on %s, want %d", q.Name, got, Of(q), want)
		}
	}
	checkByGEOS(t, sections)
}

// checkPlacement compares a piece's grain and fold with the cloth's.
func checkPlacement(t *testing.T, q Placement, s Section, nap Nap) {
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

// checkByGEOS lets shapely check that the cut lines, finely flattened, stay on the
// cloth and apart.
func checkByGEOS(t *testing.T, sections []Section) {
	t.Helper()
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
	type answer struct{ Nearest, Off float64 }
	found := shapelytest.Ask[answer](t, all, "-c", `
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
	// The packed outline may lie strayIn inside the cut line.
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
		t.Errorf("the second plan differs: %v", err)
	}
}

// A cancelled context ends the search within 100 ms.
func TestPlanEndsWithItsContext(t *testing.T) {
	t.Parallel()
	p := ordertest.Patterns(t)["shift-dress"]
	ctxtest.EndsInTime(t, func(ctx context.Context) error {
		_, err := newPlan(ctx, p, On(1400), math.MaxInt32)
		return err
	}, 0, 10*time.Millisecond, 50*time.Millisecond, 200*time.Millisecond)
}

// The error names every piece that does not fit, with its number, and the width
// that it names is enough.
func TestTooWide(t *testing.T) {
	t.Parallel()
	p := ordertest.Patterns(t)["torso"]
	_, err := newPlan(t.Context(), p, On(400), fewTries)
	faults, ok := errors.AsType[fault.List](err)
	if !ok || len(faults) == 0 {
		t.Fatalf("on cloth 40 cm wide: %v", err)
	}
	for _, f := range faults {
		var named bool
		for i, q := range p.Pieces {
			named = named || strings.Contains(f.Accepted, "piece "+string(rune('1'+i))+", "+q.Name+",")
		}
		if !named || f.Field != "/cloth_width" {
			t.Errorf("%v names no piece", f)
		}
	}
	// The named width is enough, and less is not.
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
		t.Errorf("on %g mm, the width that the fault names: %v", need, err)
	}
	if _, err := newPlan(t.Context(), p, On(need-2), fewTries); err == nil {
		t.Errorf("no fault on %g mm", need-2)
	}
}

func TestParseOptions(t *testing.T) {
	t.Parallel()
	o, err := ParseOptions(map[string][]string{
		"cloth_width": {"140", "lining=55.5"}, "nap": {"one-way", "lining=two-way"},
		"spread": {"fold"}, "shrinkage": {"3/1.5"}, "selvedge": {"interfacing=0"},
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
	for field, values := range map[string]string{
		"cloth_width": "wide", "nap": "up", "spread": "double", "shrinkage": "3", "selvedge": "x",
	} {
		given := map[string][]string{"cloth_width": {"140"}}
		given[field] = append(given[field], values)
		_, err := ParseOptions(given, body.Inch)
		if err == nil || !strings.Contains(err.Error(), "/"+field) || !strings.Contains(err.Error(), values) {
			t.Errorf("%s %q: %v", field, values, err)
		}
	}
	if _, err := ParseOptions(nil, body.Inch); err == nil {
		t.Error("no fault without a width")
	}
	torso := ordertest.Patterns(t)["torso"]
	if _, err := NewPlan(t.Context(), torso, Options{Cloths: map[string]Cloth{"velvet": {}}}); err == nil ||
		!strings.Contains(err.Error(), "velvet") || !strings.Contains(err.Error(), "/cloth_width") {
		t.Errorf("with a cloth that the pattern does not use, and without a width: %v", err)
	}
}

// A band is symmetric about its grain, a yoke drawn as its half is not.
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
			t.Errorf("%s is symmetric: %v", c.what, got)
		}
	}
}

func BenchmarkPlan(b *testing.B) {
	p := ordertest.Pattern(b, "shift-dress")
	for b.Loop() {
		if _, err := NewPlan(b.Context(), p, On(1400)); err != nil {
			b.Fatal(err)
		}
	}
}
