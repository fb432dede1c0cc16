package geom

import "testing"

func BenchmarkLength(b *testing.B) {
	s := armhole(30)[0]
	b.ReportAllocs()
	for b.Loop() {
		s.Length()
	}
}

func BenchmarkParamAt(b *testing.B) {
	s := armhole(30)[0]
	b.ReportAllocs()
	for b.Loop() {
		s.ParamAt(60)
	}
}

func BenchmarkSplitAt(b *testing.B) {
	p := armhole(30)
	b.ReportAllocs()
	for b.Loop() {
		p.SplitAt(180)
	}
}

func BenchmarkNearest(b *testing.B) {
	p := armhole(30)
	b.ReportAllocs()
	for b.Loop() {
		p.Nearest(Pt(30, 120))
	}
}

func BenchmarkContains(b *testing.B) {
	p := circle(Pt(0, 0), 100, 8)
	b.ReportAllocs()
	for b.Loop() {
		p.Contains(Pt(30, 20))
	}
}

func BenchmarkCrossings(b *testing.B) {
	p, q := armhole(30), armhole(30).Move(Turn(Pt(40, 100), 2))
	b.ReportAllocs()
	for b.Loop() {
		p.Crossings(q)
	}
}

func BenchmarkSimple(b *testing.B) {
	p := circle(Pt(0, 0), 100, 24)
	b.ReportAllocs()
	for b.Loop() {
		p.Simple()
	}
}

func BenchmarkAppendClipped(b *testing.B) {
	p := circle(Pt(0, 0), 100, 8)
	box := Box{Pt(20, -90), Pt(95, 90)}
	dst := make([]Segment, 0, 64)
	b.ReportAllocs()
	for b.Loop() {
		dst = dst[:0]
		for _, s := range p {
			dst = s.AppendClipped(dst, box)
		}
	}
}

func BenchmarkOffset(b *testing.B) {
	for _, c := range []struct {
		name   string
		p      Path
		d, tol float64
	}{
		{"plain", armhole(30), 10, OffsetTol},
		{"hollow tighter than d", armhole(7), 10, OffsetTol},
		{"outline", circle(Pt(0, 0), 300, 16), 10, OffsetTol},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.p.Offset(c.d, c.tol)
			}
		})
	}
}
