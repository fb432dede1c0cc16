// Command simulate shows how the service behaves with many replicas, without a
// server: it takes orders through the schedule of package work and through
// PostgreSQL at the processor times that cmd/load measured. The honest shops differ
// in size and send in batches; one more shop does harm if it is told to.
//
//	go run ./cmd/simulate                                      a table for 1 to 100 replicas
//	go run ./cmd/simulate -replicas 2 -database 0 -rate 40     two replicas and PostgreSQL on one machine
//
// The same flags give the same table. It knows no network, no locks and no slow
// disk: its figures are what processors alone allow.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"text/tabwriter"
	"time"
)

func main() {
	s := setting{}
	flag.IntVar(&s.replicas, "replicas", 0, "number of replicas; 0 for the table")
	flag.IntVar(&s.processors, "processors", 2, "processors of each replica")
	flag.IntVar(&s.database, "database", 16, "processors of PostgreSQL; 0 if all is on one machine")
	flag.IntVar(&s.shops, "shops", 200, "number of honest shops")
	flag.Float64Var(&s.rate, "rate", 40, "orders per second of the honest shops together")
	flag.StringVar(&s.hostile, "hostile", "", "what one more shop does: burst or layplans")
	flag.DurationVar(&s.length, "time", 2*time.Minute, "simulated time")
	flag.Uint64Var(&s.seed, "seed", 1, "seed")
	flag.Parse()
	if err := s.check(); err != nil {
		fmt.Fprintln(os.Stderr, "simulate:", err)
		os.Exit(2)
	}
	settings := []setting{s}
	if s.replicas == 0 {
		settings = table(s)
	}
	report(os.Stdout, settings)
}

func (s setting) check() error {
	switch {
	case s.replicas < 0 || s.processors < 1 || s.database < 0 || s.shops < 1 || s.length <= 0 || s.rate <= 0:
		return fmt.Errorf("every number must be positive; -replicas and -database may be 0")
	case !slices.Contains([]string{"", burst, layPlans}, s.hostile):
		return fmt.Errorf("-hostile: %q; must be %s or %s", s.hostile, burst, layPlans)
	}
	return nil
}

// table returns the settings of the table: more replicas at the same rate each,
// then what a hostile shop does, then rates at which PostgreSQL bends.
func table(s setting) []setting {
	var list []setting
	for _, n := range []int{1, 2, 10, 100} {
		s.replicas, s.rate = n, 60*float64(n)
		list = append(list, s)
	}
	s.replicas, s.rate = 10, 600
	for _, s.hostile = range []string{burst, layPlans} {
		list = append(list, s)
	}
	s.hostile = ""
	for _, s.rate = range []float64{900, 1100, 1300} {
		list = append(list, s)
	}
	s.replicas = 20
	for _, s.database = range []int{16, 32} {
		s.rate = 2000
		list = append(list, s)
	}
	return list
}

// report simulates each setting and prints a line.
func report(w io.Writer, settings []setting) {
	out := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(out, "replicas\tdatabase\thostile\torders/s\tready/s\tcreate p99\tready p50\tp99\twebhook p99\tPDF p99\t"+
		"replicas busy\tdatabase busy\t")
	for _, s := range settings {
		m := newModel(s, measured)
		m.start()
		m.run(s.length)
		f := m.honest
		seconds := s.length.Seconds()
		var busy time.Duration
		for _, r := range m.replicas {
			busy += r.machine.busy
		}
		share := func(busy time.Duration, processors int) float64 {
			return 100 * busy.Seconds() / seconds / float64(processors)
		}
		replicas, database := share(busy, s.replicas*s.processors), share(m.database.busy, max(1, s.database))
		if s.database == 0 { // one machine, counted once for each replica
			replicas = share(m.database.busy, s.processors)
			database = replicas
		}
		fmt.Fprintf(out, "%d\t%d\t%s\t%.0f\t%.0f\t%s\t%s\t%s\t%s\t%s\t%.0f %%\t%.0f %%\t\n", s.replicas, s.database,
			s.hostile, s.rate, float64(len(f.ready))/seconds, percentile(f.created, 99), percentile(f.ready, 50),
			percentile(f.ready, 99),
			percentile(f.webhook, 99), percentile(f.file, 99), replicas, database)
	}
	_ = out.Flush() // to a terminal or a file that the caller looks at
}

// percentile returns the time that p percent of the times do not exceed.
func percentile(times []time.Duration, p int) time.Duration {
	if len(times) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(times))
	return sorted[(len(sorted)-1)*p/100].Round(time.Millisecond)
}
