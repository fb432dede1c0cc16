package api_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/db"
	"tapeline/service"
	"tapeline/service/app"
)

func TestOrderBecomesAPattern(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var placed api.Order
	r := b.order(sampleOrder("LL-1"), `"first"`).want(http.StatusCreated, &placed)
	if placed.Status != api.OrderStatusReceived || placed.Reference != "LL-1" || placed.Fit != "regular" ||
		placed.Date.IsZero() {
		t.Errorf("placed: %+v", placed)
	}
	if want := "/v1/orders/" + placed.ID.String(); r.header.Get("Location") != want {
		t.Errorf("Location %q, want %q", r.header.Get("Location"), want)
	}
	o := b.settled(placed.ID)
	if o.Status != api.OrderStatusReady || o.Revision != 1 || o.Links.PatternPDF == "" {
		t.Fatalf("settled: %+v", o)
	}
	if got := b.history(o.ID); !slices.Equal(got, []string{"received", "ready"}) {
		t.Errorf("history: %v", got)
	}
	var revisions api.DraftRevisionList
	b.get("/v1/orders/"+o.ID.String()+"/revisions").want(http.StatusOK, &revisions)
	if len(revisions.Items) != 1 || revisions.Items[0].Number != 1 || len(revisions.Items[0].Checks) == 0 ||
		revisions.Items[0].MeasurementSetID != o.MeasurementSetID {
		t.Errorf("revisions: %+v", revisions.Items)
	}
}

// history are the events of an order.
func (b *bench) history(id uuid.UUID) (events []string) {
	b.Helper()
	var h api.OrderHistory
	b.get("/v1/orders/"+id.String()+"/history").want(http.StatusOK, &h)
	for _, e := range h.Items {
		events = append(events, string(e.Event))
	}
	return events
}

// An order can name records that are there; it then uses them and makes none.
func TestOrderOfAStoredCustomer(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var c api.Customer
	b.post("/v1/customers", object{"reference": "C-1", "name": "Mara Vell"}).want(http.StatusCreated, &c)
	var set api.MeasurementSet
	inches := object{}
	for name, v := range figure() {
		switch v := v.(type) {
		case int:
			inches[name] = float64(v) / 2.54
		case float64:
			inches[name] = v / 2.54
		}
	}
	b.post("/v1/customers/"+c.ID.String()+"/measurement-sets", object{"unit": "inch", "measurements": inches}).
		want(http.StatusCreated, &set)
	if set.Version != 1 || !set.Report.Acceptable || set.Unit != api.UnitInch {
		t.Errorf("set: %+v", set)
	}
	body := object{"reference": "LL-1", "customer_id": c.ID, "measurement_set_id": set.ID, "unit": "cm",
		"allowances": object{"default": 1.5, "hem": 3}, "choices": object{"length": "hip"}}
	var o api.Order
	b.order(body, "a").want(http.StatusCreated, &o)
	if o.CustomerID != c.ID || o.MeasurementSetID != set.ID || o.Block != "torso" || o.Fit != "regular" {
		t.Errorf("order: %+v", o)
	}
	o = b.settled(o.ID)
	// The same body in inches and in centimetres gives the same measures.
	twin := b.ready("LL-2")
	for _, paths := range [][2]string{
		{"LL-1", "/v1/orders/" + o.ID.String()},
		{"LL-2", "/v1/orders/" + twin.ID.String()},
	} {
		var revisions api.DraftRevisionList
		b.get(paths[1]+"/revisions").want(http.StatusOK, &revisions)
		for _, check := range revisions.Items[0].Checks {
			if check.Name == "bust" && (check.BodyMm < 919.9 || check.BodyMm > 920.1) {
				t.Errorf("%s: bust %v mm, want 920", paths[0], check.BodyMm)
			}
		}
	}
	p := b.order(body.with("reference", "LL-3").with("measurement_set_id", twin.MeasurementSetID), "c").
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/measurement_set_id" {
		t.Errorf("another customer's set: %+v", p.Errors)
	}
	// A customer in full with a known reference is that customer, with the new name.
	b.order(sampleOrder("LL-4").with("customer", object{"reference": "C-1", "name": "Mara Vell-Ash"}), "d").
		want(http.StatusCreated, &o)
	b.get("/v1/customers/"+c.ID.String()).want(http.StatusOK, &c)
	if o.CustomerID != c.ID || c.Name != "Mara Vell-Ash" {
		t.Errorf("order of %s, customer %+v", o.CustomerID, c)
	}
}

