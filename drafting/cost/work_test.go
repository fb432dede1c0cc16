package cost_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"tapeline/drafting"
	"tapeline/drafting/cloth"
	"tapeline/drafting/cost"
	"tapeline/drafting/finish"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/render"
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

// work is a kind of long work.
type work struct {
	name string
	do   func(ctx context.Context) error
}

// works returns the kinds of work on an order and its pattern.
func works(t *testing.T, o drafting.Order, laid bool) []work {
	t.Helper()
	p, err := drafting.Draft(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	all := []work{
		{"draft", func(ctx context.Context) error { _, err := drafting.Draft(ctx, o); return err }},
		{"estimates", func(ctx context.Context) error { _, err := drafting.Estimates(ctx, o); return err }},
	}
	for _, name := range []string{"pdf", "svg", "dxf", "png", render.MakingSheetName} {
		all = append(all, work{name, func(ctx context.Context) error { return write(ctx, name, p) }})
	}
	if laid {
		all = append(all, work{"lay plan", func(ctx context.Context) error {
			_, err := cloth.NewPlan(ctx, p, cloth.On(1400))
			return err
		}})
	}
	return all
}

func write(ctx context.Context, name string, p finish.Pattern) error {
	f, err := render.ParseFormat(name)
	if err != nil {
		return err
	}
	o, err := f.Fill(render.Options{})
	if err != nil {
		return err
	}
	return f.Write(ctx, &bytes.Buffer{}, p, o)
}

// looks counts how often work looks at its context, and the longest time between
// two looks. It cancels the context at one of them.
type looks struct {
	count, cancelAt int
	longest         time.Duration
	last            time.Time
}

func (l *looks) run(ctx context.Context, do func(context.Context) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	l.last = time.Now()
	look := func() error {
		l.longest = max(l.longest, time.Since(l.last))
		l.last = time.Now()
		if l.count++; l.count == l.cancelAt {
			cancel()
		}
		return nil
	}
	err := do(cost.With(ctx, &cost.Meter{Pause: look, Memory: cost.Memory}))
	l.longest = max(l.longest, time.Since(l.last))
	return err
}

// Work whose context is cancelled at any moment ends at one of its next looks.
func TestCancelledWorkEnds(t *testing.T) {
	t.Parallel()
	const most = 100 // looks after the one at which the context ends
	random := rand.New(rand.NewPCG(1, 2))
	for _, sample := range []string{"shift-dress", "trousers"} {
		for _, w := range works(t, ordertest.Order(t, sample), sample == "shift-dress") {
			var whole looks
			if err := whole.run(t.Context(), w.do); err != nil {
				t.Fatalf("%s: %s: %v", sample, w.name, err)
			}
			if whole.count == 0 {
				t.Errorf("%s: %s never looks at its context", sample, w.name)
				continue
			}
			for range 8 {
				l := looks{cancelAt: 1 + random.IntN(whole.count)}
				err := l.run(t.Context(), w.do)
				if !errors.Is(err, context.Canceled) || l.count-l.cancelAt > most {
					t.Errorf("%s: %s cancelled at look %d of %d: %v after %d more", sample, w.name, l.cancelAt, whole.count,
						err, l.count-l.cancelAt)
				}
			}
		}
	}
}

// With -v, TestLooks prints how long work on a garment near its limits takes, and
// the longest time for which it does not look at its context.
func TestLooks(t *testing.T) {
	s, err := style.Compile([]byte(large))
	if err != nil {
		t.Fatal(err)
	}
	o := ordertest.Order(t, "shift-dress")
	o = drafting.Order{Label: o.Label, Unit: o.Unit, Measurements: o.Measurements, Style: "large", Garment: s}
	for _, w := range works(t, o, true) {
		ctx, cancel := context.WithTimeoutCause(t.Context(), 5*time.Second, &cost.Error{Limit: "5 s"})
		var l looks
		start := time.Now()
		err := l.run(ctx, w.do)
		if err != nil && cost.Of(ctx, err) == nil {
			t.Errorf("%s: %v", w.name, err)
		}
		cancel()
		t.Log(fmt.Sprintf("%-12s %8v in all, %5d looks, at most %v apart, %v", w.name,
			time.Since(start).Round(time.Millisecond), l.count, l.longest.Round(100*time.Microsecond), err))
	}
}
