package style_test

import (
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// several are bodies of women and a man, in mm.
var several = []body.Measures{
	standard,
	{"bust_girth": 1220, "waist_girth": 1060, "hip_girth": 1270, "neck_base_girth": 420, "shoulder_length": 130,
		"back_width": 410, "nape_to_waist": 430, "waist_to_hip": 210, "upper_arm_girth": 380, "wrist_girth": 178,
		"arm_length": 590},
	{"bust_girth": 1060, "waist_girth": 940, "hip_girth": 1015, "neck_base_girth": 435, "shoulder_length": 150,
		"back_width": 415, "nape_to_waist": 475, "waist_to_hip": 200, "upper_arm_girth": 355, "wrist_girth": 175,
		"arm_length": 610},
}

// positions are the places of the notches on a run, mm along it as sewn and
// apart from its ends. Those of pleats and darts count where they close.
func positions(t *testing.T, p pattern.Pattern, name, run string) []float64 {
	t.Helper()
	q := piece(t, p, name)
	var sum float64
	var at []float64
	for _, e := range q.Edges {
		if e.Run != run {
			continue
		}
		for _, n := range q.Notches {
			if n.Edge == e.Name {
				at = append(at, sum+n.At)
			}
		}
		sum += e.Path.Length()
	}
	return at
}

// at reports whether a notch lies at mm along the run.
func at(positions []float64, want float64) bool {
	for _, v := range positions {
		if near(v, want, 0.1) {
			return true
		}
	}
	return false
}

// The text brings the notches of the back's pleat together at the centre: each
// lies as far from the fold as half the pleat is deep, where the yoke's centre
// comes.
func TestShirtBackPleatNotches(t *testing.T) {
	t.Parallel()
	for _, m := range several {
		p := drafted(t, "button-shirt", m, nil)
		back := piece(t, p, "back")
		i := back.EdgeIndex("yoke_seam")
		seam := back.Edges[i].Path
		fold := back.Edges[back.EdgeIndex("centre_back")].Path
		notch := seam.Start()
		if !at(positions(t, p, "back", "yoke_seam"), 0) {
			t.Errorf("no notch at the end of the pleat: %v", positions(t, p, "back", "yoke_seam"))
		}
		if got := fold.End().Dist(notch); !near(got, 20, 0.01) {
			t.Errorf("the pleat's notch lies %.2f mm from the fold, want 20", got)
		}
		if yoke := run(t, p, "yoke", "yoke_seam"); !near(seam.Length(), yoke, 0.01) {
			t.Errorf("the back is %.2f mm from the notch to the armhole, its yoke %.2f", seam.Length(), yoke)
		}
		if plain := drafted(t, "button-shirt", m, map[string]block.Value{"back": word("plain")}); piece(t, plain,
			"back").EdgeIndex("back_pleat") >= 0 {
			t.Error("a plain back has a pleat")
		}
	}
}

// The text folds the sleeve's pleats towards the slit: both lie in front of it,
// 25 mm away and 12 apart, with notches at the edge, and the sleeve as sewn is
// as long as the closed cuff.
func TestShirtSleevePleats(t *testing.T) {
	t.Parallel()
	for _, m := range several {
		p := drafted(t, "button-shirt", m, nil)
		sleeve := piece(t, p, "sleeve")
		slit := sleeve.Edges[sleeve.EdgeIndex("hem_back")].Path.Start()
		for i, want := range map[string]float64{"pleat_1": 25, "pleat_2": 25 + 20 + 12} {
			d := sleeve.Dart(i)
			if d == nil {
				t.Fatalf("no %s", i)
			}
			mouth := sleeve.Edges[sleeve.EdgeIndex(d.Mouth)].Path
			if got := mouth.End().Dist(slit); !near(got, want, 0.1) {
				t.Errorf("%s lies %.1f mm from the slit, want %.0f", i, got, want)
			}
			arrow := lineOf(t, sleeve, i+"_arrow")
			if arrow[0].P3.Dist(slit) > arrow[0].P0.Dist(slit) {
				t.Errorf("the arrow of %s points away from the slit", i)
			}
		}
		sewn := run(t, p, "sleeve", "hem_front") + run(t, p, "sleeve", "hem_back")
		if cuff := run(t, p, "cuff", "sleeve"); !near(sewn, cuff, 0.1) {
			t.Errorf("the sleeve is %.1f mm as sewn, its cuff %.1f", sewn, cuff)
		}
	}
}

// The gathers under the yoke lie between notches as far from the ends of the
// seam on the front as on the yoke.
func TestShirtYokeGathers(t *testing.T) {
	t.Parallel()
	p := drafted(t, "button-shirt", standard, map[string]block.Value{"bust": word("yoke_gathers")})
	front, yoke := run(t, p, "front", "yoke_front"), run(t, p, "yoke", "yoke_front")
	if front < yoke+15 {
		t.Errorf("the front's edge is %.1f mm, the yoke's %.1f: no gathers", front, yoke)
	}
	for _, end := range []float64{0.25 * yoke, -0.25 * yoke} {
		for name, whole := range map[string]float64{"front": front, "yoke": yoke} {
			want := end
			if end < 0 {
				want += whole
			}
			if got := positions(t, p, name, "yoke_front"); !at(got, want) {
				t.Errorf("%s: notches of the gathers at %.1f, want one at %.1f", name, got, want)
			}
		}
	}
}

func lineOf(t *testing.T, p pattern.Piece, name string) geom.Path {
	t.Helper()
	for _, l := range p.Lines {
		if l.Name == name {
			return l.Path
		}
	}
	t.Fatalf("piece %s has no line %s", p.Name, name)
	return nil
}
