package nesting

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"tapeline/drafting/geom"
)

// instance is a set of items and the width of the strip to pack them on.
type instance struct {
	name  string
	items []Item
	width float64
	best  float64 // the best published length, or 0
}

// instances are made up for the tests: boxes, pieces with hollows like armholes
// and trouser legs, and items that stay face up or lie on the edge.
func instances() []instance {
	r := rand.New(rand.NewPCG(11, 11))
	half, free := []float64{0, math.Pi}, []float64{0, math.Pi / 2, math.Pi, 3 * math.Pi / 2}
	var boxes, bodices, legs, stars []Item
	for i := range 6 {
		w, h := 20+60*r.Float64(), 20+40*r.Float64()
		box := Item{Outline: Polygon{{}, geom.Pt(w, 0), geom.Pt(w, h), geom.Pt(0, h)}, Turns: free[:1+i%4]}
		boxes = append(boxes, box, box)

		bodice := Item{Outline: Polygon{
			{}, geom.Pt(60, 0), geom.Pt(60, 20+4*r.Float64()), geom.Pt(48, 26), geom.Pt(46, 36), geom.Pt(20, 40),
			geom.Pt(12, 30),
			geom.Pt(0, 28+6*r.Float64()),
		}, Turns: half, Mirrored: i%2 == 0, OnEdge: i == 0}
		bodices = append(bodices, bodice, bodice)

		leg := Item{Outline: Polygon{
			{}, geom.Pt(100, 4), geom.Pt(100, 22), geom.Pt(35, 30), geom.Pt(28, 40+5*r.Float64()), geom.Pt(0, 34),
		}, Turns: half, Mirrored: true}
		legs = append(legs, leg)

		stars = append(stars, Item{Outline: star(r, 5+2*i), Turns: free})
	}
	return []instance{
		{name: "boxes", items: boxes, width: 120}, {name: "bodices", items: bodices, width: 75},
		{name: "legs", items: legs, width: 90}, {name: "stars", items: stars, width: 110},
	}
}

// star returns an outline with hollows.
func star(r *rand.Rand, corners int) Polygon {
	p := make(Polygon, corners)
	for i := range p {
		p[i] = geom.Polar(12+25*r.Float64(), 2*math.Pi*float64(i)/float64(corners))
	}
	return p
}

// published are open instances with the best published lengths, from the record
// layouts that accompany arXiv 2509.13329 (2025), found in up to 20 minutes on
// 16 cores.
var published = map[string]float64{
	"shirts": 59.393, "trousers": 235.172, "swim": 5541.653, "albano": 9692.056,
	"dagli": 56.087, "mao": 1696.802, "marques": 75.176,
}

// openInstances reads the open strip-packing instances (ESICUP, CC0) from the
// directory named by TAPELINE_INSTANCES. Without it, the test is skipped.
func openInstances(t testing.TB) []instance {
	t.Helper()
	dir := os.Getenv("TAPELINE_INSTANCES")
	if dir == "" {
		t.Skip("TAPELINE_INSTANCES does not name a directory with the open instances")
	}
	var all []instance
	for name, best := range published {
		file, err := os.ReadFile(filepath.Join(dir, name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, readInstance(t, name, best, file))
	}
	return all
}

// readInstance decodes one open instance.
func readInstance(t testing.TB, name string, best float64, file []byte) instance {
	t.Helper()
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
	out := instance{name: name, width: in.Width, best: best}
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
			out.items = append(out.items, item)
		}
	}
	return out
}

// area returns the total area of the items.
func area(items []Item) float64 {
	sum := 0.0
	for _, it := range items {
		sum += it.Outline.Area()
	}
	return sum
}
