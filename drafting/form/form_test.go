package form

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

const formsDir = "../../../shared/data/forms/"

// surface reads one of the bodies with a surface.
func surface(t testing.TB, name string) (*Form, map[string]float64) {
	t.Helper()
	file, err := os.Open(formsDir + name + ".obj")
	if err != nil {
		t.Skip(err)
	}
	defer file.Close()
	points, triangles, err := ReadOBJ(file)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(formsDir + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var about struct {
		Measurements map[string]float64
		Landmarks    map[Landmark][3]float64 `json:"landmarks_mm"`
	}
	if err := json.Unmarshal(data, &about); err != nil {
		t.Fatal(err)
	}
	landmarks := map[Landmark]r3.Vec{}
	for name, p := range about.Landmarks {
		landmarks[name] = r3.Vec{X: p[0], Y: p[1], Z: p[2]}
	}
	f, err := New(t.Context(), points, triangles, landmarks)
	if err != nil {
		t.Fatal(err)
	}
	return f, about.Measurements
}

// TestGirths compares the girths of three meshes with those that came with them.
func TestGirths(t *testing.T) {
	for _, name := range []string{"w-average", "w-full-bust", "w-petite"} {
		f, m := surface(t, name)
		for girth, level := range map[string]string{
			"bust_girth": "bust_height", "waist_girth": "waist_height", "hip_girth": "hip_height",
		} {
			if got, want := f.TrunkGirth(10*m[level]), 10*m[girth]; math.Abs(got-want) > 5 {
				t.Errorf("%s: %s %.1f mm, want %.1f", name, girth, got, want)
			}
		}
	}
}

// TestDistance compares the distances of the lattice with those from the nearest
// triangle.
func TestDistance(t *testing.T) {
	f, _ := surface(t, "w-average")
	worst := 0.0
	for i := 0; i < len(f.Triangles); i += 37 {
		tri := f.Triangles[i]
		a, b, c := f.Points[tri[0]], f.Points[tri[1]], f.Points[tri[2]]
		n := r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		mid := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		if mid.Y < 800 || mid.Y > 1250 || math.Abs(mid.X) > 150 {
			continue // hands, feet and face have finer parts than the lattice
		}
		d, out := f.Distance(mid)
		worst = max(worst, math.Abs(d))
		if r3.Dot(n, out) < 0.7 {
			t.Errorf("triangle %d: direction %v, want %v", i, out, n)
		}
	}
	t.Logf("worst %.2f mm", worst)
	if worst > 1.5 {
		t.Errorf("a point of the surface is %.2f mm from it", worst)
	}
}

func BenchmarkField(b *testing.B) {
	f, _ := surface(b, "w-average")
	b.ResetTimer()
	for b.Loop() {
		_, _ = newField(b.Context(), f.Points, f.Triangles)
	}
}
