package api_test

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/db/pgprivate"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/app"
)

func TestExportCustomer(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	b.ready("LL-2") // of another person
	b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets",
		object{"unit": "inch", "measurements": object{"bust_girth": 36}}).want(http.StatusCreated, nil)
	b.as(service.RoleShop, "GET", "/v1/customers/"+o.CustomerID.String()+"/export", nil).problem(http.StatusForbidden,
		api.ProblemCodeForbidden)
	var x api.CustomerExport
	r := b.get("/v1/customers/"+o.CustomerID.String()+"/export").want(http.StatusOK, &x)
	if x.Customer.Name != "Mara Vell" || len(x.MeasurementSets) != 2 || len(x.Orders) != 1 ||
		len(x.Orders[0].Patterns) != 1 || len(x.Orders[0].History) != 2 {
		t.Errorf("export: %d sets, %d orders: %.500s", len(x.MeasurementSets), len(x.Orders), r.body)
	}
	if x.MeasurementSets[1].Measurements["bust_girth"] != 92 || x.Orders[0].Order.ID != o.ID {
		t.Errorf("export: %+v", x.MeasurementSets)
	}
	if strings.Contains(string(r.body), "LL-2") {
		t.Error("the export has another person's order")
	}
	if got := b.audited(); got[0] != "customer.exported" {
		t.Errorf("audit: %v", got)
	}
}

// An export reads the orders in pages and has each once, newest first.
func TestExportManyOrders(t *testing.T) {
	t.Parallel()
	b := setup(t)
	const n = 23
	var o api.Order
	for i := range n {
		reference := fmt.Sprintf("LL-%02d", i)
		order := sampleOrder(reference).with("customer", object{"reference": "C-MANY"})
		b.order(order, "many-"+reference).want(http.StatusCreated, &o)
	}
	var x api.CustomerExport
	b.get("/v1/customers/"+o.CustomerID.String()+"/export").want(http.StatusOK, &x)
	if len(x.Orders) != n || len(x.MeasurementSets) != n {
		t.Fatalf("%d orders and %d sets, want %d", len(x.Orders), len(x.MeasurementSets), n)
	}
	for i, got := range x.Orders {
		if want := fmt.Sprintf("LL-%02d", n-1-i); got.Order.Reference != want || len(got.History) == 0 {
			t.Errorf("order %d is %s with %d events, want %s with its history", i, got.Order.Reference, len(got.History), want)
		}
	}
}

// audited returns the actions of the audit trail, newest first.
func (b *bench) audited() (actions []string) {
	b.Helper()
	var list api.AuditList
	b.get("/v1/audit?limit=200").want(http.StatusOK, &list)
	for _, e := range list.Items {
		actions = append(actions, e.Action)
	}
	return actions
}

