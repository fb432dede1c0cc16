package cost_test

import (
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/cloth"
	"tapeline/drafting/cost"
	"tapeline/drafting/finish"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/render"
)

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
	if o.Style == "shift-dress" {
		all = append(all, work{"fitting", func(ctx context.Context) error {
			f, err := drafting.TryOn(ctx, o, drafting.FittingOptions{Quick: true})
			if err == nil {
				_, err = f.Picture(ctx, "", f.Options)
			}
			return err
		}})
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

// looks counts how often work looks at its context, and cancels the context at one
// of them.
type looks struct {
	count, cancelAt int
	at              func() // called at each; nil for nothing
}

func (l *looks) run(ctx context.Context, do func(context.Context) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	look := func() error {
		if l.at != nil {
			l.at()
		}
		if l.count++; l.count == l.cancelAt {
			cancel()
		}
		return nil
	}
	return do(cost.With(ctx, &cost.Meter{Pause: look, Memory: cost.Memory}))
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
			for range 4 {
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
