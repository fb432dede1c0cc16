package main

import (
	"fmt"
	"slices"
	"sync"
	"time"
)

// timings are the durations of calls of one kind.
type timings struct {
	mu   sync.Mutex
	took []time.Duration
}

func (t *timings) add(d time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.took = append(t.took, d)
}

// at returns a quantile.
func (t *timings) at(q float64) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.took) == 0 {
		return 0
	}
	slices.Sort(t.took)
	return t.took[min(len(t.took)-1, int(q*float64(len(t.took))))]
}

func (t *timings) String() string {
	ms := func(q float64) float64 { return float64(t.at(q).Microseconds()) / 1000 }
	return fmt.Sprintf("p50 %7.2f ms   p90 %7.2f ms   p99 %7.2f ms   max %7.2f ms   n %d", ms(.5), ms(.9), ms(.99),
		ms(1), len(t.took))
}

// report prints the figures and returns those that miss their target.
func (m *measurement) report(rate float64, posting, total time.Duration, peak int64, bareRate float64) []error {
	through := float64(m.fetched) / total.Seconds()
	fmt.Printf("orders     %d accepted in %.1f s, %d drafted, delivered and fetched in %.1f s: %.1f orders/s\n",
		m.accepted, posting.Seconds(), m.fetched, total.Seconds(), through)
	fmt.Printf("create     %s\n", &m.create)
	fmt.Printf("ready      %s   (posted to webhook received)\n", &m.ready)
	fmt.Printf("webhook    %s   (event to webhook received)\n", &m.webhook)
	fmt.Printf("PDF        %s\n", &m.pdf)
	fmt.Printf("same ETag  %s\n", &m.same)
	each := func(d time.Duration) float64 { return d.Seconds() * 1000 / float64(max(1, m.fetched)) }
	fmt.Printf("processor  %.1f ms an order in tapeline, %.1f ms in Postgres\n", each(m.used.server),
		each(m.used.postgres))
	fmt.Printf("memory     %.0f MB resident, maximum\n", float64(peak)/(1<<20))
	if bareRate > 0 {
		fmt.Printf("bare echo + pgx insert handler: %.0f requests/s; a whole order costs as much as %.1f of them\n",
			bareRate, bareRate/through)
	}
	var missed []error
	miss := func(bad bool, format string, args ...any) {
		if bad {
			missed = append(missed, fmt.Errorf(format, args...))
		}
	}
	for _, p := range m.problems[:min(5, len(m.problems))] {
		fmt.Println("error:", p)
	}
	miss(len(m.problems) > 0, "%d errors", len(m.problems))
	miss(m.fetched != m.accepted, "%d of %d accepted orders did not come through", m.accepted-m.fetched, m.accepted)
	if rate > 0 {
		miss(through < .97*rate, "%.1f orders/s of %.1f", through, rate)
		miss(m.create.at(.99) > targetCreateP99, "create p99 %s, target %s", m.create.at(.99), targetCreateP99)
		miss(m.pdf.at(.5) > targetPDFP50, "PDF p50 %s, target %s", m.pdf.at(.5), targetPDFP50)
		miss(m.same.at(.5) > targetSameP50, "same ETag p50 %s, target %s", m.same.at(.5), targetSameP50)
		miss(peak > targetMemory, "memory %d MB, target %d MB", peak>>20, targetMemory>>20)
	}
	return missed
}