// After an erasure, no table of the database contains anything about the person.
func TestEraseCustomer(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	const name, mark, bust = "Wilhelmina Quorn", "C-QUORN-9", 93.21875
	order := sampleOrder("LL-1").with("customer", object{"reference": mark, "name": name}).with("measurements",
		figure().with("bust_girth", bust)).with("ease", object{"bust_girth": 8.4375})
	var o, held api.Order
	b.order(order, "erase-1").want(http.StatusCreated, &o)
	b.settled(o.ID)
	b.order(undraftable("LL-2").with("customer", object{"reference": mark}), "erase-2").want(http.StatusCreated, &held)
	b.settled(held.ID)
	path := "/v1/customers/" + o.CustomerID.String()
	var link api.LinkWithURL
	b.post("/v1/orders/"+o.ID.String()+"/links", object{}).want(http.StatusCreated, &link)
	b.post("/v1/orders/"+o.ID.String()+"/hold", object{"reason": "Wilhelmina Quorn telephoned"}).want(http.StatusOK, nil)
	b.as(service.RoleStaff, "PATCH", "/v1/orders/"+o.ID.String(), object{"note": "Ivory thread for Quorn",
		"assignee": "Ines"}).want(http.StatusOK, nil)
	r := b.refit(roomier(9), object{"customer_id": o.CustomerID, "statuses": []string{"ready", "held"}})
	b.as(service.RoleStaff, "POST", "/v1/refits/"+r.ID.String()+"/stop", nil).want(http.StatusOK, nil)
	words := []string{name, mark, "Quorn", "Ivory thread", "93.21875", "84.375", "Tight at the fittings", `"length"`,
		`"hem"`}
	for _, word := range words {
		if b.dump(word) == nil {
			t.Errorf("the dump has no %q before the erasure: the test is wrong", word)
		}
	}
	words = append(words, "932.1875", "8.4375")

	var e, again api.Erasure
	b.post(path+"/erasure", nil).want(http.StatusOK, &e)
	b.post(path+"/erasure", nil).want(http.StatusOK, &again)
	if e.OrdersCancelled != 2 || again.OrdersCancelled != 0 || !again.ErasedAt.Equal(e.ErasedAt) {
		t.Errorf("erased: %+v, again: %+v", e, again)
	}
	hook.await(b, "order.cancelled", o.ID)
	hook.await(b, "order.cancelled", held.ID)
	if found := b.dump(words...); len(found) > 0 {
		t.Errorf("still in the database: %v", found)
	}

	var c api.Customer
	b.get(path).want(http.StatusOK, &c)
	if c.ErasedAt.IsZero() || c.Name != "" || c.Reference != "" {
		t.Errorf("customer: %+v", c)
	}
	for _, gone := range []string{path + "/export", "/v1/measurement-sets/" + o.MeasurementSetID.String()} {
		b.get(gone).problem(http.StatusGone, api.ProblemCodeErased)
	}
	b.as(service.RoleAdmin, "PUT", path, object{"reference": "X"}).problem(http.StatusGone, api.ProblemCodeErased)
	b.post(path+"/measurement-sets", object{"unit": "cm", "measurements": figure()}).problem(http.StatusGone,
		api.ProblemCodeErased)
	b.get("/v1/orders/"+o.ID.String()+"/pattern.json?revision=1").problem(http.StatusGone, api.ProblemCodeErased)
	b.do(call{method: "GET", path: strings.TrimPrefix(link.URL, "http://tapeline.test")}).problem(http.StatusGone,
		api.ProblemCodeErased)
	var revisions api.DraftRevisionList
	b.get("/v1/orders/"+o.ID.String()+"/revisions").want(http.StatusOK, &revisions)
	if r := revisions.Items[0]; r.ErasedAt.IsZero() || len(r.Checks) != 0 {
		t.Errorf("revision: %+v", r)
	}
	// The order stays as a bare record, and its reference stays taken.
	b.get("/v1/orders/"+o.ID.String()).want(http.StatusOK, &o)
	if o.Status != api.OrderStatusCancelled || o.Reasons[0].Code != "customer_erased" {
		t.Errorf("order: %+v", o)
	}
	b.as(service.RoleStaff, "PATCH", "/v1/orders/"+o.ID.String(), object{"note": "Quorn"}).problem(http.StatusGone,
		api.ProblemCodeErased)
	b.order(order, "erase-1").problem(http.StatusConflict, api.ProblemCodeReferenceTaken)
	// The customer's reference is free again.
	b.post("/v1/customers", object{"reference": mark}).want(http.StatusCreated, nil)
}

// dump searches a dump of the database for words, and reports geometry that an
// erasure left. It returns the lines that it found.
func (b *bench) dump(words ...string) (found []string) {
	b.Helper()
	bin, err := pgprivate.FindBinaries(b.Context(), 0)
	b.must(err)
	out, err := exec.CommandContext(b.Context(), filepath.Join(bin, "pg_dump"), "--data-only", "--schema=public",
		b.store.Pool().Config().ConnString()).Output()
	if errors.Is(err, os.ErrNotExist) {
		b.Skipf("no pg_dump on this machine: %v", err)
	}
	b.must(err)
	for line := range strings.Lines(string(out)) {
		for _, word := range words {
			if strings.Contains(line, word) || strings.Contains(line, hex.EncodeToString([]byte(word))) {
				found = append(found, fmt.Sprintf("%s: %.300s", word, line))
			}
		}
	}
	var left int
	b.must(b.store.Pool().QueryRow(b.Context(), `SELECT count(*) FROM draft_revisions d JOIN orders o ON o.id = d.order_id
		JOIN customers c ON c.id = o.customer_id WHERE d.document IS NOT NULL AND c.erased_at IS NOT NULL`).Scan(&left))
	if left > 0 {
		found = append(found, fmt.Sprintf("%d documents of erased customers", left))
	}
	return found
}

