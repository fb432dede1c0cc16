package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"sync"
	"time"
)

// Targets of a quiet shop under an attack: its 99th percentiles are at most
// slower times what they are without one, plus later.
const (
	targetSlower       = 2
	targetLater        = 200 * time.Millisecond
	targetAttackMemory = 300 << 20 // bytes
	targetGrace        = 25 * time.Second
)

// runAttacks places the orders of one shop at a steady rate, first alone and then
// under each attack of another shop, and prints both. Every attack has a server of
// its own, which is stopped by SIGTERM while the attack goes on.
func runAttacks(args []string) error {
	flags := flag.NewFlagSet("load attack", flag.ExitOnError)
	rate := flags.Float64("rate", 5, "orders per second of the quiet shop")
	length := flags.Duration("time", time.Minute, "how long each attack lasts")
	only := flags.String("only", "", "run only the attacks of these names, separated by commas; -h lists them")
	flags.Usage = func() {
		flags.PrintDefaults()
		for _, a := range attacks {
			fmt.Fprintf(flags.Output(), "  %-12s %s\n", a.name, a.about)
		}
	}
	if err := flags.Parse(args); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	fmt.Println("| attack | create p50 | p99 | ready p50 | p99 | PDF p50 | p99 | webhook p50 | p99 | lost | errors | " +
		"memory | SIGTERM | calls |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|")
	quiet, err := underAttack(ctx, attack{name: "none"}, *rate, *length)
	if err != nil {
		return err
	}
	fmt.Println(quiet)
	var missed []error
	for _, a := range attacks {
		if *only != "" && !slices.Contains(strings.Split(*only, ","), a.name) {
			continue
		}
		r, err := underAttack(ctx, a, *rate, *length)
		if err != nil {
			return fmt.Errorf("%s: %w", a.name, err)
		}
		fmt.Println(r)
		missed = append(missed, r.misses(quiet)...)
	}
	return errors.Join(missed...)
}

// attack is what a hostile shop does. prepare makes what it needs, strike is
// called again and again by each caller until the attack ends.
type attack struct {
	name, about string
	callers     int
	prepare     func(context.Context, *hostile) error
	strike      func(context.Context, *hostile)
}

// attackResult is how the quiet shop fared.
type attackResult struct {
	name   string
	m      *measurement
	memory int64 // bytes
	term   time.Duration
	calls  map[int]int // of the hostile shop, by status; 0 for no response
}

// underAttack measures the quiet shop while an attack goes on.
func underAttack(ctx context.Context, a attack, rate float64, length time.Duration) (attackResult, error) {
	s, err := startServer(ctx, false, "-rate", "500")
	if err != nil {
		return attackResult{}, err
	}
	m, err := newRun(ctx, s)
	if err != nil {
		_, _ = s.stop()
		return attackResult{}, err
	}
	defer m.receiver.Close()
	m.warmUp(ctx)
	h := &hostile{calls: map[int]int{}}
	if a.prepare != nil {
		if err = h.prepare(ctx, s, a); err != nil {
			_, _ = s.stop()
			return attackResult{}, err
		}
	}
	defer h.close()
	memory := s.watchMemory(ctx)
	striking, end := context.WithCancel(ctx)
	var callers sync.WaitGroup
	for range a.callers {
		callers.Go(func() {
			for striking.Err() == nil {
				a.strike(striking, h)
			}
		})
	}
	m.steadily(ctx, rate, length)
	m.finish(ctx)
	peak := memory()
	term, err := s.stop()
	end()
	callers.Wait()
	if err != nil {
		m.problem("SIGTERM: %v", err)
	}
	return attackResult{a.name, m, peak, term, h.calls}, nil
}

func (r attackResult) String() string {
	row := "| " + r.name
	for _, t := range []*timings{&r.m.create, &r.m.ready, &r.m.pdf, &r.m.webhook} {
		row += fmt.Sprintf(" | %d ms | %d ms", t.at(.5).Milliseconds(), t.at(.99).Milliseconds())
	}
	row += fmt.Sprintf(" | %d | %d | %d MB | %.1f s | %v |", r.m.accepted-r.m.fetched, len(r.m.problems), r.memory>>20,
		r.term.Seconds(), r.calls)
	for _, p := range r.m.problems[:min(3, len(r.m.problems))] {
		row += "\nerror: " + p
	}
	return row
}

// misses returns what misses its target.
func (r attackResult) misses(quiet attackResult) (missed []error) {
	miss := func(bad bool, format string, args ...any) {
		if bad {
			missed = append(missed, fmt.Errorf(r.name+": "+format, args...))
		}
	}
	for _, t := range []struct {
		name          string
		under, before *timings
	}{
		{"create", &r.m.create, &quiet.m.create}, {"ready", &r.m.ready, &quiet.m.ready},
		{"PDF", &r.m.pdf, &quiet.m.pdf}, {"webhook", &r.m.webhook, &quiet.m.webhook},
	} {
		most := targetSlower*t.before.at(.99) + targetLater
		miss(t.under.at(.99) > most, "%s p99 %s, target %s", t.name, t.under.at(.99), most)
	}
	miss(r.m.accepted != r.m.fetched, "%d of %d accepted orders did not come through", r.m.accepted-r.m.fetched,
		r.m.accepted)
	miss(len(r.m.problems) > 0, "%d errors", len(r.m.problems))
	miss(r.memory > targetAttackMemory, "memory %d MB, target %d MB", r.memory>>20, targetAttackMemory>>20)
	miss(r.term > targetGrace, "SIGTERM took %s, target %s", r.term, targetGrace)
	return missed
}
