package drape

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// light is a cotton of ordinary numbers.
var light = Cloth{Weight: 150, Warp: 1500, Weft: 1200, Shear: 60, Poisson: 0.2, BendWarp: 20, BendWeft: 18}

// grid returns a rectangle of cloth, width along the weft, in rows of about
// equilateral triangles; place gives each flat point its position.
func grid(c Cloth, width, height float64, columns, rows int, place func(u, v float64) r3.Vec) *Mesh {
	m := &Mesh{Cloths: []Cloth{c}}
	var flat []r2.Vec
	row := make([][]int, rows+1) // points of each row; every second is shifted by half a column
	for j := range row {
		var at []float64
		for i := range columns + 1 {
			at = append(at, float64(i))
		}
		if j%2 == 1 {
			at = at[:columns]
			for i := range at {
				at[i] += 0.5
			}
			at = append(append([]float64{0}, at...), float64(columns))
		}
		for _, u := range at {
			row[j] = append(row[j], len(flat))
			flat = append(flat, r2.Vec{X: u * width / float64(columns), Y: float64(j) * height / float64(rows)})
		}
	}
	for _, p := range flat {
		m.Points = append(m.Points, place(p.X, p.Y))
	}
	add := func(p ...int) {
		m.Triangles = append(m.Triangles, Triangle{Points: [3]int(p), Flat: [3]r2.Vec{flat[p[0]], flat[p[1]], flat[p[2]]}})
	}
	for j := range rows {
		// The rows have columns+1 and columns+2 points in turn.
		below, above := row[j], row[j+1]
		for i := range columns + 1 {
			if j%2 == 0 {
				add(below[i], above[i+1], above[i])
				if i < columns {
					add(below[i], below[i+1], above[i+1])
				}
			} else {
				add(below[i], below[i+1], above[i])
				if i < columns {
					add(above[i], below[i+1], above[i+1])
				}
			}
		}
	}
	m.Pinned = make([]bool, len(m.Points))
	return m
}

