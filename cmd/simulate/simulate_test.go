package main

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// A machine with random arrivals and pieces of one length makes them wait as long,
// on average, as the formula of Pollaczek and Khinchine says.
func TestMachineWaitsAsTheoryDoes(t *testing.T) {
	t.Parallel()
	const takes = 10 * time.Millisecond
	for _, load := range []float64{0.3, 0.5, 0.8} {
		w := &world{}
		m := newMachine(w, 1)
		random := rand.New(rand.NewPCG(1, 2))
		var waited time.Duration
		n := 0
		var arrive func()
		arrive = func() {
			at := w.now
			m.work(takes, func() {
				waited += w.now - at - takes
				n++
			})
			w.after(time.Duration(random.ExpFloat64()/load*float64(takes)), arrive)
		}
		arrive()
		w.run(time.Hour)
		got := waited.Seconds() / float64(n)
		want := takes.Seconds() * load / (2 * (1 - load))
		if math.Abs(got-want) > 0.04*want {
			t.Errorf("at a load of %.1f pieces wait %.2f ms, want %.2f", load, 1000*got, 1000*want)
		}
	}
}

func TestBatchesHaveTheirMean(t *testing.T) {
	t.Parallel()
	m := newModel(setting{replicas: 1, processors: 1, database: 1, seed: 3}, measured)
	sum := 0
	const n = 200_000
	for range n {
		sum += m.batch()
	}
	if mean := float64(sum) / n; math.Abs(mean-meanBatch) > 0.03 {
		t.Errorf("mean batch %.3f, want %.3f", mean, meanBatch)
	}
}

func small() setting {
	return setting{replicas: 2, processors: 2, database: 4, shops: 20, rate: 40, length: 10 * time.Second, seed: 7}
}

func TestSimulationIsDeterministic(t *testing.T) {
	t.Parallel()
	var one, two bytes.Buffer
	report(&one, []setting{small()})
	report(&two, []setting{small()})
	if one.String() != two.String() {
		t.Errorf("two runs differ:\n%s\n%s", &one, &two)
	}
}

// Every order becomes ready, has its webhook and its file; a burst of one shop
// hardly delays the others.
func TestBurstOfOneShop(t *testing.T) {
	t.Parallel()
	run := func(hostile string) *model {
		s := small()
		s.hostile, s.length = hostile, time.Minute
		m := newModel(s, measured)
		m.start()
		m.run(s.length)
		return m
	}
	quiet, busy := run(""), run(burst)
	if f := quiet.honest; len(f.ready) < f.orders-5 || len(f.webhook) < f.orders-10 || len(f.file) < f.orders-10 {
		t.Errorf("of %d orders %d are ready, %d announced, %d fetched", f.orders, len(f.ready), len(f.webhook), len(f.file))
	}
	if n := len(busy.hostile.ready); n < 2400 {
		t.Errorf("%d of the 2500 orders of the burst were drafted", n)
	}
	if before, after := percentile(quiet.honest.ready, 50), percentile(busy.honest.ready, 50); after > 2*before {
		t.Errorf("others' orders are ready after %v in the middle, %v without the burst", after, before)
	}
}

func TestSettingsAreChecked(t *testing.T) {
	t.Parallel()
	for _, spoil := range []func(*setting){
		func(s *setting) { s.replicas = -1 }, func(s *setting) { s.processors = 0 }, func(s *setting) { s.rate = 0 },
		func(s *setting) { s.shops = 0 }, func(s *setting) { s.length = 0 }, func(s *setting) { s.hostile = "rain" },
	} {
		s := small()
		spoil(&s)
		if s.check() == nil {
			t.Errorf("%+v passes", s)
		}
	}
	s := small()
	if err := s.check(); err != nil {
		t.Error(err)
	}
}
