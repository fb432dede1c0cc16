package geom

import (
	"encoding/binary"
	"math"
	"testing"
)

// pathFrom reads a path from fuzzed bytes: a control byte for each segment,
// then its coordinates as float64 bits, which bring NaN, infinities and huge
// numbers, or as small integers, which bring coincident points and handles.
func pathFrom(data []byte) Path {
	var p Path
	var at Point
	next := func(exact bool) float64 {
		switch {
		case exact && len(data) >= 8:
			v := math.Float64frombits(binary.LittleEndian.Uint64(data))
			data = data[8:]
			return v
		case len(data) >= 1:
			v := float64(int8(data[0]))
			data = data[1:]
			return v
		}
		return 0
	}
	for len(data) > 0 && len(p) < 6 {
		kind := data[0]
		data = data[1:]
		exact := kind&1 != 0
		pt := func() Point { return Pt(next(exact), next(exact)) }
		s := Cubic(at, pt(), pt(), pt())
		if kind&2 != 0 {
			s = Line(at, s.P3)
		}
		if kind&4 != 0 {
			s.P1 = s.P0
		}
		if kind&8 != 0 {
			s.P2 = s.P3
		}
		if kind&16 != 0 && len(p) > 0 {
			s = p[len(p)-1].Reverse() // out and back
		}
		p, at = append(p, s), s.P3
	}
	if len(p) > 0 && len(data) > 0 {
		p = append(p, Line(at, p.Start()))
	}
	return p
}

func tame(p Path, most float64) bool {
	for _, s := range p {
		for _, q := range [...]Point{s.P0, s.P1, s.P2, s.P3} {
			if !(math.Abs(q.X) <= most && math.Abs(q.Y) <= most) {
				return false
			}
		}
	}
	return true
}

func seeds(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{0, 10, 20, 30, 40, 50, 60})
	f.Add([]byte{12, 0, 0, 0, 0, 90, 0, 16, 2, 0, 0, 0, 0, 0, 0})
	f.Add([]byte{0, 100, 100, 0, 100, 100, 0, 0, 100, 100, 0, 100, 100, 0})
	f.Add([]byte{0, 90, 80, 166, 80, 0, 0})
	// Found by fuzzing: a double standstill, and coordinates whose squares
	// vanish; both once halved the arc length without end.
	f.Add([]byte("\x00(\"\x00\x00(\"\xe1\xe1\xe1\xe1\xe1\xe1\xe1\x00\x00\x00('$"))
	f.Add([]byte("!1\xff\xff!\xd3\xd3ޞ;;;;;;\xff\x00"))
	f.Add([]byte{1, 0, 0, 0, 0, 0, 0, 0xf8, 0x7f, 1, 2, 3, 4, 5, 6, 7, 8})
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 4, 0, 0, 0, 0, 0, 0, 8, 1, 0, 2, 0, 3, 0, 2, 0, 0, 0, 0, 0, 0})
}

// Whatever the path, nothing panics or hangs, and what comes out of a tame
// path is finite and where it should be.
func FuzzPath(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		p := pathFrom(data)
		n := p.Length()
		q := Pt(3, 4)
		at, d, along := p.Nearest(q)
		a, b := p.SplitAt(n / 3)
		box := Box{Pt(-20, -30), Pt(40, 50)}
		var inside []Segment
		for _, s := range p {
			inside = s.AppendClipped(inside, box)
		}
		points := p.Flatten(0.05)
		p.At(n / 2)
		p.TangentAt(n / 2)
		p.Bounds()
		p.Area()
		p.Contains(q)
		loops := p.SelfCrossings()
		meets := p.Crossings(rectangle(-10, -10, 50, 60))
		if len(p) == 0 || !tame(p, 1e4) {
			return
		}
		if math.IsNaN(n) || math.Abs(a.Length()+b.Length()-n) > 1e-5*(1+n) {
			t.Errorf("%v: parts of %g and %g, whole %g", p, a.Length(), b.Length(), n)
		}
		if math.Abs(at.Dist(q)-d) > 1e-9 || !p.At(along).Near(at, 1e-3*(1+n)) {
			t.Errorf("%v: nearest %v at %g, %g along", p, at, d, along)
		}
		for _, s := range inside {
			if !box.Grow(1e-6).Holds(s.Bounds()) {
				t.Errorf("%v: %v is outside", p, s)
			}
		}
		for _, q := range points {
			if _, d, _ := p.Nearest(q); d > 1e-6 {
				t.Errorf("%v: flattened %g off", p, d)
			}
		}
		for _, c := range append(loops, meets...) {
			if _, d, _ := p.Nearest(c.At); d > 1e-4 {
				t.Errorf("%v: crossing %+v lies %g off", p, c, d)
			}
		}
	})
}

// Whatever the path, its parallel does not panic or hang, is joined and
// finite, and comes nowhere nearer than a tame path lets it.
func FuzzOffset(f *testing.F) {
	for _, d := range []float64{10, -10, 0.001, 1e6, math.Inf(1)} {
		f.Add([]byte{0, 10, 20, 30, 40, 50, 60}, d)
		f.Add([]byte{0, 100, 100, 0, 100, 100, 0, 0, 100, 100, 0, 100, 100, 0}, d)
		f.Add([]byte{2, 0, 0, 0, 0, 90, 0, 2, 0, 0, 0, 0, 90, 40, 2, 0, 0, 0, 0, 0, 40, 1}, d)
		f.Add([]byte{12, 0, 0, 0, 0, 90, 0, 16, 2, 0, 0, 0, 0, 0, 0}, d)
	}
	f.Fuzz(func(t *testing.T, data []byte, d float64) {
		p := pathFrom(data)
		o := p.Offset(d, OffsetTol)
		if !tame(p, 1e4) || !(math.Abs(d) < 1e3) {
			return
		}
		if err := o.Check(); err != nil {
			t.Errorf("%v at %g: %v", p, d, err)
		}
		if !tame(o, 1e6) {
			t.Errorf("%v at %g: %v", p, d, o)
		}
	})
}

// Whatever two cubics do, their crossings lie on both.
func FuzzCrossings(f *testing.F) {
	seeds(f)
	f.Add([]byte{0, 0, 100, 0, 200, 100, 100, 0, 56, 100, 200, 0, 0, 100})
	f.Fuzz(func(t *testing.T, data []byte) {
		p := pathFrom(data[:len(data)/2])
		q := pathFrom(data[len(data)/2:])
		found := p.Crossings(q)
		if !tame(p, 1e4) || !tame(q, 1e4) {
			return
		}
		for _, c := range found {
			if !p[c.IndexA].At(c.ParamA).Near(c.At, 1e-4) || !q[c.IndexB].At(c.ParamB).Near(c.At, 1e-4) {
				t.Errorf("%v × %v: %+v", p, q, c)
			}
		}
	})
}
