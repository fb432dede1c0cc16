package webhooks

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

const (
	// pollInterval is how often a replica looks for due messages. A look that
	// finds none costs PostgreSQL about 0.1 ms.
	pollInterval = 50 * time.Millisecond

	// claimFor is how long a claim holds. It must be longer than an attempt with
	// its record. A message that a killed process had claimed is then due again.
	claimFor = time.Minute

	claimWithin = 5 * time.Second // a claim's time, in case the database hangs
)

// dispatcher claims due messages and delivers them, so that no shop and no
// endpoint takes all the workers.
type dispatcher struct {
	service *Service
	shares  shares

	cancel   context.CancelFunc // ends the claiming
	loop     sync.WaitGroup
	attempts sync.WaitGroup
	failing  bool // the last claim failed, and that is logged
}

// Start begins to deliver messages, until Stop.
func (s *Service) Start(ctx context.Context) {
	d := &s.dispatcher
	work := context.WithoutCancel(ctx)
	ctx, d.cancel = context.WithCancel(ctx)
	work, s.abandon = context.WithCancel(work)
	d.loop.Go(func() { d.run(ctx, work) })
}

// Stop stops claiming messages and waits for the attempts under way. If ctx
// ends first, it abandons them, and their messages stay pending.
func (s *Service) Stop(ctx context.Context) error {
	d := &s.dispatcher
	if d.cancel == nil {
		return nil // never started
	}
	d.cancel()
	d.loop.Wait()
	ended := make(chan struct{})
	go func() {
		d.attempts.Wait()
		close(ended)
	}()
	defer s.abandon()
	select {
	case <-ended:
		return nil
	case <-ctx.Done():
	}
	s.abandon()
	<-ended
	return nil
}

// run claims until ctx ends. Attempts run in work, which outlasts ctx.
func (d *dispatcher) run(ctx, work context.Context) {
	tick := time.NewTicker(pollInterval)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			d.claim(ctx, work)
		}
	}
}

func (d *dispatcher) claim(ctx, work context.Context) {
	s := d.service
	free, endpoints, shops := d.shares.room()
	if free == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, claimWithin)
	defer cancel()
	now := s.clock.Now()
	claimed, err := s.store.ClaimMessages(ctx, query.ClaimMessagesParams{At: now, ClaimedUntil: now.Add(claimFor),
		BusyEndpoints: endpoints, BusyShops: shops, Each: endpointShare(free), PerShop: shopShare(free), Limit: free})
	if err != nil && ctx.Err() == nil && !d.failing {
		s.log.Error("claim webhook messages", "error", err)
	}
	d.failing = err != nil
	for _, m := range claimed {
		if !d.shares.enter(m) {
			continue
		}
		d.attempts.Go(func() {
			defer d.shares.leave(m)
			d.attempt(work, m)
		})
	}
}

// attempt makes an attempt, and gives the message back if that came to nothing. A
// message whose attempt panics is due again when its claim runs out, so that it
// does not panic again and again at once.
func (d *dispatcher) attempt(ctx context.Context, m db.ClaimedMessage) {
	s := d.service
	defer func() {
		if v := recover(); v != nil {
			s.log.Error("deliver webhook message", "message_id", m.ID, "error", s.recovered(ctx, v))
		}
	}()
	attempt, cancel := context.WithTimeout(ctx, claimFor)
	defer cancel()
	err := s.attempt(attempt, m)
	if err == nil {
		return
	}
	if ctx.Err() == nil {
		s.log.Error("deliver webhook message", "message_id", m.ID, "error", err)
	}
	release, end := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
	defer end()
	// If this fails too, the claim runs out by itself.
	_ = s.store.ReleaseMessages(release, []uuid.UUID{m.ID})
}

// shares counts the workers that deliver, in all, by endpoint and by shop.
type shares struct {
	max int // workers

	mu        sync.Mutex
	messages  map[uuid.UUID]bool // under way
	endpoints map[uuid.UUID]int
	shops     map[uuid.UUID]int
}

func newShares(workers int) shares {
	return shares{max: max(1, workers), messages: map[uuid.UUID]bool{}, endpoints: map[uuid.UUID]int{},
		shops: map[uuid.UUID]int{}}
}

// endpointShare is how many of the free workers one endpoint may take, and
// shopShare how many one shop may. Receivers that never answer so leave workers
// for the others, however many they are.
func endpointShare(free int) int { return max(1, free/4) }
func shopShare(free int) int     { return max(1, free/2) }

// room returns how many workers are free, with the endpoints and the shops that
// have their share.
func (s *shares) room() (free int, endpoints, shops []uuid.UUID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	free = s.max - len(s.messages)
	return free, atLeast(s.endpoints, endpointShare(free)), atLeast(s.shops, shopShare(free))
}

// atLeast returns the keys that are counted n times or more.
func atLeast(counts map[uuid.UUID]int, n int) []uuid.UUID {
	ids := []uuid.UUID{}
	for id, count := range counts {
		if count >= n {
			ids = append(ids, id)
		}
	}
	return ids
}

// enter counts a message. It returns false for one that is under way: its claim ran
// out because the database's clock was set forward, and it must not be sent twice.
func (s *shares) enter(m db.ClaimedMessage) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.messages[m.ID] {
		return false
	}
	s.messages[m.ID] = true
	s.endpoints[m.EndpointID]++
	s.shops[m.ShopID]++
	return true
}

func (s *shares) leave(m db.ClaimedMessage) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.messages, m.ID)
	decrement(s.endpoints, m.EndpointID)
	decrement(s.shops, m.ShopID)
}

func decrement(counts map[uuid.UUID]int, id uuid.UUID) {
	if counts[id]--; counts[id] == 0 {
		delete(counts, id)
	}
}
