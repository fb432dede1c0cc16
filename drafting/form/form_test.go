package form

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

const formsDir = "../../../shared/data/forms/"

// surface reads one of the bodies with a surface, and its measurements in cm.
func surface(t testing.TB, name string) (*Form, map[string]float64) {
	t.Helper()
	mesh, err := os.ReadFile(formsDir + name + ".obj")
	if err != nil {
		t.Skip(err)
	}
	about, err := os.ReadFile(formsDir + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	f, err := Read(t.Context(), bytes.NewReader(mesh), bytes.NewReader(about))
	if err != nil {
		t.Fatal(err)
	}
	var of struct{ Measurements map[string]float64 }
	if err := json.Unmarshal(about, &of); err != nil {
		t.Fatal(err)
	}
	return f, of.Measurements
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
