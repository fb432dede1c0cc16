package main

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"tapeline/service/work"
)

// costs are processor times of the parts of an order, as cmd/load measured them on
// the machine of DEVELOPERS.md: 14.8 ms in tapeline and 7.4 in PostgreSQL at 40
// orders per second, split by the profiles of that run.
type costs struct {
	create, draft, deliver, render        time.Duration // in tapeline, an order
	storeCreate, storeDraft, storeDeliver time.Duration // in PostgreSQL
	storeRender                           time.Duration
	fetch                                 time.Duration // until a replica takes a job up, at most
	poll                                  time.Duration // between looks for due messages
	step                                  time.Duration // of work in bulk
}

var measured = costs{
	create: 3 * time.Millisecond, draft: 4 * time.Millisecond, deliver: 1800 * time.Microsecond,
	render:      6 * time.Millisecond,
	storeCreate: 2200 * time.Microsecond, storeDraft: 2600 * time.Microsecond,
	storeDeliver: 2000 * time.Microsecond, storeRender: 600 * time.Microsecond,
	fetch: 40 * time.Millisecond, poll: 50 * time.Millisecond, step: 20 * time.Millisecond,
}

// setting describes a simulation.
type setting struct {
	replicas   int
	processors int     // of each replica's machine
	database   int     // processors of the database's machine; 0: all share one machine of processors
	shops      int     // honest ones
	rate       float64 // orders per second of the honest shops together
	hostile    string  // what the hostile shop does; "": nothing
	length     time.Duration
	seed       uint64
}

// The things that a hostile shop does.
const (
	burst    = "burst"    // 2,500 orders at once, a tenth into the time
	layPlans = "layplans" // 16 requests at once that each search for 10 s, again and again
)

// replica is a process: a machine, and the schedule of its processors.
type replica struct {
	machine  *machine
	schedule *work.Schedule[*task]
}

// task is work that the schedule governs.
type task struct {
	class work.Class
	takes time.Duration
	done  func()
}

// model is the service under simulation.
type model struct {
	*world
	setting  setting
	costs    costs
	random   *rand.Rand
	replicas []*replica
	database *machine
	next     int // replica of the next request: a load balancer takes them in turn

	honest, hostile figures
}

// figures are the times that shops saw, from the request on.
type figures struct {
	created, ready, webhook, file []time.Duration
	orders                        int
}

func newModel(s setting, c costs) *model {
	m := &model{world: &world{}, setting: s, costs: c, random: rand.New(rand.NewPCG(s.seed, 1))}
	shared := s.database == 0
	var one *machine
	if shared {
		one = newMachine(m.world, s.processors)
		m.database = one
	} else {
		m.database = newMachine(m.world, s.database)
	}
	for range s.replicas {
		machine := one
		if !shared {
			machine = newMachine(m.world, s.processors)
		}
		// A server gives its schedule one processor more than the machine has.
		m.replicas = append(m.replicas, &replica{machine, work.NewSchedule[*task](s.processors + 1)})
	}
	return m
}

// shopID names a shop by its number.
func shopID(n int) (id uuid.UUID) {
	binary.BigEndian.PutUint64(id[:], uint64(n)+1)
	return id
}

// hostileShop is the number of the shop that does harm.
const hostileShop = -2

// start lets the shops send orders. The size of a shop falls by Zipf's law, and a
// shop sends its orders in batches whose size has a heavy tail.
func (m *model) start() {
	total := 0.0
	for n := range m.setting.shops {
		total += 1 / float64(n+1)
	}
	for n := range m.setting.shops {
		m.send(n, m.setting.rate/float64(n+1)/total/meanBatch)
	}
	switch m.setting.hostile {
	case burst:
		m.after(m.setting.length/10, func() {
			for range 2500 {
				m.order(hostileShop, &m.hostile)
			}
		})
	case layPlans:
		for range 16 {
			m.searchForever()
		}
	}
}

// send sends a shop's batches, each a random while after the one before.
func (m *model) send(shop int, perSecond float64) {
	wait := time.Duration(m.random.ExpFloat64() / perSecond * float64(time.Second))
	m.after(wait, func() {
		for range m.batch() {
			m.order(shop, &m.honest)
		}
		m.send(shop, perSecond)
	})
}

// meanBatch is the mean size of a batch: the sum of k^-1.6 for k from 1 to 50.
const meanBatch = 2.127

// batch returns the size of a batch: mostly one, at times dozens (a Pareto
// distribution of shape 1.6, rounded down and at most 50).
func (m *model) batch() int { return min(50, int(math.Pow(1-m.random.Float64(), -1/1.6))) }

func (m *model) replica() *replica {
	m.next = (m.next + 1) % len(m.replicas)
	return m.replicas[m.next]
}

// order takes an order through the service: it is created, drafted, its webhooks
// are delivered, and its file is fetched once.
func (m *model) order(shop int, f *figures) {
	began := m.now
	c := m.costs
	front := m.replica()
	front.machine.work(c.create, func() {
		m.database.work(c.storeCreate, func() {
			f.orders++
			f.created = append(f.created, m.now-began)
			m.after(m.upTo(c.fetch), func() {
				back := m.replicas[m.random.IntN(len(m.replicas))] // whichever takes the job first
				m.govern(back, work.Order, shop, c.draft, func() {
					m.database.work(c.storeDraft, func() {
						f.ready = append(f.ready, m.now-began)
						m.deliver(began, f)
						m.fetchFile(shop, f)
					})
				})
			})
		})
	})
}

// deliver delivers the two messages of an order.
func (m *model) deliver(began time.Duration, f *figures) {
	m.after(m.upTo(m.costs.poll), func() {
		m.replica().machine.work(m.costs.deliver, func() {
			m.database.work(m.costs.storeDeliver, func() { f.webhook = append(f.webhook, m.now-began) })
		})
	})
}

func (m *model) fetchFile(shop int, f *figures) {
	began := m.now
	m.database.work(m.costs.storeRender, func() {
		m.govern(m.replica(), work.Request, shop, m.costs.render, func() { f.file = append(f.file, m.now-began) })
	})
}

// searchForever does lay plans, one after the other, each in steps.
func (m *model) searchForever() {
	const search = 10 * time.Second
	r := m.replica()
	left := search
	var step func()
	step = func() {
		if left <= 0 {
			r, left = m.replica(), search
		}
		left -= m.costs.step
		m.govern(r, work.Bulk, hostileShop, m.costs.step, step)
	}
	step()
}

func (m *model) upTo(limit time.Duration) time.Duration {
	return time.Duration(m.random.Int64N(int64(limit) + 1))
}

// govern does work for which a replica's schedule gives out its processors.
func (m *model) govern(r *replica, class work.Class, shop int, takes time.Duration, done func()) {
	r.schedule.Add(class, shopID(shop), &task{class, takes, done}, m.clock())
	m.serve(r)
}

func (m *model) serve(r *replica) {
	for {
		t, ok := r.schedule.Next(m.clock())
		if !ok {
			return
		}
		r.machine.work(t.takes, func() {
			r.schedule.Done(t.class)
			m.serve(r)
			t.done()
		})
	}
}

// clock is the simulated time as the schedule takes it.
func (m *model) clock() time.Time { return time.Unix(0, 0).Add(m.now) }