// Idempotency-Key as the IETF httpapi draft describes it.
func TestIdempotencyKey(t *testing.T) {
	t.Parallel()
	b := setup(t)
	first := b.order(sampleOrder("LL-1"), `"key-1"`).want(http.StatusCreated, nil)
	var o api.Order
	first.want(http.StatusCreated, &o)
	b.settled(o.ID)

	// The same request gives the same answer, although the order has moved on, however its JSON is
	// written, and with the key bare.
	again := b.order(sampleOrder("LL-1"), "key-1").want(http.StatusCreated, nil)
	if string(again.body) != string(first.body) || again.header.Get("Location") != first.header.Get("Location") {
		t.Errorf("another answer:\n%s\n%s", first.body, again.body)
	}
	indented, err := json.MarshalIndent(sampleOrder("LL-1"), " ", "\t")
	b.must(err)
	if again = b.order(string(indented), "key-1").want(http.StatusCreated, nil); string(again.body) != string(first.body) {
		t.Errorf("the same order written otherwise: %s", again.body)
	}
	b.order(sampleOrder("LL-1").with("fit", "loose"), "key-1").
		problem(http.StatusUnprocessableEntity, api.ProblemCodeIdempotencyKeyReused)
	b.order(sampleOrder("LL-1"), "key-2").problem(http.StatusConflict, api.ProblemCodeReferenceTaken)
	b.do(call{method: "POST", path: "/v1/orders", key: b.keys[service.RoleShop], body: sampleOrder("LL-2")}).
		problem(http.StatusBadRequest, api.ProblemCodeIdempotencyKeyMissing)

	// A request with the key is in flight while its transaction is open.
	err = b.store.InTx(t.Context(), func(tx *db.Tx) error {
		if claimed, _, err := tx.ClaimKey(t.Context(), b.shop.ID, "key-3"); err != nil || !claimed {
			t.Fatalf("claim: %v %v", claimed, err)
		}
		b.order(sampleOrder("LL-3"), "key-3").problem(http.StatusConflict, api.ProblemCodeIdempotencyInFlight)
		return nil
	})
	b.must(err)
	// A refused order leaves nothing behind: corrected, it goes through with its key.
	b.order(sampleOrder("LL-4").with("fit", "tight"), "key-4").
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	b.order(sampleOrder("LL-4"), "key-4").want(http.StatusCreated, nil)
	var orders api.OrderList
	b.get("/v1/orders").want(http.StatusOK, &orders)
	if len(orders.Items) != 2 {
		t.Errorf("%d orders, want 2", len(orders.Items))
	}
}

// The same order posted a hundred times at once is one order, drafted once.
func TestSameOrderAHundredTimesAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	for _, keys := range []struct {
		name string
		key  func(int) string
	}{
		{"LL-ONE-KEY", func(int) string { return "same" }},
		{"LL-MANY-KEYS", func(i int) string { return fmt.Sprint("key-", i) }},
	} {
		replies := make([]reply, 100)
		var wg sync.WaitGroup
		for i := range replies {
			wg.Go(func() { replies[i] = b.order(sampleOrder(keys.name), keys.key(i)) })
		}
		wg.Wait()
		created := map[string]int{}
		for _, r := range replies {
			switch r.status {
			case http.StatusCreated:
				created[string(r.body)]++
			case http.StatusConflict:
			default:
				t.Fatalf("%s: %d %s", keys.name, r.status, r.body)
			}
		}
		if len(created) != 1 {
			t.Fatalf("%s: %d different orders were created", keys.name, len(created))
		}
		for body, n := range created {
			var o api.Order
			b.must(json.Unmarshal([]byte(body), &o))
			if keys.name == "LL-MANY-KEYS" && n != 1 {
				t.Errorf("%s: created %d times", keys.name, n)
			}
			if o = b.settled(o.ID); o.Revision != 1 {
				t.Errorf("%s: revision %d", keys.name, o.Revision)
			}
			hook.await(b, "order.ready", o.ID)
			if got := b.history(o.ID); !slices.Equal(got, []string{"received", "ready"}) {
				t.Errorf("%s: history %v", keys.name, got)
			}
		}
	}
	if n := len(hook.ids()); n != 4 {
		t.Errorf("%d messages, want received and ready of two orders", n)
	}
}

