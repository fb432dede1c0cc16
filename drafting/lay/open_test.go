package lay

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"tapeline/drafting/geom"
)

// Best published lengths, from the record layouts that accompany arXiv
// 2509.13329 (2025), found in up to 20 minutes on 16 cores.
var published = []struct {
	name   string
	length float64
}{
	{"shirts", 59.393}, {"trousers", 235.172}, {"swim", 5541.653}, {"albano", 9692.056},
	{"dagli", 56.087}, {"mao", 1696.802}, {"marques", 75.176},
}

// instance reads an open strip-packing instance (ESICUP, CC0) from the shared
// data.
func instance(t testing.TB, name string) ([]Item, float64) {
	t.Helper()
	file, err := os.ReadFile(filepath.Join("..", "..", "..", "shared", "data", "lay", name+".json"))
	if err != nil {
		t.Skipf("the open instances are not here: %v", err)
	}
	var in struct {
		Width float64 `json:"strip_width"`
		Items []struct {
			Demand    int
			Rotations []float64
			Polygon   [][2]float64
		}
	}
	if err := json.Unmarshal(file, &in); err != nil {
		t.Fatal(err)
	}
	var items []Item
	for _, it := range in.Items {
		var item Item
		for _, p := range it.Polygon {
			item.Outline = append(item.Outline, geom.Pt(p[0], p[1]))
		}
		if n := len(item.Outline); item.Outline[0] == item.Outline[n-1] {
			item.Outline = item.Outline[:n-1]
		}
		for _, r := range it.Rotations {
			item.Turns = append(item.Turns, r*math.Pi/180)
		}
		for range it.Demand {
			items = append(items, item)
		}
	}
	return items, in.Width
}

func area(items []Item) float64 {
	sum := 0.0
	for _, it := range items {
		sum += it.Outline.Area()
	}
	return sum
}

// The search is never longer than the bottom-left placing, overlaps nothing by
// GEOS's reckoning, stays on the strip, and gives the same lay every time.
func TestPackOpenInstances(t *testing.T) {
	t.Parallel()
	for _, b := range published {
		items, width := instance(t, b.name)
		plain, ok := BottomLeft(items, width)
		if !ok {
			t.Fatalf("%s: no bottom-left placing", b.name)
		}
		p, ok := Pack(t.Context(), items, width, Budget{Tries: 300, Seed: 1})
		if !ok || p.Length > plain.Length {
			t.Errorf("%s: packed %.3f, bottom-left %.3f", b.name, p.Length, plain.Length)
		}
		if p.Length < b.length*0.999 {
			t.Errorf("%s: %.3f is shorter than the best known %.3f: something overlaps", b.name, p.Length, b.length)
		}
		again, _ := Pack(t.Context(), items, width, Budget{Tries: 300, Seed: 1})
		if p.Length != again.Length {
			t.Errorf("%s: %.6f once and %.6f again", b.name, p.Length, again.Length)
		}
		for name, lay := range map[string]Placing{"bottom-left": plain, "packed": p} {
			checkByGEOS(t, b.name+" "+name, items, width, lay)
		}
	}
}

// checkByGEOS holds a lay against shapely: nothing overlaps, nothing leaves the
// strip.
func checkByGEOS(t *testing.T, name string, items []Item, width float64, p Placing) {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("shapely is required: %v", err)
		}
		t.Skip("shapely is not installed")
	}
	var laid [][][2]float64
	for i, it := range items {
		var o [][2]float64
		for _, q := range it.Outline {
			q = q.Rotate(geom.Point{}, p.Places[i].Turn).Add(p.Places[i].At)
			o = append(o, [2]float64{q.X, q.Y})
		}
		laid = append(laid, o)
	}
	input, err := json.Marshal(laid)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", `
import json, sys
from shapely.geometry import Polygon
from shapely.strtree import STRtree
shapes = [Polygon(p) for p in json.load(sys.stdin)]
worst = 0.0
for i, a in enumerate(shapes):
    for b in shapes[:i]:
        if a.intersects(b):
            worst = max(worst, a.intersection(b).area)
xs = [c for s in shapes for c in s.exterior.coords]
print(worst, min(x for x, _ in xs), max(x for x, _ in xs), min(y for _, y in xs), max(y for _, y in xs))`)
	cmd.Stdin = bytes.NewReader(input)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var overlap, left, right, low, high float64
	if _, err := fmt.Sscan(string(out), &overlap, &left, &right, &low, &high); err != nil {
		t.Fatal(err)
	}
	slack := 1e-6 * width
	if overlap > slack*slack*1e6 || left < -slack || right > p.Length+slack || low < -slack || high > width+slack {
		t.Errorf("%s: overlap %g, x from %g to %g of %g, y from %g to %g of %g", name, overlap, left, right, p.Length, low, high, width)
	}
}

func TestTooWide(t *testing.T) {
	t.Parallel()
	square := Item{Outline: Polygon{geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(10, 10), geom.Pt(0, 10)}, Turns: []float64{0}}
	if _, ok := Pack(t.Context(), []Item{square}, 9, Budget{Tries: 10}); ok {
		t.Error("a square of 10 lay on a strip of 9")
	}
	p, ok := Pack(t.Context(), []Item{square, square, square}, 20, Budget{Tries: 200})
	if !ok || math.Abs(p.Length-20) > 1e-6 {
		t.Errorf("three squares of 10 on a strip of 20 take %g", p.Length)
	}
}

// Ten seconds on one core for each instance, beside the best published:
//
//	go test ./drafting/lay -run - -bench Open -benchtime 1x -cpu 1
func BenchmarkOpenInstances(b *testing.B) {
	for _, in := range published {
		b.Run(in.name, func(b *testing.B) {
			items, width := instance(b, in.name)
			for b.Loop() {
				ctx, cancel := context.WithTimeout(b.Context(), 10*time.Second)
				p, _ := Pack(ctx, items, width, Budget{Tries: math.MaxInt, Seed: 1})
				cancel()
				used := 100 * area(items) / width
				b.ReportMetric(used/p.Length, "%used")
				b.ReportMetric(used/in.length, "%best")
			}
		})
	}
}
