package api_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// dress places an order of a shift dress and waits for its pattern.
func (b *bench) dress(reference string) api.Order {
	b.Helper()
	var o api.Order
	order := sampleOrder(reference).with("block", nil).with("style", "shift-dress").with("choices", nil).
		with("allowances", nil).with("measurements", figure().with("height", 168).with("under_bust_girth", 79))
	b.order(order, uuid.NewString()).want(http.StatusCreated, &o)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		b.Fatalf("order is %s: %+v", o.Status, o.Reasons)
	}
	return o
}

// tryOn has an order tried on in large triangles.
func (b *bench) tryOn(order uuid.UUID) api.Fitting {
	b.Helper()
	var f api.Fitting
	r := b.as(service.RoleStaff, "POST", "/v1/orders/"+order.String()+"/fittings", object{"level": "quick", "cures": true})
	r.want(http.StatusAccepted, &f)
	if r.header.Get("Location") != "/v1/fittings/"+f.ID.String() || f.State != api.FittingStateQueued {
		b.Errorf("created %+v at %s", f, r.header.Get("Location"))
	}
	return f
}

// fitted waits for the end of a fitting.
func (b *bench) fitted(f api.Fitting) api.Fitting {
	b.Helper()
	b.within(2*time.Minute, "the fitting", func() bool {
		b.get("/v1/fittings/"+f.ID.String()).want(http.StatusOK, &f)
		return !f.FinishedAt.IsZero()
	})
	return f
}

func TestFitting(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen("fitting.ready")
	o := b.dress("LL-1")
	asked := b.tryOn(o.ID)
	f := b.fitted(asked)
	if f.State != api.FittingStateReady || f.Report == nil || !f.Report.Settled || f.Engine != "test" || f.Revision != 1 {
		t.Fatalf("fitting: %+v", f)
	}
	levels := map[string]api.FittingGirths{}
	for _, l := range f.Report.Levels {
		levels[l.Name] = l
	}
	if l := levels["bust"]; l.BodyGirthMm < 919 || l.BodyGirthMm > 921 || l.WornGirthMm < l.BodyGirthMm+20 {
		t.Errorf("bust: %+v", l)
	}
	if !slices.ContainsFunc(f.Report.Openings, func(o api.FittingOpening) bool {
		return strings.HasPrefix(o.Name, "head through") && o.Passes && o.GirthMm > o.NeededMm
	}) || len(f.Report.Form.Measures) < 8 || !slices.Contains(f.Report.LeftOut, "front_facing") {
		t.Errorf("report: %+v", f.Report)
	}
	for _, c := range f.Report.Cures {
		if !slices.ContainsFunc(f.Report.Findings, func(x api.FittingFinding) bool {
			return x.Kind == c.Kind && x.Place == c.Place
		}) || c.Name == "" || c.AfterMm == c.BeforeMm {
			t.Errorf("cure of no finding, or without a change: %+v", c)
		}
	}
	t.Logf("found %+v, cured by %+v", f.Report.Findings, f.Report.Cures)
	b.pictures(f)
	if e := hook.await(b, "fitting.ready", o.ID); e.Data.FittingID != f.ID ||
		!strings.HasSuffix(e.Data.Links.Fitting, "/v1/fittings/"+f.ID.String()) || e.Data.Revision != 1 {
		t.Errorf("event: %+v", e)
	}
	var list api.FittingList
	b.get("/v1/orders/"+o.ID.String()+"/fittings").want(http.StatusOK, &list)
	if len(list.Items) != 1 || list.Items[0].ID != f.ID {
		t.Errorf("list: %+v", list)
	}
	if got := b.audited(); !slices.Contains(got, "fitting.requested") {
		t.Errorf("audit: %v", got)
	}
	// Cancelling what is finished changes nothing.
	var again api.Fitting
	b.as(service.RoleShop, "DELETE", "/v1/fittings/"+f.ID.String(), nil).want(http.StatusOK, &again)
	if again.State != api.FittingStateReady {
		t.Errorf("after cancelling: %+v", again)
	}
	b.erased(o, f)
}

// pictures checks the pictures of a fitting that is ready.
func (b *bench) pictures(f api.Fitting) {
	b.Helper()
	path := "/v1/fittings/" + f.ID.String() + "/picture."
	for format, begins := range map[string]string{"svg": "<svg", "png": "\x89PNG", "pdf": "%PDF"} {
		r := b.get(path+format).want(http.StatusOK, nil)
		if !strings.HasPrefix(string(r.body), begins) && !strings.HasPrefix(string(r.body), "<?xml") || len(r.body) < 50_000 {
			b.Errorf("%s: %d bytes: %.60q", format, len(r.body), r.body)
		}
		if again := b.get(path + format); string(again.body) != string(r.body) {
			b.Errorf("%s differs the second time", format)
		}
		b.do(call{method: "GET", path: path + format, key: b.keys[service.RoleShop],
			header: map[string]string{"If-None-Match": r.header.Get("ETag")}}).want(http.StatusNotModified, nil)
	}
	b.get(path+"dxf").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
}