func TestListOrders(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var ids []uuid.UUID
	for i := range 5 {
		ids = append(ids, b.placed(fmt.Sprint("LL-", i)).ID)
	}
	slices.Reverse(ids) // newest first
	for _, id := range ids {
		b.settled(id)
	}
	var got []uuid.UUID
	cursor := ""
	for range 4 {
		var page api.OrderList
		b.get("/v1/orders?limit=2"+cursor).want(http.StatusOK, &page)
		for _, o := range page.Items {
			got = append(got, o.ID)
		}
		if page.NextCursor == "" {
			break
		}
		cursor = "&cursor=" + page.NextCursor
	}
	if !slices.Equal(got, ids) {
		t.Errorf("pages give %v, want %v", got, ids)
	}
	b.post("/v1/orders/"+ids[0].String()+"/cancel", object{"reason": "changed her mind"}).want(http.StatusOK, nil)
	var first api.Order
	b.get("/v1/orders/"+ids[4].String()).want(http.StatusOK, &first)
	for query, want := range map[string]int{
		"status=ready": 4, "status=cancelled": 1, "status=held": 0, "reference=LL-3": 1, "reference=LL-9": 0,
		"block=torso": 5, "block=straight": 0,
		"customer_id=" + first.CustomerID.String(): 1, "customer_id=" + uuid.NewString(): 0,
		"created_before=" + first.CreatedAt.Format("2006-01-02T15:04:05.000000Z"): 0,
		"created_from=" + first.CreatedAt.Format("2006-01-02T15:04:05.000000Z"):   5,
		"status=ready&reference=LL-0":                                             1,
	} {
		var page api.OrderList
		b.get("/v1/orders?"+query).want(http.StatusOK, &page)
		if len(page.Items) != want {
			t.Errorf("%s gives %d orders, want %d", query, len(page.Items), want)
		}
	}
	for _, cursor := range []string{"x", "AAAA", "____________________________"} {
		p := b.get("/v1/orders?cursor="+cursor).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
		if p.Errors[0].Parameter != "cursor" {
			t.Errorf("cursor %q: %+v", cursor, p.Errors)
		}
	}
}

// undraftable is a body inside every limit whose armhole reaches too near the
// waist.
func undraftable(reference string) object {
	return sampleOrder(reference).with("measurements", figure().with("scye_depth", 34.5))
}

func TestUndraftableOrderIsHeld(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	var o api.Order
	b.order(undraftable("LL-1"), "a").want(http.StatusCreated, &o)
	o = b.settled(o.ID)
	if o.Status != api.OrderStatusHeld || len(o.Reasons) < 2 || o.Reasons[0].Code != "undraftable" ||
		o.Reasons[1].Detail == "" {
		t.Fatalf("order: %+v", o)
	}
	e := hook.await(b, "order.held", o.ID)
	if len(e.Data.ReasonCodes) == 0 || e.Data.ReasonCodes[0] != "undraftable" {
		t.Errorf("event: %+v", e)
	}
	b.get("/v1/orders/"+o.ID.String()+"/pattern.pdf").problem(http.StatusConflict, api.ProblemCodePatternNotReady)
	// With measurements that can be drafted it goes on.
	var set api.MeasurementSet
	b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets", object{"unit": "cm", "measurements": figure()}).
		want(http.StatusCreated, &set)
	b.post("/v1/orders/"+o.ID.String()+"/confirm", object{"measurement_set_id": set.ID, "reason": "measured again"}).
		want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.MeasurementSetID != set.ID || len(o.Reasons) != 0 {
		t.Errorf("confirmed: %+v", o)
	}
	if got := b.history(o.ID); !slices.Equal(got, []string{"received", "held", "confirmed", "ready"}) {
		t.Errorf("history: %v", got)
	}
}

