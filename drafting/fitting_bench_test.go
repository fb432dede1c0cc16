package drafting_test

import (
	"runtime"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/fitting"
	"tapeline/drafting/ordertest"
)

// BenchmarkTryOn tries a dress on, with its report and picture, and says how much memory
// is in use at most between two collections, MB.
func BenchmarkTryOn(b *testing.B) {
	o := ordertest.Order(b, "shift-dress")
	for _, quick := range []bool{true, false} {
		name := "full"
		if quick {
			name = "quick"
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var most uint64
			look := func() {
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				most = max(most, m.HeapAlloc)
			}
			for b.Loop() {
				runtime.GC()
				f, err := drafting.TryOn(b.Context(), o,
					drafting.FittingOptions{Quick: quick, Progress: func(int, float64) { look() }})
				if err != nil {
					b.Fatal(err)
				}
				look()
				if _, err := f.Picture(b.Context(), f.Title("LL-1"), f.Options); err != nil {
					b.Fatal(err)
				}
				look()
				f.Report(fitting.OfMeasurements)
			}
			b.ReportMetric(float64(most)/1e6, "MB-most")
		})
	}
}
