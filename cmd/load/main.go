// Command load measures a server on this machine. It starts `tapeline serve` on a
// private Postgres in a temporary folder, creates orders at a steady rate or as fast as
// possible, receives the webhooks, fetches each order's A4 pattern, and fetches it again
// with its ETag. For comparison it measures a bare echo handler that inserts one row.
//
//	go run ./cmd/load -rate 80 -time 60s
//	go run ./cmd/load -rate 0 -time 20s     as fast as possible
//	go run ./cmd/load -rate 40 -replicas 2  two servers on one database, called in turn
//	go run ./cmd/load refit -orders 10000   previews and applies a refit, with other calls
//	go run ./cmd/load attack -time 60s      a shop's orders while another shop attacks
//
// It exits with 1 if an order was lost, a response was an error, or a figure misses its
// target at the given rate.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"time"
)

// Targets for two cores that also run this command and Postgres.
const (
	targetCreateP99 = 100 * time.Millisecond
	targetPDFP50    = 15 * time.Millisecond
	targetSameP50   = 2 * time.Millisecond
	targetMemory    = 200 << 20 // bytes
)

func main() {
	switch {
	case len(os.Args) > 1 && os.Args[1] == "bare":
		serveBare(os.Args[2])
		return
	case len(os.Args) > 1 && os.Args[1] == "refit":
		end(runRefit(os.Args[2:]))
	case len(os.Args) > 1 && os.Args[1] == "attack":
		end(runAttacks(os.Args[2:]))
	}
	rate := flag.Float64("rate", 80, "orders per second; 0 for as fast as possible")
	length := flag.Duration("time", time.Minute, "how long to create orders")
	callers := flag.Int("callers", 8, "concurrent callers if -rate is 0")
	bare := flag.Duration("bare", 5*time.Second, "how long to measure the bare handler; 0 to skip it")
	replicas := flag.Int("replicas", 1, "servers on the database")
	profile := flag.String("profile", "", "write a processor profile of the server to this `FILE`")
	keep := flag.Bool("keep", false, "keep the data folder and print its name")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx, runFlags{*rate, *length, *callers, *bare, *replicas, *profile, *keep})
	stop()
	end(err)
}

// end ends the program, with 1 for an error.
func end(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// runFlags are the flags of a run.
type runFlags struct {
	rate     float64
	length   time.Duration
	callers  int
	bare     time.Duration
	replicas int
	profile  string // name of a file; "" for none
	keep     bool
}

func run(ctx context.Context, f runFlags) error {
	s, err := startServer(ctx, f.keep)
	if err != nil {
		return err
	}
	defer func() { _, _ = s.stop() }()
	if err := s.addReplicas(ctx, f.replicas-1); err != nil {
		return err
	}
	m, err := newRun(ctx, s)
	if err != nil {
		return err
	}
	defer m.receiver.Close()
	m.warmUp(ctx)
	memory := s.watchMemory(ctx)
	before := s.cpu()
	var profiled error
	if f.profile != "" {
		m.running.Go(func() { profiled = s.profile(ctx, f.profile, f.length) })
	}
	began := time.Now()
	if f.rate > 0 {
		m.steadily(ctx, f.rate, f.length)
	} else {
		m.fullSpeed(ctx, f.callers, f.length)
	}
	posting := time.Since(began)
	m.finish(ctx)
	total, after := time.Since(began), s.cpu()
	m.used = cpu{after.server - before.server, after.postgres - before.postgres}
	peak := memory()
	var bareRate float64
	if f.bare > 0 {
		if bareRate, err = measureBare(ctx, s, f.bare, f.callers); err != nil {
			return err
		}
	}
	return errors.Join(append(m.report(f.rate, posting, total, peak, bareRate), profiled)...)
}
