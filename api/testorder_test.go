package api_test

import (
	"bytes"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// testKey makes a test key of a role.
func (b *bench) testKey(role service.Role) string {
	b.Helper()
	var made api.APIKeyWithSecret
	b.post("/v1/api-keys", object{"name": "Staging", "role": role, "test": true}).want(http.StatusCreated, &made)
	if !made.APIKey.Test {
		b.Errorf("created %+v", made.APIKey)
	}
	return made.Secret
}

// with makes a call with a key.
func (b *bench) with(key, method, path string, body any) reply {
	b.Helper()
	c := call{method: method, path: path, key: key, header: map[string]string{}}
	if body != nil {
		c.body = body
	}
	if path == "/v1/orders" && method == http.MethodPost {
		c.header["Idempotency-Key"] = uuid.NewString()
	}
	return b.do(c)
}

// testOrder makes a test order and waits until it is drafted, held or has failed.
func (b *bench) testOrder(key, reference string) api.Order {
	b.Helper()
	var o api.Order
	b.with(key, "POST", "/v1/orders", sampleOrder(reference)).want(http.StatusCreated, &o)
	return b.settledTest(key, o.ID)
}

func (b *bench) settledTest(key string, id uuid.UUID) api.Order {
	b.Helper()
	var o api.Order
	b.eventually("test order to be drafted", func() bool {
		b.with(key, "GET", "/v1/orders/"+id.String(), nil).want(http.StatusOK, &o)
		return o.Status != api.OrderStatusReceived
	})
	return o
}

// A test order is drafted like a real one, with the same reference and customer, and
// neither is among the other's.
func TestTestOrdersAreApart(t *testing.T) {
	t.Parallel()
	b := setup(t)
	live := b.ready("LL-1")
	key := b.testKey(service.RoleShop)
	test := b.testOrder(key, "LL-1")
	if test.Status != api.OrderStatusReady || !test.Test || live.Test {
		t.Fatalf("test order: %+v", test)
	}
	for path, want := range map[string]struct{ real, test int }{
		"/v1/orders": {1, 1}, "/v1/orders?reference=LL-1": {1, 1}, "/v1/orders?q=LL": {1, 1}, "/v1/customers": {1, 1},
	} {
		var list struct {
			Items []struct {
				ID   uuid.UUID
				Test bool
			}
		}
		b.as(service.RoleStaff, "GET", path, nil).want(http.StatusOK, &list)
		if len(list.Items) != want.real || list.Items[0].Test {
			t.Errorf("%s: %+v", path, list.Items)
		}
		b.with(key, "GET", path, nil).want(http.StatusOK, &list)
		if len(list.Items) != want.test || !list.Items[0].Test {
			t.Errorf("%s with the test key: %+v", path, list.Items)
		}
		asked := path + "?test=true"
		if strings.Contains(path, "?") {
			asked = path + "&test=true"
		}
		b.as(service.RoleStaff, "GET", asked, nil).want(http.StatusOK, &list)
		if len(list.Items) != want.test || !list.Items[0].Test {
			t.Errorf("%s: %+v", asked, list.Items)
		}
	}
	for _, path := range []string{"/v1/orders/counts", "/v1/orders/counts?test=true"} {
		var counts api.OrderCounts
		b.get(path).want(http.StatusOK, &counts)
		if counts.Total != 1 {
			t.Errorf("%s: %+v", path, counts)
		}
	}
	// A test key finds no real order or customer.
	for _, path := range []string{"/v1/orders/" + live.ID.String(), "/v1/orders/" + live.ID.String() + "/pattern.pdf",
		"/v1/orders/" + live.ID.String() + "/history", "/v1/customers/" + live.CustomerID.String(),
		"/v1/measurement-sets/" + live.MeasurementSetID.String()} {
		b.with(key, "GET", path, nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	for _, act := range []string{"hold", "cancel"} {
		b.with(key, "POST", "/v1/orders/"+live.ID.String()+"/"+act, object{"reason": "test"}).
			problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	b.with(key, "POST", "/v1/orders", sampleOrder("LL-2").with("customer", nil).with("measurements", nil).
		with("customer_id", live.CustomerID).with("measurement_set_id", live.MeasurementSetID)).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	// Another key reads a test order and changes nothing of it.
	var o api.Order
	b.get("/v1/orders/"+test.ID.String()).want(http.StatusOK, &o)
	if !o.Test || o.Reference != "LL-1" {
		t.Errorf("read with a real key: %+v", o)
	}
	b.get("/v1/customers/"+test.CustomerID.String()).want(http.StatusOK, nil)
	for path, body := range map[string]object{"/hold": {"reason": "mine"}, "/cancel": {"reason": "mine"},
		"/progress": {"progress": "cut"}, "/revise": {"fit": "loose", "reason": "mine"}, "/links": {}} {
		b.post("/v1/orders/"+test.ID.String()+path, body).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	}
	b.post("/v1/customers/"+test.CustomerID.String()+"/erasure", nil).
		problem(http.StatusForbidden, api.ProblemCodeForbidden)
	// No refit takes it.
	var refit api.Refit
	b.as(service.RoleStaff, "POST", "/v1/refits", newRefit(roomier(9), nil)).want(http.StatusCreated, &refit)
	if refit.Orders != 1 {
		t.Errorf("the refit takes %d orders, want the real one", refit.Orders)
	}
}

// What concerns the whole shop is not for test keys.
func TestTestKeysDoNotTouchTheShop(t *testing.T) {
	t.Parallel()
	b := setup(t)
	keys := map[service.Role]string{}
	for _, role := range []service.Role{service.RoleShop, service.RoleStaff, service.RoleAdmin} {
		keys[role] = b.testKey(role)
	}
	for _, op := range operations(t) {
		live := op.Extensions["x-test-keys"] == false
		for role, key := range keys {
			c := emptyCall(op)
			if c.key = key; len(op.roles) == 0 {
				continue
			}
			if r := b.do(c); live && r.status != http.StatusForbidden || r.status == http.StatusUnauthorized || r.status >= 500 {
				t.Errorf("%s with a test key of role %s gave %d", op.OperationID, role, r.status)
			}
		}
	}
	b.post("/v1/api-keys", object{"name": "Pages", "role": "publishable", "test": true, "origins": []string{shopOrigin}}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if _, _, err := b.service.Access.SignIn(t.Context(), keys[service.RoleAdmin]); err == nil {
		t.Error("a test key opens the workroom")
	}
	// The shop's styles and levels are those of its tests.
	b.as(service.RoleAdmin, "PUT", "/v1/measurements/assessment-levels", object{"confirm": 0.9}).want(http.StatusOK, nil)
	var levels api.AssessmentLevels
	b.with(keys[service.RoleShop], "GET", "/v1/measurements/assessment-levels", nil).want(http.StatusOK, &levels)
	if levels.Confirm != 0.9 {
		t.Errorf("levels with a test key: %+v", levels)
	}
	var made api.StyleRevisionDetail
	b.as(service.RoleStaff, "POST", "/v1/styles", object{"script": tabard}).want(http.StatusCreated, &made)
	b.proveAndPublish(&made.Revision)
	b.with(keys[service.RoleShop], "GET", "/v1/styles/tabard", nil).want(http.StatusOK, nil)
	b.with(keys[service.RoleShop], "POST", "/v1/orders", styleOrder("LL-1", "tabard")).want(http.StatusCreated, nil)
}

// References of test orders force a held and a failed order; those of real ones do not.
func TestForcedStates(t *testing.T) {
	t.Parallel()
	b := setup(t)
	key := b.testKey(service.RoleStaff)
	held := b.testOrder(key, "TEST-HELD-1")
	if held.Status != api.OrderStatusHeld || len(held.Reasons) != 2 || held.Reasons[0].Code != "implausible" ||
		held.Reasons[1].Pointer != "#/measurements/arm_length" {
		t.Errorf("held: %s, %+v", held.Status, held.Reasons)
	}
	b.with(key, "POST", "/v1/orders/"+held.ID.String()+"/ask", object{}).want(http.StatusCreated, nil)
	b.with(key, "POST", "/v1/orders/"+held.ID.String()+"/confirm", object{}).want(http.StatusOK, nil)
	if o := b.settledTest(key, held.ID); o.Status != api.OrderStatusReady {
		t.Errorf("after it was confirmed: %s, %+v", o.Status, o.Reasons)
	}
	failed := b.testOrder(key, "TEST-FAILED-1")
	if failed.Status != api.OrderStatusFailed || failed.Reasons[0].Code != "internal" {
		t.Errorf("failed: %s, %+v", failed.Status, failed.Reasons)
	}
	b.with(key, "POST", "/v1/orders/"+failed.ID.String()+"/revise", object{"reason": "again"}).want(http.StatusOK, nil)
	if o := b.settledTest(key, failed.ID); o.Status != api.OrderStatusReady {
		t.Errorf("after it was revised: %s, %+v", o.Status, o.Reasons)
	}
	if o := b.ready("TEST-HELD-1"); o.Test {
		t.Errorf("a real order: %+v", o)
	}
}

// A pattern of a test order says TEST wherever it says the reference.
func TestTestOrdersSayTest(t *testing.T) {
	t.Parallel()
	b := setup(t)
	key := b.testKey(service.RoleShop)
	path := "/v1/orders/" + b.testOrder(key, "LL-7").ID.String()
	pdftotext := reader(t, "pdftotext")
	for _, file := range []string{"/pattern.pdf", "/making-sheet.pdf"} {
		r := b.with(key, "GET", path+file, nil).want(http.StatusOK, nil)
		name := filepath.Join(t.TempDir(), "test.pdf")
		b.must(os.WriteFile(name, r.body, 0o600))
		text, err := exec.Command(pdftotext, name, "-").Output()
		b.must(err)
		if !bytes.Contains(text, []byte("TEST LL-7")) {
			t.Errorf("%s does not say TEST: %.400s", file, text)
		}
	}
}

// The shop's endpoints hear of test orders, marked; an endpoint made with a test key
// hears of nothing else.
func TestTestOrdersInWebhooks(t *testing.T) {
	t.Parallel()
	b := setup(t)
	key := b.testKey(service.RoleAdmin)
	all, tests := b.listen("order.ready"), b.listenAs(key, "order.ready")
	live, test := b.ready("LL-1"), b.testOrder(key, "LL-1")
	if e := all.await(b, "order.ready", live.ID); e.Data.Test {
		t.Errorf("of a real order: %+v", e)
	}
	for name, h := range map[string]*hook{"shop": all, "tests": tests} {
		if e := h.await(b, "order.ready", test.ID); !e.Data.Test {
			t.Errorf("%s: of a test order: %+v", name, e)
		}
	}
	if got := tests.deliveries(); len(got) != 1 {
		t.Errorf("the endpoint for tests received %d messages, want the test order's", len(got))
	}
}

// Customers of test orders are erased after a week, real ones are kept.
func TestTestCustomersAreErased(t *testing.T) {
	t.Parallel()
	b := setup(t)
	key := b.testKey(service.RoleShop)
	live, test := b.ready("LL-1"), b.testOrder(key, "LL-1")
	erased := func() (gone bool) {
		var c api.Customer
		b.with(key, "GET", "/v1/customers/"+test.CustomerID.String(), nil).want(http.StatusOK, &c)
		return !c.ErasedAt.IsZero()
	}
	b.must(b.service.ClearAway(t.Context(), time.Now().Add(6*24*time.Hour)))
	if erased() {
		t.Error("erased within a week")
	}
	b.must(b.service.ClearAway(t.Context(), time.Now().Add(8*24*time.Hour)))
	if !erased() {
		t.Error("not erased after a week")
	}
	b.with(key, "GET", "/v1/orders/"+test.ID.String()+"/pattern.pdf", nil).problem(http.StatusGone, api.ProblemCodeErased)
	var c api.Customer
	b.get("/v1/customers/"+live.CustomerID.String()).want(http.StatusOK, &c)
	if !c.ErasedAt.IsZero() {
		t.Error("the real customer was erased")
	}
}
