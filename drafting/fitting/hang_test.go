package fitting_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/drape"
	"tapeline/drafting/fitting"
	"tapeline/drafting/form"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/pattern"
)

// ordinary is a woman of ordinary measures, cm.
const ordinary = `{"height": 168, "bust_girth": 94.5, "under_bust_girth": 79, "waist_girth": 76, "hip_girth": 102,
	"neck_base_girth": 37.5, "shoulder_length": 12.6, "back_width": 35.5, "nape_to_waist": 42, "waist_to_hip": 20.5,
	"upper_arm_girth": 29, "wrist_girth": 16, "arm_length": 59, "inside_leg": 78, "head_girth": 56.5}`

func orderOf(t *testing.T, style, choices string) drafting.Order {
	t.Helper()
	o, err := ordertest.Parse([]byte(`{"reference": "F-1", "unit": "cm", "fit": "regular", "measurements": ` + ordinary +
		`, "style": "` + style + `", "choices": {` + choices + `}}`))
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// formOf returns the form of an order's measurements.
func formOf(t *testing.T, o drafting.Order) (*form.Form, body.Body) {
	t.Helper()
	b, faults := body.NewIn(o.Unit, o.Measurements, nil, form.Needs)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	f, err := form.Make(t.Context(), b, true)
	if err != nil {
		t.Fatal(err)
	}
	return f, b
}

// medium returns the options of a common cloth.
func medium(t *testing.T) fitting.Options {
	t.Helper()
	cloth, ok := fitting.Cloth("medium-woven", false)
	if !ok {
		t.Fatal("no cloth medium-woven")
	}
	return fitting.Options{Cloth: cloth, Quick: true}
}

// TestHungUnfolded hangs panels beside each other, wherever they lie on paper. No
// triangle below the armpits is turned over or folded onto its neighbour.
func TestHungUnfolded(t *testing.T) {
	for _, test := range []struct{ style, choices string }{
		{"shift-dress", `"sleeve": "none"`},
		{"princess-dress", `"sleeve": "none"`},
		{"princess-dress", `"sleeve": "none", "flare": 12`},
		{"princess-dress", `"sleeve": "none", "seams_from": "armhole", "length": 110`},
		{"straight-skirt", ""},
		{"button-shirt", ""},
		{"flared-skirt", `"part": "quarter"`},
		{"flared-skirt", `"part": "half"`},
		{"flared-skirt", `"part": "full"`},
	} {
		t.Run(test.style+test.choices, func(t *testing.T) {
			o := orderOf(t, test.style, test.choices)
			drafted, err := drafting.Draft(t.Context(), o)
			if err != nil {
				t.Fatal(err)
			}
			p := pattern.Pattern{Seams: drafted.Seams}
			for _, q := range drafted.Pieces {
				p.Pieces = append(p.Pieces, q.Piece)
			}
			f, b := formOf(t, o)
			m, err := fitting.Begin(t.Context(), p, f, b, medium(t))
			if err != nil {
				t.Fatal(err)
			}
			unfolded(t, m, f)
		})
	}
}

// unfolded reports triangles below the armpits that are turned over, or folded onto their
// neighbour.
func unfolded(t *testing.T, m *drape.Mesh, f *form.Form) {
	t.Helper()
	mid := (f.Landmarks[form.CentreFrontWaist].Z + f.Landmarks[form.CentreBackWaist].Z) / 2
	armpit := f.Landmarks[form.Armpit].Y - 20
	side := map[[2]int]r3.Vec{}
	turned, folded := 0, 0
	for _, tri := range m.Triangles {
		a, b, c := m.Points[tri.Points[0]], m.Points[tri.Points[1]], m.Points[tri.Points[2]]
		n := r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		middle := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		if math.IsNaN(middle.X + middle.Y + middle.Z) {
			t.Fatalf("a triangle at %v, %v, %v", a, b, c)
		}
		if middle.Y < armpit && r3.Dot(n, r3.Vec{X: middle.X, Z: middle.Z - mid}) < 0 {
			turned++
		}
		for k := range 3 {
			i, j := tri.Points[k], tri.Points[(k+1)%3]
			if other, ok := side[[2]int{j, i}]; ok && middle.Y < armpit && r3.Dot(n, other) < math.Cos(150*math.Pi/180) {
				folded++
			}
			side[[2]int{i, j}] = n
		}
	}
	if turned > 0 || folded > 0 {
		t.Errorf("of %d triangles %d are turned over, and %d folded onto their neighbour", len(m.Triangles), turned, folded)
	}
}

func path(a, b geom.Point) geom.Path { return geom.Path{geom.Line(a, b)} }

// gored returns a skirt of gores, each drawn in a frame of its own, with a godet between
// front and side front.
func gored() pattern.Pattern {
	const long, slit = 600.0, 350.0
	gore := func(name string, at, top, hem float64, fold string) pattern.Piece {
		p := pattern.Piece{Name: name, Title: name, Grain: geom.Line(geom.Pt(at, 20), geom.Pt(at, long-20))}
		corner := []geom.Point{{X: at - top/2}, {X: at + top/2}, {X: at + hem/2, Y: long}, {X: at - hem/2, Y: long}}
		switch fold { // half of a piece
		case "left":
			corner[0].X, corner[1].X, corner[2].X, corner[3].X = at, at+top, at+hem, at
		case "right":
			corner[0].X, corner[1].X, corner[2].X, corner[3].X = at-top, at, at, at-hem
		}
		split := func(a, b geom.Point) geom.Point { return a.Add(b.Sub(a).Mul(slit / long)) }
		right, left := split(corner[1], corner[2]), split(corner[0], corner[3])
		add := func(name string, role pattern.Role, a, b geom.Point) {
			if fold != "" && strings.HasPrefix(name, fold) {
				role = pattern.RoleFold
			}
			p.Edges = append(p.Edges, pattern.Edge{Name: name, Run: name, Role: role, Path: path(a, b)})
		}
		add("waist", pattern.RoleSeam, corner[0], corner[1])
		add("right_upper", pattern.RoleSeam, corner[1], right)
		add("right_lower", pattern.RoleSeam, right, corner[2])
		add("hem", pattern.RoleHem, corner[2], corner[3])
		add("left_lower", pattern.RoleSeam, corner[3], left)
		add("left_upper", pattern.RoleSeam, left, corner[0])
		return p
	}
	front, back := gore("front", 0, 95, 150, "right"), gore("back", 700, 95, 150, "left")
	front.Lines = []pattern.Line{{Name: "waist", Path: path(geom.Pt(-95, 0), geom.Pt(0, 0))}}
	back.Lines = []pattern.Line{{Name: "waist", Path: path(geom.Pt(700, 0), geom.Pt(795, 0))}}
	sideFront, sideBack := gore("side_front", 0, 95, 200, ""), gore("side_back", 300, 95, 200, "")
	foot := geom.Pt(120, long-slit)
	lean := math.Hypot(150-95, long) * (1 - slit/long) // the length of the slit's edges
	half := 60.0
	tip := geom.Pt(120, foot.Y-math.Sqrt(lean*lean-half*half))
	godet := pattern.Piece{Name: "godet", Title: "Godet", Grain: geom.Line(tip, foot), Edges: []pattern.Edge{
		{Name: "right", Run: "right", Role: pattern.RoleSeam, Path: path(tip, geom.Pt(120+half, foot.Y))},
		{Name: "hem", Run: "hem", Role: pattern.RoleHem, Path: path(geom.Pt(120+half, foot.Y), geom.Pt(120-half, foot.Y))},
		{Name: "left", Run: "left", Role: pattern.RoleSeam, Path: path(geom.Pt(120-half, foot.Y), tip)},
	}}
	seam := func(a, ea, b, eb string) pattern.Seam {
		return pattern.Seam{A: pattern.EdgeRef{Piece: a, Edge: ea}, B: pattern.EdgeRef{Piece: b, Edge: eb}}
	}
	return pattern.Pattern{
		// Out of their order round the body.
		Pieces: []pattern.Piece{godet, sideBack, back, sideFront, front},
		Seams: []pattern.Seam{
			seam("side_front", "right_upper", "front", "left_upper"),
			seam("godet", "right", "front", "left_lower"),
			seam("side_front", "right_lower", "godet", "left"),
			seam("side_back", "right_upper", "side_front", "left_upper"),
			seam("side_back", "right_lower", "side_front", "left_lower"),
			seam("back", "right_upper", "side_back", "left_upper"),
			seam("back", "right_lower", "side_back", "left_lower"),
		},
	}
}

// TestHungGores: gores and a godet that are drawn anywhere on paper hang in the order of
// their seams.
func TestHungGores(t *testing.T) {
	f, b := formOf(t, orderOf(t, "straight-skirt", ""))
	m, err := fitting.Begin(t.Context(), gored(), f, b, medium(t))
	if err != nil {
		t.Fatal(err)
	}
	unfolded(t, m, f)
	pieces := map[int]int{}
	longest := 0.0
	for _, tri := range m.Triangles {
		pieces[tri.Piece]++
		for k := range 3 {
			longest = max(longest, r3.Norm(r3.Sub(m.Points[tri.Points[k]], m.Points[tri.Points[(k+1)%3]])))
		}
	}
	if len(pieces) != 5 {
		t.Errorf("triangles of %d pieces, want 5", len(pieces))
	}
	if longest > 80 {
		t.Errorf("a side is %.0f mm long at first: panels don't start where they are sewn", longest)
	}
}
