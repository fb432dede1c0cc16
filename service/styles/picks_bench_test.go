package styles

import (
	"syscall"
	"testing"
	"time"

	"tapeline/drafting/finish"
	"tapeline/drafting/style"
)

// BenchmarkPicks measures what it costs to know where the things of a draft come from and
// what can be picked of it: a draft, the same with origins, with shapes too, and the
// picture without and with the layer to point at. cpu_ms/op is the processor's time, which
// says something on a busy machine too.
func BenchmarkPicks(b *testing.B) {
	for _, slug := range []string{"knit-top", "shift-dress", "princess-dress"} {
		garment, ok := style.Builtin(slug)
		if !ok {
			b.Fatal("no ", slug)
		}
		plan := trying().planOf(garment, Trial{})
		must := func(p finish.Pattern, err error) finish.Pattern {
			if err != nil {
				b.Fatal(err)
			}
			return p
		}
		drafted := must(plan.draft(b.Context(), nil))
		var pieces []TriedPiece // known without origins too
		for _, q := range drafted.Pieces {
			pieces = append(pieces, triedPiece(q.Piece))
		}
		traced := func() (finish.Pattern, []TriedPiece, []TriedOrigin) {
			trace := new(style.Trace)
			p := must(plan.draft(b.Context(), trace))
			return p, pieces, origins(trace, pieces)
		}
		for _, c := range []struct {
			name string
			do   func()
		}{
			{"draft", func() { must(plan.draft(b.Context(), nil)) }},
			{"origins", func() { traced() }},
			{"shapes", func() { shapes(traced()) }},
			{"picture", func() { _, _ = draw(b.Context(), drafted, false) }},
			{"picks", func() { _, _ = draw(b.Context(), drafted, true) }},
		} {
			b.Run(slug+"/"+c.name, func(b *testing.B) {
				b.ReportAllocs()
				start := processorTime()
				for b.Loop() {
					c.do()
				}
				b.ReportMetric((processorTime()-start).Seconds()*1000/float64(b.N), "cpu_ms/op")
			})
		}
	}
}

// processorTime returns the time that this process has used so far.
func processorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
