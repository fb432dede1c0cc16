package sheets

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
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
		g := newRaster(int((size.X+2*grow+2)/unit.X)+1, int((size.Y+2*grow+2)/unit.Y)+1)
		g.fill(points, o, unit, grow)
		near := func(q geom.Point) float64 {
			if path.Contains(q) {
				return 0
			}
			_, d, _ := path.Nearest(q)
			return d
		}
		for range 400 {
			q := o.Add(geom.Pt(r.Float64()*float64(g.w)*unit.X, r.Float64()*float64(g.h)*unit.Y))
			d, x, y := near(q), int((q.X-o.X)/unit.X), int((q.Y-o.Y)/unit.Y)
			switch set := g.has(x, y); {
			case d < grow-1e-9 && !set:
				t.Fatalf("%v is %g mm from the polygon, grown by %g, but its cell is not set", q, d, grow)
			case set && d > math.Sqrt2*grow+2*unit.Norm():
				t.Fatalf("%v is %g mm from the polygon, grown by %g, but its cell is set", q, d, grow)
			}
		}
		count := 0
		for y := range g.h {
			for x := range g.w {
				if g.has(x, y) {
					count++
				}
			}
		}
		if got := g.count(0, 0, g.w-1, g.h-1); got != count {
			t.Fatalf("count %d, want %d", got, count)
		}
		s := g.sums(1)
		x0, y0 := r.IntN(g.w), r.IntN(g.h)
		x1, y1 := x0+r.IntN(g.w-x0), y0+r.IntN(g.h-y0)
		if got, want := s.in(x0, y0, x1+1, y1+1), g.count(x0, y0, x1, y1); got != want || g.free(x0, y0, x1, y1) != (want == 0) {
			t.Fatalf("sum %d, count %d", got, want)
		}
		block := 1 + r.IntN(5)
		b := g.sums(block)
		if got, want := b.in(x0/block, y0/block, x1/block+1, y1/block+1), g.count(x0/block*block, y0/block*block, min((x1/block+1)*block, g.w)-1, min((y1/block+1)*block, g.h)-1); got != want {
			t.Fatalf("sum of blocks %d, count %d", got, want)
		}
	}
}

func TestRoomAgainstCells(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(9, 9))
	for range 500 {
		g := newRaster(1+r.IntN(wordBits), 1+r.IntN(40))
		for range r.IntN(12) {
			x := r.IntN(g.w)
			g.setRun(r.IntN(g.h), x, x+r.IntN(10))
		}
		w, h := 1+r.IntN(g.w+2), 1+r.IntN(g.h+2)
		wx, wy, want := 0, 0, false
		for y := 0; y < g.h && !want; y++ {
			for x := 0; x < g.w && !want; x++ {
				if g.free(x, y, x+w-1, y+h-1) {
					wx, wy, want = x, y, true
				}
			}
		}
		if x, y, ok := g.room(w, h); x != wx || y != wy || ok != want {
			t.Fatalf("room for %d × %d at (%d, %d) %v, want (%d, %d) %v", w, h, x, y, ok, wx, wy, want)
		}
	}
}

func TestCollidesAndAddAgainstCells(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 3))
	random := func(w, h int, density float64) raster {
		g := newRaster(w, h)
		for y := range h {
			for x := range w {
				if r.Float64() < density {
					g.setRun(y, x, x)
				}
			}
		}
		return g
	}
	for range 2000 {
		board := random(1+r.IntN(200), 1+r.IntN(30), 0.02)
		s := random(1+r.IntN(board.w), 1+r.IntN(board.h), 0.1)
		x, y := r.IntN(board.w-s.w+1), r.IntN(board.h-s.h+1)
		want := false
		for sy := range s.h {
			for sx := range s.w {
				want = want || s.has(sx, sy) && board.has(x+sx, y+sy)
			}
		}
		if got := board.collides(&s, x, y); got != want {
			t.Fatalf("collides %v, want %v: %d × %d on %d × %d at (%d, %d)", got, want, s.w, s.h, board.w, board.h, x, y)
		}
		sum := newRaster(board.w, board.h)
		dx, dy := r.IntN(board.w)-5, r.IntN(board.h)-5
		sum.add(&s, dx, dy)
		for by := range board.h {
			for bx := range board.w {
				sx, sy := bx-dx, by-dy
				want := sx >= 0 && sy >= 0 && sx < s.w && sy < s.h && s.has(sx, sy)
				if sum.has(bx, by) != want {
					t.Fatalf("cell (%d, %d) after adding at (%d, %d): %v", bx, by, dx, dy, !want)
				}
			}
		}
	}
}

// A cover says the same tiles as looking at the cells one by one.
func TestCoversAgainstCells(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 5))
	for range 20 {
		g := newCellGrid(geom.Pt(100+200*r.Float64(), 100+200*r.Float64()))
		s := newShape(polygon(r, 8, geom.Pt(40+400*r.Float64(), 40+400*r.Float64())), g.unit, Gap)
		seen := 0
		for _, c := range s.body.covers(g) {
			for _, at := range c.at {
				seen++
				got := map[tile]int{}
				for y := range s.body.h {
					for x := range s.body.w {
						if s.body.has(x, y) {
							got[tile{(x + int(at.x)) / g.nx, (y + int(at.y)) / g.ny}]++
						}
					}
				}
				if len(got) != len(c.needs) || c.fresh(make([]uint64, len(c.rows)), 0, 0) != len(got) {
					t.Fatalf("%d tiles at %v, want %d", len(c.needs), at, len(got))
				}
				for _, n := range c.needs {
					if n.cells > got[tile{n.tx, n.ty}] {
						t.Fatalf("tile (%d, %d) holds %d cells at %v, the cover says at least %d", n.tx, n.ty, got[tile{n.tx, n.ty}], at, n.cells)
					}
				}
			}
		}
		if want := g.nx / lattice * (g.ny / lattice); seen != want {
			t.Fatalf("%d places in the covers, want %d", seen, want)
		}
	}
}

func TestTileNames(t *testing.T) {
	t.Parallel()
	for want, at := range map[string]tile{"A1": {0, 0}, "B3": {1, 2}, "Z10": {25, 9}, "AA1": {26, 0}, "AZ2": {51, 1}, "BA1": {52, 0}} {
		if got := at.name(); got != want {
			t.Errorf("%v is %s, want %s", at, got, want)
		}
	}
}

// Text is broken into lines that fit, and nothing of it is lost.
func TestWrap(t *testing.T) {
	t.Parallel()
	for _, s := range []string{"", "one", "a longer line with several words in it", "averyverylongwordwithoutanyspaceatall", "Ελληνικά и кириллица 🧵"} {
		var all string
		for _, line := range wrap(s, 4, 30) {
			if w := lettering.Regular().Width(line, 4); w > 30 {
				t.Errorf("%q is %g mm wide", line, w)
			}
			all += line
		}
		if strings.ReplaceAll(all, " ", "") != strings.ReplaceAll(clean(s), " ", "") {
			t.Errorf("%q became %q", s, all)
		}
	}
}