func settled(t *testing.T, m *Mesh, b Body, o Options) Rest {
	t.Helper()
	rest, err := Settle(t.Context(), m, b, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d points, %+v", len(m.Points), rest)
	if !rest.Settled {
		t.Fatalf("did not settle: %+v", rest)
	}
	return rest
}

// TestHangingStrip: the strain at the top is the weight below over the
// stiffness (statics of a bar).
func TestHangingStrip(t *testing.T) {
	soft := light
	soft.Warp, soft.Weft, soft.Poisson = 150, 150, 0
	const length = 600.0
	for _, from := range []float64{length, length / 2} { // where the cloth begins to lie double
		m := grid(soft, 60, length, 4, 46, func(u, v float64) r3.Vec { return r3.Vec{X: u, Y: v - length} })
		for i, p := range m.Points {
			m.Pinned[i] = p.Y > -1e-9
		}
		middle := func(tri Triangle) float64 { return (tri.Flat[0].Y + tri.Flat[1].Y + tri.Flat[2].Y) / 3 }
		for i, tri := range m.Triangles {
			if middle(tri) > from {
				m.Triangles[i].Layers = 2
			}
		}
		settled(t, m, nil, Options{Residual: 1e-3})
		for i, tri := range m.Triangles {
			below := middle(tri)
			want := below * soft.load() / soft.Warp
			if below > from {
				want -= from * soft.load() / 2 / soft.Warp // two layers bear what hangs from them
			}
			// The row below the step shares its points with the row above.
			if got := m.Stretch(i).Warp; math.Abs(got-want) > 0.03*length*soft.load()/soft.Warp && math.Abs(below-from) > 20 {
				t.Fatalf("double from %.0f mm: strain %.5f at %.0f mm above the end, want %.5f", from, got, below, want)
			}
		}
	}
}

// TestCantilever: a strip bends down to 41.5 degrees where it hangs over by twice
// its bending length (Peirce 1930; Bickley 1934; ASTM D1388, option A).
func TestCantilever(t *testing.T) {
	const c = 25.0
	stiff := Cloth{Weight: 200, Warp: 1000, Weft: 1000, Shear: 300, BendWarp: c, BendWeft: c}
	for _, rows := range []int{8, 16} {
		// A hinge bends what lies half a row to either side. The clamp ends half a row
		// before the last row that it holds.
		overhang := 2 * c
		size := overhang / (float64(rows) + 0.5)
		m := grid(stiff, 10*size, overhang+size*1.5, 9, rows+2, func(u, v float64) r3.Vec {
			return r3.Vec{X: u, Z: v - 1.5*size}
		})
		for i, p := range m.Points {
			m.Pinned[i] = p.Z < 0.6*size
		}
		settled(t, m, nil, Options{Residual: 1e-5, Steps: 300_000})
		end := m.Points[len(m.Points)-1]
		angle := math.Atan2(-end.Y, end.Z) * 180 / math.Pi
		t.Logf("rows of %.1f mm: %.2f degrees", size, angle)
		if math.Abs(angle-41.5) > 0.03*41.5 {
			t.Errorf("rows of %.1f mm: %.2f degrees, want 41.5", size, angle)
		}
	}
}

// cylinder is an upright cylinder about the y axis.
type cylinder struct{ radius float64 }

func (c cylinder) distance(_ int, p r3.Vec) (float64, r3.Vec) {
	r := math.Hypot(p.X, p.Z)
	return r - c.radius, r3.Vec{X: p.X / r, Z: p.Z / r}
}

// tube returns a closed tube of cloth about the y axis, from y = 0 to height,
// standing off the axis by radius, of equilateral triangles.
func tube(c Cloth, girth, height, radius float64, columns, rows int) *Mesh {
	m := &Mesh{Cloths: []Cloth{c}, Pinned: make([]bool, (rows+1)*columns)}
	flat := func(i, j int) r2.Vec {
		return r2.Vec{X: (float64(i) + 0.5*float64(j%2)) * girth / float64(columns), Y: float64(j) * height / float64(rows)}
	}
	for j := range rows + 1 {
		for i := range columns {
			p := flat(i, j)
			a := 2 * math.Pi * p.X / girth
			m.Points = append(m.Points, r3.Vec{X: radius * math.Sin(a), Y: p.Y, Z: radius * math.Cos(a)})
		}
	}
	add := func(corners ...[2]int) {
		var t Triangle
		for k, c := range corners {
			t.Points[k], t.Flat[k] = c[1]*columns+c[0]%columns, flat(c[0], c[1])
		}
		m.Triangles = append(m.Triangles, t)
	}
	for j := range rows {
		for i := range columns {
			odd := j % 2
			add([2]int{i, j}, [2]int{i + 1, j}, [2]int{i + odd, j + 1})
			add([2]int{i + 1 - odd, j}, [2]int{i + 1, j + 1}, [2]int{i, j + 1})
		}
	}
	return m
}

// TestTightTube: a tube of girth C on a cylinder of girth B is stretched by B/C-1
// everywhere where C is less.
func TestTightTube(t *testing.T) {
	const body = 600.0
	for _, girth := range []float64{590, 575} {
		c := light
		c.Weight, c.Poisson = 1e-3, 0
		m := tube(c, girth, 150, body/(2*math.Pi)+3, 72, 20)
		settled(t, m, cylinder{body / (2 * math.Pi)}.distance, Options{Friction: 0.3, Residual: 1e-4})
		want := body/girth - 1
		for i := range m.Triangles {
			if got := m.Stretch(i).Weft; math.Abs(got-want) > 0.0006 {
				t.Errorf("girth %.0f, triangle %d: strain %.5f, want %.5f", girth, i, got, want)
				break
			}
		}
	}
}

// TestLooseTube: a tube that is wider than its cylinder is not stretched, and
// stands off by (C-B)/2pi on average.
func TestLooseTube(t *testing.T) {
	const body, girth = 600.0, 640.0
	m := tube(light, girth, 200, girth/(2*math.Pi), 72, 26)
	for i, p := range m.Points {
		m.Pinned[i] = p.Y > 199.9
	}
	form := cylinder{body / (2 * math.Pi)}
	settled(t, m, form.distance, Options{})
	sum := 0.0
	for _, p := range m.Points {
		d, _ := form.distance(0, p)
		sum += d
	}
	if got, want := sum/float64(len(m.Points)), (girth-body)/(2*math.Pi); math.Abs(got-want) > 0.1 {
		t.Errorf("stands off by %.2f mm on average, want %.2f", got, want)
	}
	for i := range m.Triangles {
		if got := m.Stretch(i).Weft; math.Abs(got) > 0.001 {
			t.Fatalf("triangle %d: strain %.5f", i, got)
		}
	}
}

// TestCatenary: a strip that hangs between two points takes the shape of a chain, whose
// sag follows from its span and its length (Bernoulli, Leibniz, Huygens 1691).
func TestCatenary(t *testing.T) {
	const length, span = 600.0, 400.0
	limp := light
	limp.Poisson, limp.BendWarp, limp.BendWeft = 0, 6, 6
	// Its first shape is a bow of the same length: a half ellipse is close enough.
	m := grid(limp, 24, length, 2, 52, func(u, v float64) r3.Vec {
		a := math.Pi * v / length
		return r3.Vec{X: -span / 2 * math.Cos(a), Y: -180 * math.Sin(a), Z: u}
	})
	for i, p := range m.Points {
		m.Pinned[i] = p.Y > -1e-9
	}
	settled(t, m, nil, Options{Residual: 2e-3, Steps: 60_000})
	low := 0.0
	for _, p := range m.Points {
		low = min(low, p.Y)
	}
	// Length 2a sinh(span/2a), sag a (cosh(span/2a) - 1).
	lo, hi := 20.0, 2000.0
	for range 80 {
		if a := (lo + hi) / 2; 2*a*math.Sinh(span/2/a) > length {
			lo = a
		} else {
			hi = a
		}
	}
	if want := lo * (math.Cosh(span/2/lo) - 1); math.Abs(-low/want-1) > 0.02 {
		t.Errorf("sags by %.1f mm, want %.1f", -low, want)
	}
}

// egg is an upright body that is neither round nor the same left and right.
func egg(_ int, p r3.Vec) (float64, r3.Vec) {
	const x, z = 8.0, -3.0 // its middle
	at := r3.Vec{X: (p.X - x) / 1.1, Z: (p.Z - z) / 0.9}
	r := math.Hypot(at.X, at.Z)
	n := r3.Unit(r3.Vec{X: at.X / 1.1, Y: 0.15 * r, Z: at.Z / 0.9})
	return (r - (100 - 0.15*p.Y)) * 0.98, n
}

// TestTurnedAndMirrored: cloth on a body that is turned by 90 degrees, or mirrored, comes
// to rest turned or mirrored.
func TestTurnedAndMirrored(t *testing.T) {
	still := tube(light, 600, 150, 110, 36, 10)
	settled(t, still, egg, Options{Residual: 1e-3})
	for name, move := range map[string]struct{ there, back func(p r3.Vec) r3.Vec }{
		"turned": {func(p r3.Vec) r3.Vec { return r3.Vec{X: p.Z, Y: p.Y, Z: -p.X} },
			func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.Z, Y: p.Y, Z: p.X} }},
		"mirrored": {func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} },
			func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }},
	} {
		m := tube(light, 600, 150, 110, 36, 10)
		for i, p := range m.Points {
			m.Points[i] = move.there(p)
		}
		settled(t, m, func(i int, p r3.Vec) (float64, r3.Vec) {
			d, n := egg(i, move.back(p))
			return d, move.there(n)
		}, Options{Residual: 1e-3})
		for i, p := range m.Points {
			if d := r3.Norm(r3.Sub(move.back(p), still.Points[i])); d > 0.1 {
				t.Errorf("%s: point %d lies %.3f mm elsewhere", name, i, d)
				break
			}
		}
	}
}