func TestHoldConfirmReviseCancel(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	o := b.ready("LL-1")
	path := "/v1/orders/" + o.ID.String()
	reason := object{"reason": "second fitting"}

	var link api.LinkWithURL
	b.post(path+"/links", object{"format": "json"}).want(http.StatusCreated, &link)
	address := strings.TrimPrefix(link.URL, "http://tapeline.test")
	b.do(call{method: "GET", path: address}).want(http.StatusOK, nil)

	b.post(path+"/confirm", object{}).problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.post(path+"/hold", reason).want(http.StatusOK, &o)
	if o.Status != api.OrderStatusHeld || o.Reasons[0].Code != "by_request" || o.Links.PatternPDF != "" {
		t.Errorf("held: %+v", o)
	}
	hook.await(b, "order.held", o.ID)
	b.post(path+"/hold", reason).problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.get(path+"/pattern.pdf").problem(http.StatusConflict, api.ProblemCodePatternNotReady)
	// The staff can look at its drafts by their number. Nothing is handed out.
	b.as(service.RoleStaff, "GET", path+"/pattern.json?revision=1", nil).want(http.StatusOK, nil)
	for _, file := range []string{"/pattern.json?revision=1", "/pattern.pdf?revision=1"} {
		b.as(service.RoleShop, "GET", path+file, nil).problem(http.StatusConflict, api.ProblemCodePatternNotReady)
	}
	b.post(path+"/links", object{"revision": 1}).problem(http.StatusConflict, api.ProblemCodePatternNotReady)
	b.do(call{method: "GET", path: address}).problem(http.StatusConflict, api.ProblemCodePatternNotReady)

	// Nothing changed: the draft stands.
	b.post(path+"/confirm", object{"reason": "as it is"}).want(http.StatusOK, &o)
	if o.Status != api.OrderStatusReady || o.Revision != 1 {
		t.Errorf("confirmed: %+v", o)
	}

	b.as(service.RoleShop, "POST", path+"/revise", reason).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	b.post(path+"/revise", reason.with("fit", "loose")).want(http.StatusOK, &o)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.Revision != 2 || o.Fit != "loose" {
		t.Errorf("revised: %+v", o)
	}
	if e := hook.await(b, "order.revised", o.ID); e.Data.Revision != 2 || e.Data.PreviousRevision != 1 {
		t.Errorf("event: %+v", e.Data)
	}
	// The former draft is still there, and another.
	one := b.get(path+"/pattern.json?revision=1").want(http.StatusOK, nil)
	two := b.get(path+"/pattern.json").want(http.StatusOK, nil)
	if string(one.body) == string(two.body) || one.header.Get("ETag") == two.header.Get("ETag") {
		t.Error("both revisions are the same")
	}
	// The same again gives no revision.
	b.post(path+"/revise", reason).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.Revision != 2 {
		t.Errorf("revised without a change: %+v", o)
	}
	p := b.post(path+"/revise", reason.with("fit", "tight")).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/fit" {
		t.Errorf("errors: %+v", p.Errors)
	}
	// Lengths that stay are shown in another unit.
	b.post(path+"/revise", reason.with("unit", "inch")).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Unit != api.UnitInch || math.Abs(o.Allowances["default"]*25.4-15) > 1e-4 {
		t.Errorf("in inches: %+v", o)
	}

	b.post(path+"/cancel", reason).want(http.StatusOK, &o)
	b.post(path+"/cancel", reason).want(http.StatusOK, &o)
	hook.await(b, "order.cancelled", o.ID)
	if o.Status != api.OrderStatusCancelled {
		t.Errorf("cancelled: %+v", o)
	}
	for _, do := range []string{"hold", "revise"} {
		b.post(path+"/"+do, reason).problem(http.StatusConflict, api.ProblemCodeWrongState)
	}
	b.get(path+"/pattern.pdf").problem(http.StatusGone, api.ProblemCodeOrderCancelled)
	b.get(path+"/pattern.pdf?revision=1").problem(http.StatusGone, api.ProblemCodeOrderCancelled)
	want := []string{"received", "ready", "held", "confirmed", "revising", "revised", "revising", "unchanged", "revising",
		"revised", "cancelled"}
	if got := b.history(o.ID); !slices.Equal(got, want) {
		t.Errorf("history %v, want %v", got, want)
	}
}

// A database that hangs makes a request fail in time, with a problem that says to
// try again.
func TestHungDatabase(t *testing.T) {
	t.Parallel()
	b := setup(t, func(_ *app.Config, c *api.Config) { c.RequestTimeout = 500 * time.Millisecond })
	tx, err := b.store.Pool().Begin(t.Context())
	b.must(err)
	_, err = tx.Exec(t.Context(), "LOCK TABLE orders IN ACCESS EXCLUSIVE MODE")
	b.must(err)
	r := b.get("/v1/orders")
	r.problem(http.StatusServiceUnavailable, api.ProblemCodeUnavailable)
	if r.header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	b.must(tx.Rollback(t.Context()))
	b.get("/v1/orders").want(http.StatusOK, nil)
}
