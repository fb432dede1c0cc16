package drafting_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fitting"
	"tapeline/drafting/form"
)

// meshed reads one of the bodies that have a surface, and its measurements in cm.
func meshed(t *testing.T, name string) (*form.Form, map[string]float64) {
	t.Helper()
	const dir = "../../shared/data/forms/"
	mesh, err := os.ReadFile(dir + name + ".obj")
	if err != nil {
		t.Skip(err)
	}
	about, err := os.ReadFile(dir + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	f, err := form.Read(t.Context(), bytes.NewReader(mesh), bytes.NewReader(about))
	if err != nil {
		t.Fatal(err)
	}
	var of struct{ Measurements map[string]float64 }
	if err := json.Unmarshal(about, &of); err != nil {
		t.Fatal(err)
	}
	return f, of.Measurements
}

// TestTryOnFormAndMesh tries dresses on three bodies' own surfaces and on forms of
// their measurements: worn girths agree within a per cent, and much the same is found.
func TestTryOnFormAndMesh(t *testing.T) {
	for _, name := range sampled([]string{"w-full-bust", "w-average", "w-petite"}) {
		mesh, cm := meshed(t, name)
		o := tried(t, "shift-dress", `"sleeve": "none"`)
		clear(o.Measurements)
		for n, v := range cm {
			if _, ok := body.Lookup(body.Name(n)); ok {
				o.Measurements[body.Name(n)] = 10 * v
			}
		}
		made, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{})
		if err != nil {
			t.Fatal(err)
		}
		own, err := drafting.TryOn(t.Context(), o, drafting.FittingOptions{Form: mesh})
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range made.Levels {
			t.Logf("%s, %s: %.1f mm on the form, %.1f on the mesh, cut %.1f", name, l.Name, l.Worn, own.Levels[i].Worn, l.Cut)
			if math.Abs(l.Worn/own.Levels[i].Worn-1) > 0.01 {
				t.Errorf("%s, %s: %.1f mm on the form, %.1f on the mesh", name, l.Name, l.Worn, own.Levels[i].Worn)
			}
		}
		// What is found on one and not on the other was read there too, nearly as large.
		for _, c := range fitting.Changes(made.Report(""), own.Report("")) {
			most := map[string]float64{"%": 1.2, "mm": 4}[c.Unit]
			if c.Before == nil || c.After == nil || math.Abs(*c.Before-*c.After) > most {
				t.Errorf("%s, %s, %s: %+v", name, c.Kind, c.Place, c)
			} else {
				t.Logf("%s, %s, %s: %.1f %s on the form, %.1f on the mesh", name, c.Kind, c.Place, *c.Before, c.Unit, *c.After)
			}
		}
	}
}