// erased exports a customer with a fitting, and erases both.
func (b *bench) erased(o api.Order, f api.Fitting) {
	b.Helper()
	var x api.CustomerExport
	path := "/v1/customers/" + o.CustomerID.String()
	b.get(path+"/export").want(http.StatusOK, &x)
	if got := x.Orders[0].Fittings; len(got) != 1 || got[0].Report == nil || got[0].ID != f.ID {
		b.Errorf("export: %+v", got)
	}
	waiting := b.tryOn(o.ID)
	if b.dump("worn_girth_mm") == nil {
		b.Error("the dump has no report before the erasure: the test is wrong")
	}
	b.post(path+"/erasure", nil).want(http.StatusOK, nil)
	for _, id := range []uuid.UUID{f.ID, waiting.ID} {
		b.get("/v1/fittings/"+id.String()).problem(http.StatusNotFound, api.ProblemCodeNotFound)
		b.get("/v1/fittings/"+id.String()+"/picture.svg").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	if found := b.dump("worn_girth_mm"); len(found) > 0 {
		b.Errorf("still in the database: %v", found)
	}
	b.as(service.RoleStaff, "POST", "/v1/orders/"+o.ID.String()+"/fittings", object{}).problem(http.StatusGone,
		api.ProblemCodeErased)
}

// A shop's setting holds an order whose fitting has findings; the draft stays when
// the order is confirmed.
func TestHoldOnFitting(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen("order.held", "fitting.ready")
	var set api.Settings
	b.get("/v1/settings").want(http.StatusOK, &set)
	if set.HoldOnFitting != api.HoldOnFittingOff {
		t.Errorf("at first: %+v", set)
	}
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"hold_on_fitting": "never"}).problem(http.StatusBadRequest,
		api.ProblemCodeInvalidRequest)
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"hold_on_fitting": "any"}).want(http.StatusOK, &set)
	if set.HoldOnFitting != api.HoldOnFittingAny || b.audited()[0] != "shop.hold_on_fitting_set" {
		t.Errorf("set: %+v, %v", set, b.audited())
	}
	o := b.bodiced(-20, "LL-1")
	f := b.fitted(b.tryOn(o.ID))
	if f.Report == nil || len(f.Report.Findings) == 0 {
		t.Fatalf("cut too small: %+v", f)
	}
	b.get("/v1/orders/"+o.ID.String()).want(http.StatusOK, &o)
	if o.Status != api.OrderStatusHeld || o.Reasons[0].Code != "poor_fit" ||
		o.Reasons[1].Detail != f.Report.Findings[0].Words {
		t.Fatalf("order: %+v", o)
	}
	if e := hook.await(b, "order.held", o.ID); !slices.Equal(e.Data.ReasonCodes, []string{"poor_fit"}) {
		t.Errorf("event: %+v", e)
	}
	if e := hook.await(b, "fitting.ready", o.ID); e.Data.Status != api.OrderStatusHeld {
		t.Errorf("event: %+v", e)
	}
	b.as(service.RoleStaff, "POST", "/v1/orders/"+o.ID.String()+"/confirm", object{"reason": "as the customer likes it"}).
		want(http.StatusOK, &o)
	if o.Status != api.OrderStatusReady || o.Revision != 1 {
		t.Errorf("confirmed: %+v", o)
	}
}

