package cost_test

import (
	"runtime"
	"syscall"
	"testing"
	"time"

	"tapeline/drafting"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/style"
)

// large is a garment near its limits: ten pieces of 280 strokes in waves, each cut
// twenty times.
const large = `style(slug = "large", title = "Large", block = "straight", draft = {"sleeve": "none"},
    allowances = {"default": 5})
def make(body, ease, choose, block):
    wave = line(*[point(4 * i, 2 * (i % 2)) for i in range(279)])
    p = piece("p", "P", top = wave, rest = line(point(4 * 278, 0), point(4 * 278, 300), point(0, 300), point(0, 0)))
    p = cutting(p, count = 20)
    return garment([copy(p, "p%d" % i, "P%d" % i) for i in range(10)], [], ["Cut."])
`

// threadTime returns the processor time of the calling thread.
func threadTime() time.Duration {
	const thread = 1 // RUSAGE_THREAD
	var u syscall.Rusage
	_ = syscall.Getrusage(thread, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// With -v, TestLooks prints the processor time of work on a garment near its limits and
// on a dress that is tried on too, and the longest for which it does not look at its context.
func TestLooks(t *testing.T) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	s, err := style.Compile([]byte(large))
	if err != nil {
		t.Fatal(err)
	}
	o := ordertest.Order(t, "shift-dress")
	o = drafting.Order{Label: o.Label, Unit: o.Unit, Measurements: o.Measurements, Style: "large", Garment: s}
	dress := ordertest.Order(t, "shift-dress")
	for _, w := range append(works(t, o, true), works(t, dress, false)...) {
		start := threadTime()
		last, longest := start, time.Duration(0)
		l := looks{at: func() {
			now := threadTime()
			longest = max(longest, now-last)
			last = now
		}}
		if err := l.run(t.Context(), w.do); err != nil {
			t.Errorf("%s: %v", w.name, err)
		}
		l.at()
		t.Logf("%-12s %5d ms in all, %5d looks, at most %.1f ms apart", w.name, (threadTime() - start).Milliseconds(),
			l.count, 1000*longest.Seconds())
	}
}
