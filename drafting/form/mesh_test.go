package form_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting/form"
)

// mesh is a surface as it is read.
type mesh struct {
	points    []r3.Vec
	triangles [][3]int
	landmarks map[form.Landmark]r3.Vec
}

// box returns a closed box 1.7 m high with all landmarks.
func box() mesh {
	m := mesh{landmarks: map[form.Landmark]r3.Vec{}}
	for i := range 8 {
		p := r3.Vec{X: -200, Z: -120}
		if i&1 > 0 {
			p.X = 200
		}
		if i&2 > 0 {
			p.Y = 1700
		}
		if i&4 > 0 {
			p.Z = 120
		}
		m.points = append(m.points, p)
	}
	for _, side := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.triangles = append(m.triangles, [3]int{side[0], side[1], side[2]}, [3]int{side[0], side[2], side[3]})
	}
	for _, l := range []form.Landmark{form.Nape, form.FrontNeck, form.SideNeck, form.Shoulder, form.Elbow, form.Wrist,
		form.Armpit, form.BustPoint, form.CentreFrontWaist, form.CentreBackWaist, form.Crotch} {
		m.landmarks[l] = r3.Vec{Y: 1000, Z: 120}
	}
	return m
}

// Each wrong mesh is refused with one error that says what is wrong.
func TestMeshRefused(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		change func(*mesh)
		want   string // "" accepts the mesh
	}{
		"as it is": {func(*mesh) {}, ""},
		"open": {func(m *mesh) { m.triangles = m.triangles[1:] },
			"the mesh is open: 3 sides"},
		"inside out": {func(m *mesh) {
			for i, t := range m.triangles {
				m.triangles[i] = [3]int{t[0], t[2], t[1]}
			}
		}, "the mesh is inside out"},
		"metres": {func(m *mesh) {
			for i, p := range m.points {
				m.points[i] = r3.Scale(0.001, p)
			}
		}, "a mesh 1.7 high along y; a body is 600 to 2500 mm"},
		"without a landmark": {func(m *mesh) { delete(m.landmarks, form.Armpit) }, `no landmark "armpit"`},
		"a million triangles": {func(m *mesh) {
			m.triangles = slices.Repeat(m.triangles, 1_000_000/len(m.triangles))
		}, "at most 200000"},
		"no triangles": {func(m *mesh) { m.triangles = nil },
			"a mesh of 0 triangles"},
		"a point that is missing": {func(m *mesh) { m.triangles[3][1] = 99 }, "triangle 4: no point 100"},
	} {
		m := box()
		test.change(&m)
		_, err := form.New(t.Context(), m.points, m.triangles, m.landmarks)
		if test.want == "" && err != nil || test.want != "" && (err == nil || !strings.Contains(err.Error(), test.want)) {
			t.Errorf("%s: %v, want %q", name, err, test.want)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: more than one line: %q", name, err)
		}
	}
}

// A file with a million triangles ends at the limit, and wrong lines are named.
func TestOBJRefused(t *testing.T) {
	t.Parallel()
	many := "v 0 0 0\nv 1 0 0\nv 0 1 0\n" + strings.Repeat("f 1 2 3\n", 1_000_000)
	for text, want := range map[string]string{
		many:                               "more than 200000 triangles",
		"v 0 0\n":                          "line 1: a point needs three numbers",
		"v 0 0 north\n":                    `line 1: "north" is not a number`,
		"v 0 0 0\nf 1 2 3\n":               `line 2: no point "2"; there are 1`,
		"v 0 0 0\nf 1\n":                   "line 2: a face needs three points",
		strings.Repeat("v 0 0 0\n", 2e5+1): fmt.Sprintf("more than %d points", 200_000),
	} {
		if _, _, err := form.ReadOBJ(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.20q: %v, want %q", text, err, want)
		}
	}
}