// A shop may have each draft tried on. Its fittings wait behind those that are asked
// for, and are cancelled once nobody needs them.
func TestEachDraftIsTriedOn(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen("order.held", "fitting.ready")
	untried := b.dress("LL-0")
	var set api.Settings
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"fit_each_draft": true, "hold_on_fitting": "tight"}).
		want(http.StatusOK, &set)
	if !set.FitEachDraft || !slices.Contains(b.audited()[:2], "shop.fit_each_draft_set") {
		t.Errorf("set: %+v, %v", set, b.audited())
	}
	o := b.bodiced(-20, "LL-1")
	if e := hook.await(b, "fitting.ready", o.ID); e.Data.Status != api.OrderStatusHeld {
		t.Errorf("event: %+v", e)
	}
	hook.await(b, "order.held", o.ID)
	of := func(id uuid.UUID) []api.Fitting {
		var list api.FittingList
		b.get("/v1/orders/"+id.String()+"/fittings").want(http.StatusOK, &list)
		return list.Items
	}
	if f := of(o.ID); len(f) != 1 || !f[0].Automatic || f[0].Revision != 1 || f[0].Level != api.FittingLevelQuick ||
		f[0].State != api.FittingStateReady {
		t.Errorf("fittings: %+v", f)
	}
	if f := of(untried.ID); len(f) != 0 {
		t.Errorf("drafted before the shop wanted it: %+v", f)
	}
	var waiting []uuid.UUID
	for i := range 25 { // more than a shop may ask for
		waiting = append(waiting, b.dress(fmt.Sprintf("LL-W%d", i)).ID)
	}
	asked := b.tryOn(untried.ID)
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"fit_each_draft": false}).want(http.StatusOK, &set)
	if f := b.fitted(asked); f.State != api.FittingStateReady || f.Automatic {
		t.Errorf("asked for: %+v", f)
	}
	cancelled := 0
	b.within(2*time.Minute, "all fittings", func() bool {
		open := 0
		cancelled = 0
		for _, id := range waiting {
			switch f := of(id); {
			case len(f) != 1:
				b.Fatalf("fittings of order %s: %+v", id, f)
			case f[0].State == api.FittingStateCancelled:
				cancelled++
			case f[0].FinishedAt.IsZero():
				open++
			}
		}
		return open == 0
	})
	if cancelled == 0 {
		t.Error("every draft was tried on after the shop wanted none")
	}
}

// What can't be tried on is said: before the fitting where it shows, in the fitting
// otherwise.
func TestFittingRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.dress("LL-1")
	path := "/v1/orders/" + o.ID.String() + "/fittings"
	for name, body := range map[string]object{
		"cloth": {"cloth": "tarpaulin"}, "level": {"level": "exact"}, "unknown": {"sleeve": true},
		"revision": {"revision": 0},
	} {
		if p := b.as(service.RoleStaff, "POST", path, body).problem(http.StatusBadRequest,
			api.ProblemCodeInvalidRequest); len(p.Errors) != 1 {
			t.Errorf("%s: %+v", name, p)
		}
	}
	b.as(service.RoleStaff, "POST", path, object{"revision": 7}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.do(call{method: "POST", path: path, key: b.otherShop(service.RoleStaff), body: object{}}).problem(
		http.StatusNotFound, api.ProblemCodeNotFound)
	const made = "    return garment([block.back, front]"
	b.publish(strings.Replace(tabard, made, "    front = role(front, armhole = \"edge\")\n"+
		"    back = role(block.back, armhole = \"edge\")\n"+strings.Replace(made, "block.back", "back", 1), 1))
	var own api.Order
	b.order(styleOrder("LL-2", "tabard").with("customer", object{"reference": "C-2"}), "two").want(
		http.StatusCreated, &own)
	b.settled(own.ID)
	f := b.fitted(b.tryOn(own.ID))
	if f.State != api.FittingStateFailed || !strings.Contains(f.Reason, "marks the shoulder point") {
		t.Errorf("a front without an armhole: %+v", f)
	}
	b.get("/v1/fittings/"+f.ID.String()+"/picture.png").problem(http.StatusConflict, api.ProblemCodeWrongState)
}

// A shop may have 20 unfinished fittings. One that is cancelled makes room.
func TestFittingsWait(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.dress("LL-1")
	path := "/v1/orders/" + o.ID.String() + "/fittings"
	var asked []api.Fitting
	b.within(time.Minute, "the shop to have too many", func() bool {
		r := b.as(service.RoleStaff, "POST", path, object{"level": "quick"})
		if r.status == http.StatusConflict {
			r.problem(http.StatusConflict, api.ProblemCodeLimitReached)
			return true
		}
		var f api.Fitting
		r.want(http.StatusAccepted, &f)
		asked = append(asked, f)
		return false
	})
	var list api.FittingList
	b.get(path).want(http.StatusOK, &list)
	running := 0
	for _, f := range list.Items {
		if f.State == api.FittingStateRunning {
			running++
		}
	}
	if running > 1 {
		t.Errorf("%d fittings of a shop run at once", running)
	}
	for _, f := range slices.Backward(asked) {
		b.as(service.RoleStaff, "DELETE", "/v1/fittings/"+f.ID.String(), nil).want(http.StatusOK, &f)
		if f.State != api.FittingStateCancelled && f.State != api.FittingStateReady {
			t.Errorf("cancelled: %+v", f)
		}
	}
	b.as(service.RoleStaff, "POST", path, object{}).want(http.StatusAccepted, nil)
}
