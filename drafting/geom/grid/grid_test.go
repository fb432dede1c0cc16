package grid

import (
	"math"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/geom"
)

// polygon is a star-shaped polygon of n corners about the middle of a box.
func polygon(r *rand.Rand, n int, size geom.Point) []geom.Point {
	points := make([]geom.Point, n)
	for i := range points {
		a := 2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n)
		k := 0.2 + 0.8*r.Float64()
		points[i] = geom.Pt(size.X/2*(1+k*math.Cos(a)), size.Y/2*(1+k*math.Sin(a)))
	}
	return points
}

func closedPath(points []geom.Point) geom.Path {
	return geom.Polyline(append(points[:len(points):len(points)], points[0])...)
}

// Every point in the polygon, or within grow of its outline, is in a set cell;
// every set cell has such a point in or near it.
func TestFillAgainstContainment(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 7))
	for range 60 {
		size := geom.Pt(20+500*r.Float64(), 20+500*r.Float64())
		unit := geom.Pt(3+10*r.Float64(), 3+10*r.Float64())
		grow := 6 * r.Float64()
		points := polygon(r, 3+r.IntN(20), size)
		path := closedPath(points)
		o := geom.Pt(-grow-1, -grow-1)
		g := New(o, unit, int((size.X+2*grow+2)/unit.X)+1, int((size.Y+2*grow+2)/unit.Y)+1)
		g.Fill(points, grow)
		near := func(q geom.Point) float64 {
			if path.Contains(q) {
				return 0
			}
			_, d, _ := path.Nearest(q)
			return d
		}
		for range 400 {
			q := o.Add(geom.Pt(r.Float64()*float64(g.W)*unit.X, r.Float64()*float64(g.H)*unit.Y))
			d, x, y := near(q), int((q.X-o.X)/unit.X), int((q.Y-o.Y)/unit.Y)
			switch set := g.Has(x, y); {
			case d < grow-1e-9 && !set:
				t.Fatalf("%v is %g mm from the polygon, grown by %g, but its cell is not set", q, d, grow)
			case set && d > math.Sqrt2*grow+2*unit.Norm():
				t.Fatalf("%v is %g mm from the polygon, grown by %g, but its cell is set", q, d, grow)
			}
		}
		count := 0
		for y := range g.H {
			for x := range g.W {
				if g.Has(x, y) {
					count++
				}
			}
		}
		if got := g.Count(0, 0, g.W-1, g.H-1); got != count {
			t.Fatalf("count %d, want %d", got, count)
		}
		s := g.Sums(1)
		x0, y0 := r.IntN(g.W), r.IntN(g.H)
		x1, y1 := x0+r.IntN(g.W-x0), y0+r.IntN(g.H-y0)
		if got, want := s.In(x0, y0, x1+1, y1+1), g.Count(x0, y0, x1, y1); got != want ||
			g.Free(x0, y0, x1, y1) != (want == 0) {
			t.Fatalf("sum %d, count %d", got, want)
		}
		block := 1 + r.IntN(5)
		b := g.Sums(block)
		lastX, lastY := min((x1/block+1)*block, g.W)-1, min((y1/block+1)*block, g.H)-1
		want := g.Count(x0/block*block, y0/block*block, lastX, lastY)
		if got := b.In(x0/block, y0/block, x1/block+1, y1/block+1); got != want {
			t.Fatalf("sum of blocks %d, count %d", got, want)
		}
	}
}

func TestRoomAgainstCells(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(9, 9))
	for range 500 {
		g := New(geom.Point{}, geom.Pt(1, 1), 1+r.IntN(WordBits), 1+r.IntN(40))
		for range r.IntN(12) {
			x := r.IntN(g.W)
			g.SetRun(r.IntN(g.H), x, x+r.IntN(10))
		}
		w, h := 1+r.IntN(g.W+2), 1+r.IntN(g.H+2)
		wx, wy, want := 0, 0, false
		for y := 0; y < g.H && !want; y++ {
			for x := 0; x < g.W && !want; x++ {
				if g.Free(x, y, x+w-1, y+h-1) {
					wx, wy, want = x, y, true
				}
			}
		}
		if x, y, ok := g.FirstRoom(w, h); x != wx || y != wy || ok != want {
			t.Fatalf("room for %d × %d at (%d, %d) %v, want (%d, %d) %v", w, h, x, y, ok, wx, wy, want)
		}
	}
}

func TestCollidesAndAddAgainstCells(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 3))
	random := func(w, h int, density float64) *Grid {
		g := New(geom.Point{}, geom.Pt(1, 1), w, h)
		for y := range h {
			for x := range w {
				if r.Float64() < density {
					g.SetRun(y, x, x)
				}
			}
		}
		return g
	}
	for range 2000 {
		board := random(1+r.IntN(200), 1+r.IntN(30), 0.02)
		s := random(1+r.IntN(board.W), 1+r.IntN(board.H), 0.1)
		x, y := r.IntN(board.W-s.W+1), r.IntN(board.H-s.H+1)
		want := false
		for sy := range s.H {
			for sx := range s.W {
				want = want || s.Has(sx, sy) && board.Has(x+sx, y+sy)
			}
		}
		if got := board.Collides(s, x, y); got != want {
			t.Fatalf("collides %v, want %v: %d × %d on %d × %d at (%d, %d)", got, want, s.W, s.H, board.W, board.H, x, y)
		}
		sum := New(geom.Point{}, geom.Pt(1, 1), board.W, board.H)
		dx, dy := r.IntN(board.W)-5, r.IntN(board.H)-5
		sum.Add(s, dx, dy)
		for by := range board.H {
			for bx := range board.W {
				sx, sy := bx-dx, by-dy
				want := sx >= 0 && sy >= 0 && sx < s.W && sy < s.H && s.Has(sx, sy)
				if sum.Has(bx, by) != want {
					t.Fatalf("cell (%d, %d) after adding at (%d, %d): %v", bx, by, dx, dy, !want)
				}
			}
		}
	}
}

// A level side on the middle line of a row, or a repeated point there, crosses nothing,
// however the row's number is rounded: a box fills its own cells only.
func TestInsideWithLevelSidesOnMiddleLines(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 3))
	for range 20_000 {
		origin := geom.Pt(-900*r.Float64(), -900*r.Float64())
		unit := geom.Pt(3+10*r.Float64(), 3+10*r.Float64())
		g := New(origin, unit, 40, 40)
		middle := func(row int) float64 { return origin.Y + (float64(row)+0.5)*unit.Y }
		top, bottom := math.Nextafter(middle(8), math.Inf(1)), middle(20)
		left, right := origin.X+10.25*unit.X, origin.X+20.25*unit.X
		g.Inside([]geom.Point{geom.Pt(left, top), geom.Pt(right, top), geom.Pt(right, top), geom.Pt(right, bottom),
			geom.Pt(left, bottom), geom.Pt(left, bottom)})
		if n, inside := g.Count(0, 0, 39, 39), g.Count(10, 9, 19, 19); n != 110 || inside != n {
			t.Fatalf("%d cells are set, %d of them in the box of 110: origin %v, cell %v", n, inside, origin, unit)
		}
	}
}
