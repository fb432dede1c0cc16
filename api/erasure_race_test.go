package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
	"tapeline/service/access"
)

// raceTime returns how long races of erasures run: 5 s, or as the variable
// TAPELINE_RACE_TIME says, such as 1m.
func raceTime(t *testing.T) time.Duration {
	t.Helper()
	value := os.Getenv("TAPELINE_RACE_TIME")
	if value == "" {
		return 5 * time.Second
	}
	d, err := time.ParseDuration(value)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// race holds the parts of a race: few customers, so that all meet.
type race struct {
	*bench
	mu       sync.Mutex
	people   map[string]api.Order // the latest order of each customer's reference
	orders   map[uuid.UUID]bool
	answered map[string]int // by operation and status
}

func (r *race) note(what string, a reply) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.answered[fmt.Sprint(what, " ", a.status)]++
	if a.status >= http.StatusInternalServerError {
		r.Errorf("%s: %d %s", what, a.status, a.body)
	}
}

func (r *race) latest(reference string) (api.Order, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	o, ok := r.people[reference]
	return o, ok
}

// write creates orders of all kinds: for a customer by reference, by ID, and with
// a stored measurement set.
func (r *race) write(random *rand.Rand, person string) {
	order := sampleOrder("R-"+uuid.NewString()).with("customer", object{"reference": person, "name": "Mara Vell"})
	if known, ok := r.latest(person); ok && random.IntN(2) == 0 {
		order = order.with("customer", nil).with("customer_id", known.CustomerID)
		if random.IntN(2) == 0 {
			order = order.with("measurements", nil).with("measurement_set_id", known.MeasurementSetID)
		}
	}
	a := r.order(order, uuid.NewString())
	r.note("create", a)
	if a.status != http.StatusCreated {
		return
	}
	var o api.Order
	if err := json.Unmarshal(a.body, &o); err != nil {
		r.Error(err)
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.people[person], r.orders[o.ID] = o, true
}

// change does something to the latest order of a customer.
func (r *race) change(random *rand.Rand, person string) {
	o, ok := r.latest(person)
	if !ok {
		return
	}
	path, customer := "/v1/orders/"+o.ID.String(), "/v1/customers/"+o.CustomerID.String()
	switch random.IntN(7) {
	case 0:
		r.note("hold", r.post(path+"/hold", object{"reason": "she telephoned"}))
	case 1:
		r.note("confirm", r.post(path+"/confirm", object{}))
	case 2:
		r.note("cancel", r.post(path+"/cancel", object{"reason": "he telephoned"}))
	case 3:
		r.note("revise", r.post(path+"/revise", object{"fit": "loose", "reason": "roomier"}))
	case 4:
		r.note("link", r.post(path+"/links", object{}))
	case 5:
		r.note("measure", r.post(customer+"/measurement-sets", object{"unit": "cm", "measurements": figure()}))
	case 6:
		r.note("confirm with set", r.post(path+"/confirm", object{"measurement_set_id": o.MeasurementSetID}))
	}
}

// erase erases a customer three times at once. All three answer alike.
func (r *race) erase(person string) {
	o, ok := r.latest(person)
	if !ok {
		return
	}
	var all sync.WaitGroup
	var erased [3]api.Erasure
	var bodies [3]reply
	for i := range erased {
		all.Go(func() { bodies[i] = r.post("/v1/customers/"+o.CustomerID.String()+"/erasure", nil) })
	}
	all.Wait()
	for i, a := range bodies {
		r.note("erase", a)
		if a.status != http.StatusOK {
			r.Errorf("erasure %d of three at once: %d %s", i+1, a.status, a.body)
			return
		}
		if err := json.Unmarshal(a.body, &erased[i]); err != nil {
			r.Error(err)
		}
		if !erased[i].ErasedAt.Equal(erased[0].ErasedAt) {
			r.Errorf("erased at %v and at %v", erased[0].ErasedAt, erased[i].ErasedAt)
		}
	}
}

// refit applies a refit to all regular torsos that there are.
func (r *race) applyRefit(ctx context.Context, ease float64) {
	a := r.as(service.RoleStaff, "POST", "/v1/refits", newRefit(roomier(ease), object{"statuses": []string{"ready"}}))
	r.note("refit", a)
	var f api.Refit
	if a.status != http.StatusCreated || json.Unmarshal(a.body, &f) != nil {
		return
	}
	path := "/v1/refits/" + f.ID.String()
	for ctx.Err() == nil {
		if err := json.Unmarshal(r.get(path).body, &f); err != nil {
			r.Error(err)
			return
		}
		switch f.Status {
		case api.RefitStatusToDecide:
			r.note("decide", r.as(service.RoleStaff, "POST", path+"/decide", object{"apply": "all"}))
		case api.RefitStatusPreviewing, api.RefitStatusApplying:
		default:
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// retain runs retention as a year later, which erases everybody.
func (r *race) retain() {
	if err := r.service.ClearAway(context.WithoutCancel(r.Context()), time.Now().Add(366*24*time.Hour)); err != nil {
		r.Errorf("retention: %v", err)
	}
}

// Whatever races with the erasure of a customer, every order that was accepted
// is drafted, held or cancelled in the end, all orders of erased customers are
// cancelled, and nobody gets an answer that the contract does not have.
func TestErasureRaces(t *testing.T) {
	t.Parallel()
	r := &race{bench: setup(t), people: map[string]api.Order{}, orders: map[uuid.UUID]bool{}, answered: map[string]int{}}
	days := 90
	_, err := r.service.Access.ChangeSettings(t.Context(), service.Caller{Shop: r.shop.ID},
		access.SettingsChange{RetentionDays: &days})
	r.must(err)
	people := []string{"C-1", "C-2", "C-3"}
	ctx, stop := context.WithTimeout(t.Context(), raceTime(t))
	defer stop()
	var all sync.WaitGroup
	again := func(pause time.Duration, do func(*rand.Rand)) {
		random := rand.New(rand.NewPCG(uint64(pause), uint64(len(r.people))))
		all.Go(func() {
			for ctx.Err() == nil {
				do(random)
				time.Sleep(time.Duration(random.Int64N(int64(pause))))
			}
		})
	}
	anyone := func(random *rand.Rand) string { return people[random.IntN(len(people))] }
	for range 4 {
		again(10*time.Millisecond, func(random *rand.Rand) { r.write(random, anyone(random)) })
	}
	for range 2 {
		again(10*time.Millisecond, func(random *rand.Rand) { r.change(random, anyone(random)) })
	}
	again(200*time.Millisecond, func(random *rand.Rand) { r.erase(anyone(random)) })
	again(time.Second, func(random *rand.Rand) { r.applyRefit(ctx, 7+random.Float64()) })
	again(2*time.Second, func(*rand.Rand) { r.retain() })
	all.Wait()
	r.ends(t)
}

// ends waits for the end of every order, and compares it with its customer.
func (r *race) ends(t *testing.T) {
	t.Helper()
	for _, what := range slices.Sorted(maps.Keys(r.answered)) {
		t.Logf("%5d %s", r.answered[what], what)
	}
	for _, what := range []string{"create 201", "erase 200"} {
		if r.answered[what] < 3 {
			t.Errorf("%d times %s: too few to race", r.answered[what], what)
		}
	}
	erased := map[uuid.UUID]bool{}
	for id := range r.orders {
		var o api.Order
		// Orders come faster than they are drafted: those left at the end take a while.
		r.within(time.Minute+time.Duration(len(r.orders))*50*time.Millisecond, "the end of order "+id.String(), func() bool {
			r.get("/v1/orders/"+id.String()).want(http.StatusOK, &o)
			return o.Status != api.OrderStatusReceived
		})
		gone, asked := erased[o.CustomerID]
		if !asked {
			var c api.Customer
			r.get("/v1/customers/"+o.CustomerID.String()).want(http.StatusOK, &c)
			gone = !c.ErasedAt.IsZero()
			erased[o.CustomerID] = gone
		}
		if gone && o.Status != api.OrderStatusCancelled {
			t.Errorf("order %s is %s, customer erased: %t", id, o.Status, gone)
		}
	}
	var left int
	r.must(r.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM draft_revisions d JOIN orders o ON o.id = d.order_id
		JOIN customers c ON c.id = o.customer_id WHERE c.erased_at IS NOT NULL AND d.document IS NOT NULL`).Scan(&left))
	if left > 0 {
		t.Errorf("%d drafts of erased customers remain", left)
	}
	if found := errorLines(r.log.String()); found != "" {
		t.Errorf("the log has errors:\n%.4000s", found)
	}
}

// errorLines returns the lines of a log that are errors.
func errorLines(log string) (found string) {
	for line := range strings.Lines(log) {
		if strings.Contains(line, `"level":"ERROR"`) {
			found += line
		}
	}
	return found
}