// Customers are erased after their shop's retention time.
func TestRetention(t *testing.T) {
	t.Parallel()
	b := setup(t, func(c *app.Config, _ *api.Config) {
		c.Now = func() time.Time { return time.Now().Add(-100 * 24 * time.Hour) }
	})
	o := b.ready("LL-1")
	days := 90
	_, err := b.service.Access.ChangeSettings(t.Context(), service.Caller{Shop: b.shop.ID},
		access.SettingsChange{RetentionDays: &days})
	b.must(err)
	stale, err := b.store.StaleCustomers(t.Context(), query.StaleCustomersParams{Now: time.Now(), Limit: 10})
	b.must(err)
	if len(stale) != 1 || stale[0].ID != o.CustomerID {
		t.Errorf("stale: %+v", stale)
	}
	b.must(b.service.ClearAway(context.Background(), time.Now()))
	var c api.Customer
	b.get("/v1/customers/"+o.CustomerID.String()).want(http.StatusOK, &c)
	if c.ErasedAt.IsZero() {
		t.Errorf("customer: %+v", c)
	}
	answers := 0
	b.must(b.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM idempotency_keys`).Scan(&answers))
	if answers != 0 {
		t.Errorf("%d answers of a hundred days ago remain", answers)
	}
}

// The audit trail has what staff and admins do, without personal data.
func TestAuditTrail(t *testing.T) {
	t.Parallel()
	b := setup(t)
	h := b.listen()
	o := b.ready("LL-1")
	path := "/v1/orders/" + o.ID.String()
	b.post(path+"/hold", object{"reason": "Mara Vell telephoned"}).want(http.StatusOK, nil)
	b.post(path+"/confirm", object{}).want(http.StatusOK, nil)
	b.post(path+"/links", object{}).want(http.StatusCreated, nil)
	b.post("/v1/webhook-endpoints/"+h.endpoint.ID.String()+"/rotate-secret", object{}).want(http.StatusOK, nil)
	b.post("/v1/inbound/rotate-secret", object{}).want(http.StatusOK, nil)
	r := b.post(path+"/cancel", object{"reason": "over"}).want(http.StatusOK, nil)
	want := []string{"order.cancelled", "inbound.secret_rotated", "webhook_endpoint.secret_rotated", "link.created",
		"order.confirmed", "order.held", "webhook_endpoint.created"}
	if got := b.audited(); !slices.Equal(got[:len(want)], want) {
		t.Errorf("audit: %v", got)
	}
	var list api.AuditList
	trail := b.get("/v1/audit?subject_id="+o.ID.String()+"&action=order.cancelled").want(http.StatusOK, &list)
	if len(list.Items) != 1 || list.Items[0].RequestID != r.header.Get("X-Request-Id") || list.Items[0].By == uuid.Nil {
		t.Errorf("entry: %s", trail.body)
	}
	var all []string
	cursor := ""
	for {
		page := b.get("/v1/audit?limit=3"+cursor).want(http.StatusOK, &list)
		for _, sign := range []string{"Mara", "whsec_", "tl_", "signature", "telephoned"} {
			if strings.Contains(string(page.body), sign) {
				t.Errorf("the trail holds %q: %s", sign, page.body)
			}
		}
		for _, e := range list.Items {
			all = append(all, e.Action)
		}
		if list.NextCursor == "" {
			break
		}
		cursor = "&cursor=" + list.NextCursor
	}
	if len(all) != len(b.audited()) {
		t.Errorf("pages give %d entries, one list %d", len(all), len(b.audited()))
	}
}

// The log never contains names, measurements, keys, secrets or signed links.
func TestLogIsDiscreet(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	p := b.platform()
	const name, mark, bust = "Wilhelmina Quorn", "C-QUORN-9", 93.21875
	order := func(reference string) object {
		return sampleOrder(reference).with("customer", object{"reference": mark, "name": name}).with("measurements",
			figure().with("bust_girth", bust))
	}
	var o api.Order
	b.order(order("LL-QUORN"), "key-QUORN").want(http.StatusCreated, &o)
	b.settled(o.ID)
	b.order(order("LL-QUORN"), "key-QUORN-2").problem(http.StatusConflict, api.ProblemCodeReferenceTaken)
	b.order(order("LL-X").with("measurements", figure().with("bust_girth", 932.1875)),
		"key-3").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	b.order(`{"reference": "QUORN`, "key-4").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	b.order(undraftable("LL-HELD").with("customer", object{"reference": mark}), "key-5").want(http.StatusCreated, nil)
	p.send("msg_QUORN", paid(order("LL-IN"))).want(http.StatusCreated, nil)
	p.send("msg_QUORN", paid(order("LL-IN").with("fit", "loose"))).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeMessageIDReused)
	var link api.LinkWithURL
	b.post("/v1/orders/"+o.ID.String()+"/links", object{}).want(http.StatusCreated, &link)
	address := strings.TrimPrefix(link.URL, "http://tapeline.test")
	b.do(call{method: "GET", path: address}).want(http.StatusOK, nil)
	b.do(call{method: "GET", path: address + "0"})
	b.do(call{method: "GET", path: "/v1/orders?reference=QUORN", key: b.keys[service.RoleShop] + "x"})
	b.do(call{method: "GET", path: "/v1/orders?reference=LL-QUORN&customer_id=QUORN", key: b.keys[service.RoleShop]})
	b.do(call{method: "GET", path: "/QUORN"})
	hook.respond(func(w http.ResponseWriter, _ *http.Request) { http.Error(w, "QUORN", http.StatusBadRequest) })
	b.post("/v1/orders/"+o.ID.String()+"/cancel", object{"reason": "Quorn"}).want(http.StatusOK, nil)
	hook.await(b, "order.cancelled", o.ID)
	b.post("/v1/customers/"+o.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)

	log := b.log.String()
	if strings.Count(log, `"operation":"createOrder"`) < 5 {
		t.Fatalf("requests are not logged: %.400s", log)
	}
	secret := regexp.MustCompile(`(?i)quorn|932?\.21|932\.18|whsec_|tl_[a-z2-7]{8}_|` +
		regexp.QuoteMeta(address[len(address)-43:]))
	for line := range strings.Lines(log) {
		if found := secret.FindString(line); found != "" {
			t.Errorf("the log holds %q: %s", found, line)
		}
	}
}
