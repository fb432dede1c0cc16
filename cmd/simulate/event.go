package main

import (
	"container/heap"
	"time"
)

// world is simulated time: a queue of events, each a function that runs at its
// time. Events at one time run in the order in which they were made.
type world struct {
	now    time.Duration
	events events
	made   int
}

type event struct {
	at  time.Duration
	seq int
	do  func()
}

type events []event

func (e events) Len() int { return len(e) }
func (e events) Less(i, j int) bool {
	return e[i].at < e[j].at || e[i].at == e[j].at && e[i].seq < e[j].seq
}
func (e events) Swap(i, j int) { e[i], e[j] = e[j], e[i] }
func (e *events) Push(x any)   { *e = append(*e, x.(event)) }
func (e *events) Pop() any {
	last := len(*e) - 1
	x := (*e)[last]
	*e = (*e)[:last]
	return x
}

// after runs do when a time has passed.
func (w *world) after(wait time.Duration, do func()) {
	w.made++
	heap.Push(&w.events, event{at: w.now + max(0, wait), seq: w.made, do: do})
}

// run runs events until a time.
func (w *world) run(until time.Duration) {
	for len(w.events) > 0 && w.events[0].at <= until {
		e := heap.Pop(&w.events).(event)
		w.now = e.at
		e.do()
	}
	w.now = until
}

// machine is a number of processors that serve pieces of work in the order in
// which they come. The pieces are short, so that this hardly differs from the
// time slices of an operating system.
type machine struct {
	world *world
	free  int
	queue []piece
	busy  time.Duration // of all processors together
}

type piece struct {
	takes time.Duration
	done  func()
}

func newMachine(w *world, processors int) *machine { return &machine{world: w, free: processors} }

// work does a piece of work, then calls done.
func (m *machine) work(takes time.Duration, done func()) {
	if m.free == 0 {
		m.queue = append(m.queue, piece{takes, done})
		return
	}
	m.free--
	m.begin(piece{takes, done})
}

func (m *machine) begin(p piece) {
	m.busy += p.takes
	m.world.after(p.takes, func() {
		if len(m.queue) > 0 {
			next := m.queue[0]
			m.queue = m.queue[1:]
			m.begin(next)
		} else {
			m.free++
		}
		p.done()
	})
}
