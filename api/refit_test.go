package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// roomier is a change of the bust's ease on regular torsos, cm. The fit's own
// is 7.
func roomier(ease float64) object {
	return object{"fit": object{"block": "torso", "from": "regular", "to": "regular", "unit": "cm", "ease": object{"bust_girth": ease}}}
}

// newRefit is a refit as it is asked for.
func newRefit(change, scope object) object {
	n := object{"change": change, "reason": "Tight at the fittings"}
	if scope != nil {
		n["scope"] = scope
	}
	return n
}

// refit begins a refit and waits for its preview.
func (b *bench) refit(change, scope object) api.Refit {
	b.Helper()
	var r api.Refit
	got := b.as(service.RoleStaff, "POST", "/v1/refits", newRefit(change, scope)).want(http.StatusCreated, &r)
	if got.header.Get("Location") != "http://tapeline.test/v1/refits/"+r.ID.String() || r.State != api.RefitStatePreviewing {
		b.Errorf("begun: %+v at %s", r, got.header.Get("Location"))
	}
	return b.awaitRefit(r.ID, api.RefitStateToDecide)
}

func (b *bench) awaitRefit(id uuid.UUID, state api.RefitState) (r api.Refit) {
	b.Helper()
	b.eventually("refit to be "+string(state), func() bool {
		b.get("/v1/refits/"+id.String()).want(http.StatusOK, &r)
		return r.State == state
	})
	return r
}

// apply decides a refit and waits until it is done.
func (b *bench) apply(id uuid.UUID, decision object) api.Refit {
	b.Helper()
	b.as(service.RoleStaff, "POST", "/v1/refits/"+id.String()+"/decide", decision).want(http.StatusOK, nil)
	return b.awaitRefit(id, api.RefitStateDone)
}

func (b *bench) refitOrder(refit, order uuid.UUID) (o api.RefitOrder) {
	b.Helper()
	b.get("/v1/refits/"+refit.String()+"/orders/"+order.String()).want(http.StatusOK, &o)
	return o
}

func (b *bench) revisions(order uuid.UUID) []api.DraftRevision {
	b.Helper()
	var list api.DraftRevisionList
	b.get("/v1/orders/"+order.String()+"/revisions").want(http.StatusOK, &list)
	return list.Items
}

// reason is the first of an order's in a refit, "" for none.
func reason(o api.RefitOrder) string {
	if len(o.Reasons) == 0 {
		return ""
	}
	return o.Reasons[0].Code
}

func TestRefitFromPreviewToNewDrafts(t *testing.T) {
	t.Parallel()
	b := setup(t)
	h := b.listen("order.revised")
	var orders []api.Order
	for i := range 3 {
		orders = append(orders, b.ready(fmt.Sprint("LL-", i)))
	}
	b.order(sampleOrder("LL-close").with("fit", "close"), "close").want(http.StatusCreated, nil)
	first := b.get("/v1/orders/"+orders[0].ID.String()+"/pattern.json").want(http.StatusOK, nil)

	r := b.refit(roomier(9), nil)
	if r.Orders != 3 || r.Findings["changes"] != 3 || len(r.Outcomes) != 0 || r.Moves.Largest < 3 || r.Moves.Median > r.Moves.P90 || len(r.Moves.Most) != 3 {
		t.Errorf("previewed: %+v", r)
	}
	total := 0
	for _, c := range r.Moves.Spread {
		total += c.Count
	}
	if total != 3 {
		t.Errorf("spread: %+v", r.Moves.Spread)
	}
	for _, o := range orders {
		found := b.refitOrder(r.ID, o.ID)
		c := found.Comparison
		if found.WasRevision != 1 || len(c.Pieces) != 3 || len(c.Seams) == 0 || c.Pages.Paper != "a4" || c.Pages.Was < 10 || len(c.Added)+len(c.Gone) != 0 {
			t.Errorf("found: %+v", found)
		}
		i := slices.IndexFunc(c.Girths, func(g api.LengthChange) bool { return g.Name == "bust_girth" })
		if i < 0 || math.Abs(c.Girths[i].Now-c.Girths[i].Was-20) > 0.002 {
			t.Errorf("girths: %+v", c.Girths)
		}
		if n := len(b.revisions(o.ID)); n != 1 {
			t.Errorf("a preview stored %d drafts", n)
		}
	}
	for format, begin := range map[string]string{"svg": "<?xml", "pdf": "%PDF-"} {
		got := b.get("/v1/refits/"+r.ID.String()+"/orders/"+orders[0].ID.String()+"/overlay?format="+format).want(http.StatusOK, nil)
		if !strings.HasPrefix(string(got.body), begin) {
			t.Errorf("overlay as %s: %.60s", format, got.body)
		}
	}

	r = b.apply(r.ID, object{"apply": "all"})
	if r.Outcomes["revised"] != 3 || r.Decision != api.ApplyToAll || r.DecidedBy == (uuid.UUID{}) || r.EndedAt.IsZero() {
		t.Errorf("done: %+v", r)
	}
	for _, o := range orders {
		told := h.await(b, "order.revised", o.ID)
		if told.Data.Revision != 2 || told.Data.PreviousRevision != 1 || told.Data.RefitID != r.ID {
			t.Errorf("told: %+v", told.Data)
		}
		now := b.settled(o.ID)
		if now.Status != api.OrderStatusReady || now.Revision != 2 || now.Ease["bust_girth"] != 9 {
			t.Errorf("order: %+v", now)
		}
		chain := b.revisions(o.ID)
		if len(chain) != 2 || chain[0].Parent != 1 || chain[0].RefitID != r.ID || chain[0].Reason != "Tight at the fittings" || chain[0].By != r.DecidedBy ||
			chain[0].Ease["bust_girth"] != 9 || chain[1].Parent != 0 || len(chain[1].Ease) != 0 || chain[1].By == (uuid.UUID{}) {
			t.Errorf("chain: %+v", chain)
		}
		if got := b.history(o.ID); !slices.Equal(got, []string{"received", "ready", "revised"}) {
			t.Errorf("history: %v", got)
		}
	}
	var history api.OrderHistory
	b.get("/v1/orders/"+orders[0].ID.String()+"/history").want(http.StatusOK, &history)
	if last := history.Items[2]; last.RefitID != r.ID || last.Revision != 2 || last.By != r.DecidedBy || last.Reason != "Tight at the fittings" {
		t.Errorf("history: %+v", last)
	}
	again := b.get("/v1/orders/"+orders[0].ID.String()+"/pattern.json?revision=1").want(http.StatusOK, nil)
	if !bytes.Equal(again.body, first.body) {
		t.Error("the former draft is not what it was")
	}
	b.get("/v1/orders/"+orders[0].ID.String()+"/overlay?was=1&now=2").want(http.StatusOK, nil)
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+orders[0].ID.String()+"/overlay").want(http.StatusOK, nil)

	// Once is all: deciding again is refused, and the same change finds nothing to do.
	b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}).problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.post("/v1/refits/"+r.ID.String()+"/stop", nil).problem(http.StatusConflict, api.ProblemCodeWrongState)
	same := b.refit(roomier(9), nil)
	if same.Findings["unchanged"] != 3 || same.Moves.Largest != 0 {
		t.Errorf("the same change again: %+v", same)
	}
	same = b.apply(same.ID, object{"apply": "all"})
	if same.Outcomes["unchanged"] != 3 || len(b.revisions(orders[0].ID)) != 2 {
		t.Errorf("the same change applied: %+v", same)
	}
	time.Sleep(100 * time.Millisecond)
	if n := len(h.deliveries()); n != 3 {
		t.Errorf("%d messages for 3 orders", n)
	}
}

// From A to A nothing moves and nothing is revised, whether the same inputs are
// drafted again or not.
func TestRefitFromAToA(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	for name, change := range map[string]object{
		"fit":          {"fit": object{"block": "torso", "from": "regular", "to": "regular"}},
		"engine":       {"engine": object{}},
		"measurements": {"measurements": object{"customer_id": o.CustomerID, "from": o.MeasurementSetID, "to": o.MeasurementSetID}},
	} {
		r := b.refit(change, nil)
		if r.Orders != 1 || r.Findings["unchanged"] != 1 || r.Moves.Largest != 0 {
			t.Errorf("%s: %+v", name, r)
		}
		if r = b.apply(r.ID, object{"apply": "all"}); r.Outcomes["unchanged"] != 1 || len(b.revisions(o.ID)) != 1 {
			t.Errorf("%s applied: %+v", name, r)
		}
	}
}

func TestRefitToOtherMeasurements(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	other := b.ready("LL-2")
	measured := func(change object) (set api.MeasurementSet) {
		t.Helper()
		b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets", object{"unit": "cm", "measurements": change}).want(http.StatusCreated, &set)
		return set
	}
	odd := measured(figure().with("bust_girth", 122)) // with this waist and neck it asks for a look
	r := b.refit(object{"measurements": object{"customer_id": o.CustomerID, "to": odd.ID}}, nil)
	if found := b.refitOrder(r.ID, o.ID); found.Finding != api.RefitFindingHeld || reason(found) != "implausible" || len(found.Reasons) < 2 {
		t.Errorf("odd measurements: %+v", found)
	}
	if r = b.apply(r.ID, object{"apply": "all"}); r.Outcomes["held"] != 1 || len(b.revisions(o.ID)) != 1 {
		t.Errorf("odd measurements applied: %+v", r)
	}
	set := measured(figure().with("bust_girth", 94).with("waist_girth", 76))
	r = b.refit(object{"measurements": object{"customer_id": o.CustomerID, "to": set.ID}}, nil)
	if r.Orders != 1 {
		t.Errorf("scope: %+v", r)
	}
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+other.ID.String()).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.apply(r.ID, object{"apply": "all"})
	if now := b.settled(o.ID); now.MeasurementSetID != set.ID || b.revisions(o.ID)[0].MeasurementSetID != set.ID || b.revisions(o.ID)[1].MeasurementSetID != o.MeasurementSetID {
		t.Errorf("order: %+v", now)
	}

	// A person's erasure takes what was compared of them.
	b.post("/v1/customers/"+o.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)
	if found := b.refitOrder(r.ID, o.ID); found.ErasedAt.IsZero() || len(found.Comparison.Pieces) != 0 || found.Outcome != api.RefitOutcomeRevised {
		t.Errorf("after the erasure: %+v", found)
	}
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+o.ID.String()+"/overlay").problem(http.StatusGone, api.ProblemCodeErased)
}

// Orders that are cut or shipped are left alone unless they are named; so are
// those that nothing can be drafted for.
func TestRefitLeavesAlone(t *testing.T) {
	t.Parallel()
	b := setup(t)
	mark := func(o api.Order, making string) reply {
		t.Helper()
		return b.as(service.RoleShop, "POST", "/v1/orders/"+o.ID.String()+"/making", object{"making": making})
	}
	cut, shipped, held, free := b.ready("LL-cut"), b.ready("LL-shipped"), b.ready("LL-held"), b.ready("LL-free")
	mark(cut, "cut").want(http.StatusOK, &cut)
	mark(cut, "cut").want(http.StatusOK, nil)
	mark(shipped, "shipped").want(http.StatusOK, nil)
	b.post("/v1/orders/"+held.ID.String()+"/hold", object{"reason": "asks for time"}).want(http.StatusOK, nil)
	if cut.Making != api.MakingCut || !slices.Equal(b.history(cut.ID), []string{"received", "ready", "cut"}) {
		t.Errorf("marked: %+v", cut)
	}
	mark(held, "cut").problem(http.StatusConflict, api.ProblemCodeWrongState)
	mark(free, "uncut").want(http.StatusOK, nil)
	mark(shipped, "uncut").problem(http.StatusConflict, api.ProblemCodeWrongState)

	r := b.refit(roomier(9), nil)
	for id, want := range map[uuid.UUID]string{cut.ID: "cut", shipped.ID: "shipped", held.ID: "", free.ID: ""} {
		if got := reason(b.refitOrder(r.ID, id)); got != want {
			t.Errorf("left alone because %q, want %q", got, want)
		}
	}
	r = b.apply(r.ID, object{"apply": "all"})
	if r.Outcomes["revised"] != 2 || r.Outcomes["left_alone"] != 2 {
		t.Errorf("applied: %+v", r)
	}
	if now := b.settled(held.ID); now.Status != api.OrderStatusHeld || now.Revision != 2 {
		t.Errorf("the held order: %+v", now)
	}
	b.post("/v1/orders/"+held.ID.String()+"/confirm", object{}).want(http.StatusOK, nil)
	if now := b.settled(held.ID); now.Status != api.OrderStatusReady || now.Revision != 2 {
		t.Errorf("the held order confirmed: %+v", now)
	}

	// Named, it is drafted anew; and what is named but not meant says so.
	r = b.refit(roomier(9), object{"orders": []uuid.UUID{cut.ID, free.ID, b.ready("LL-other").ID}, "created_before": time.Now().Add(time.Hour)})
	r = b.apply(r.ID, object{"apply": "some", "orders": []uuid.UUID{cut.ID}})
	if r.Outcomes["revised"] != 1 || r.Outcomes["unchanged"] != 1 || r.Outcomes["declined"] != 1 || len(b.revisions(cut.ID)) != 2 {
		t.Errorf("named: %+v", r)
	}
	close := b.settled(b.placedAs(sampleOrder("LL-close").with("fit", "close")).ID)
	r = b.refit(roomier(10), object{"orders": []uuid.UUID{free.ID, close.ID}})
	if got := b.refitOrder(r.ID, close.ID); reason(got) != "not_in_scope" || r.Orders != 2 {
		t.Errorf("not meant: %+v", got)
	}
	r = b.apply(r.ID, object{"apply": "none"})
	if r.Outcomes["declined"] != 1 || r.Outcomes["left_alone"] != 1 {
		t.Errorf("none: %+v", r)
	}
}

// placedAs places an order as it is given.
func (b *bench) placedAs(order object) (o api.Order) {
	b.Helper()
	b.order(order, uuid.NewString()).want(http.StatusCreated, &o)
	return o
}

// What is changed between the preview and the decision is kept out, with why;
// what comes later is not in it; and of two refits on one order the second sees
// the first.
func TestRefitOfAScopeThatChanges(t *testing.T) {
	t.Parallel()
	b := setup(t)
	revised, cancelled, refitted, free := b.ready("LL-1"), b.ready("LL-2"), b.ready("LL-3"), b.ready("LL-4")
	r := b.refit(roomier(9), nil)
	second := b.refit(roomier(10.5), object{"orders": []uuid.UUID{refitted.ID}})
	b.post("/v1/orders/"+revised.ID.String()+"/revise", object{"reason": "as she likes it", "fit": "loose"}).want(http.StatusOK, nil)
	b.settled(revised.ID)
	b.post("/v1/orders/"+cancelled.ID.String()+"/cancel", object{"reason": "given up"}).want(http.StatusOK, nil)
	late := b.ready("LL-late")

	// With no job at work, the first refit stays in the middle of applying.
	stop, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	b.must(b.service.StopJobs(stop))
	b.post("/v1/refits/"+second.ID.String()+"/decide", object{"apply": "all"}).want(http.StatusOK, &second)
	if second.State != api.RefitStateApplying {
		t.Errorf("decided: %+v", second)
	}
	p := b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}).problem(http.StatusConflict, api.ProblemCodeRefitConflict)
	if !strings.Contains(p.Detail, second.ID.String()) {
		t.Errorf("conflict: %s", p.Detail)
	}
	b.get("/v1/refits/"+r.ID.String()).want(http.StatusOK, &r)
	if r.State != api.RefitStateToDecide || len(r.Outcomes) != 0 || r.ArrivedSince != 1 {
		t.Errorf("after the conflict: %+v", r)
	}
	b.get("/v1/refits/"+second.ID.String()).want(http.StatusOK, &second)
	if second.Progress.Total != 1 || second.Progress.Done != 0 {
		t.Errorf("progress: %+v", second.Progress)
	}
	b.must(b.service.StartJobs(context.WithoutCancel(t.Context())))
	b.awaitRefit(second.ID, api.RefitStateDone)

	r = b.apply(r.ID, object{"apply": "all"})
	for id, want := range map[uuid.UUID]string{revised.ID: "order_changed", cancelled.ID: "order_changed", refitted.ID: "other_refit", free.ID: ""} {
		got := b.refitOrder(r.ID, id)
		if reason(got) != want && !(id == cancelled.ID && reason(got) == "order_state") {
			t.Errorf("%s: %s because %q, want %q", got.Reference, got.Outcome, reason(got), want)
		}
	}
	if r.Outcomes["revised"] != 1 || r.Outcomes["left_alone"] != 3 || len(b.revisions(refitted.ID)) != 2 || len(b.revisions(late.ID)) != 1 {
		t.Errorf("applied: %+v", r)
	}
}

func TestRefitStopped(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	stop, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	b.must(b.service.StopJobs(stop))
	var r api.Refit
	b.post("/v1/refits", object{"change": roomier(9), "reason": "x"}).want(http.StatusCreated, &r)
	b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}).problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+o.ID.String()+"/overlay").problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.post("/v1/refits/"+r.ID.String()+"/stop", nil).want(http.StatusOK, &r)
	b.post("/v1/refits/"+r.ID.String()+"/stop", nil).want(http.StatusOK, nil)
	if r.State != api.RefitStateStopped || r.StoppedBy == (uuid.UUID{}) {
		t.Errorf("stopped: %+v", r)
	}
	b.must(b.service.StartJobs(context.WithoutCancel(t.Context())))
	next := b.refit(roomier(9), nil)
	b.must(b.service.StopJobs(stop))
	b.post("/v1/refits/"+next.ID.String()+"/decide", object{"apply": "all"}).want(http.StatusOK, nil)
	b.post("/v1/refits/"+next.ID.String()+"/stop", nil).want(http.StatusOK, nil)
	b.must(b.service.StartJobs(context.WithoutCancel(t.Context())))
	if got := b.refitOrder(next.ID, o.ID); got.Outcome != api.RefitOutcomeStopped || len(b.revisions(o.ID)) != 1 {
		t.Errorf("stopped while applying: %+v", got)
	}
	// The first one's jobs have come by since and found nothing to do.
	if got := b.refitOrder(r.ID, o.ID); got.Finding != api.RefitFindingWaiting || got.Outcome != "" {
		t.Errorf("stopped while previewing: %+v", got)
	}
	last := b.refit(roomier(9), nil)
	if last = b.apply(last.ID, object{"apply": "all"}); last.Outcomes["revised"] != 1 {
		t.Errorf("after the stops: %+v", last)
	}
}

// A refit whose jobs are lost, as with a backup that the database was restored
// from, is taken up by the hourly upkeep.
func TestRefitWhoseJobsAreLost(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	lost := func(r *api.Refit, path string, body object, status int) {
		t.Helper()
		stop, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		b.must(b.service.StopJobs(stop))
		b.post(path, body).want(status, r)
		_, err := b.store.Pool().Exec(t.Context(), `DELETE FROM river_job WHERE kind = 'refit'`)
		b.must(err)
		b.must(b.service.ClearAway(t.Context(), time.Now().Add(10*time.Minute)))
		b.must(b.service.StartJobs(context.WithoutCancel(t.Context())))
	}
	var r api.Refit
	lost(&r, "/v1/refits", newRefit(roomier(9), nil), http.StatusCreated)
	b.awaitRefit(r.ID, api.RefitStateToDecide)
	lost(&r, "/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}, http.StatusOK)
	b.awaitRefit(r.ID, api.RefitStateDone)
	if got := b.refitOrder(r.ID, o.ID); got.Outcome != api.RefitOutcomeRevised {
		t.Errorf("outcome: %+v", got)
	}
}

// One that can't be drafted keeps its reason and stays as it is; the others go
// on.
func TestRefitThatFailsForOne(t *testing.T) {
	t.Parallel()
	b := setup(t)
	ready := b.ready("LL-1")
	stout := b.settled(b.placedAs(sampleOrder("LL-2").with("measurements", figure().with("bust_girth", 125).
		with("waist_girth", 107).with("hip_girth", 131).with("neck_base_girth", 40).with("back_width", 31))).ID)
	if stout.Status == api.OrderStatusHeld {
		b.post("/v1/orders/"+stout.ID.String()+"/confirm", object{}).want(http.StatusOK, nil)
		stout = b.settled(stout.ID)
	}
	if stout.Status != api.OrderStatusReady {
		t.Fatalf("order: %+v", stout)
	}
	r := b.refit(roomier(20), nil)
	if got := b.refitOrder(r.ID, stout.ID); got.Finding != api.RefitFindingUndraftable || len(got.Reasons) == 0 || got.Comparison.Largest != 0 {
		t.Errorf("stout: %+v", got)
	}
	r = b.apply(r.ID, object{"apply": "all"})
	if r.Outcomes["revised"] != 1 || r.Outcomes["undraftable"] != 1 || len(b.revisions(ready.ID)) != 2 || len(b.revisions(stout.ID)) != 1 {
		t.Errorf("applied: %+v", r)
	}
	if now := b.settled(stout.ID); now.Status != api.OrderStatusReady {
		t.Errorf("what could not be drafted is %s", now.Status)
	}
}

func TestRefitRefusals(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	other := b.ready("LL-2")
	fit := roomier(9)["fit"].(object)
	for _, tt := range [...]struct {
		name    string
		change  object
		scope   object
		pointer string
	}{
		{"unknown block", object{"fit": fit.with("block", "toroso")}, nil, "#/change/fit/block"},
		{"unknown fit", object{"fit": fit.with("from", "regulr")}, nil, "#/change/fit/from"},
		{"unknown fit to go to", object{"fit": fit.with("to", "regulr")}, nil, "#/change/fit/to"},
		{"unknown ease", object{"fit": fit.with("ease", object{"bust_grith": 10})}, nil, "#/change/fit/ease/bust_grith"},
		{"too much ease", object{"fit": fit.with("ease", object{"bust_girth": 90})}, nil, "#/change/fit/ease/bust_girth"},
		{"ease without unit", object{"fit": fit.with("unit", nil)}, nil, "#/change/fit/unit"},
		{"block and style", object{"fit": fit.with("style", "shift-dress")}, nil, "#/change/fit/style"},
		{"unknown set", object{"measurements": object{"customer_id": o.CustomerID, "to": uuid.NewString()}}, nil, "#/change/measurements/to"},
		{"another customer's set", object{"measurements": object{"customer_id": o.CustomerID, "to": other.MeasurementSetID}}, nil, "#/change/measurements/to"},
		{"unknown style", object{"style": object{"style": "shirt-dress-x"}}, nil, "#/change/style/style"},
		{"unknown revision", object{"style": object{"style": "shift-dress", "to": 7}}, nil, "#/change/style/to"},
		{"unknown former revision", object{"style": object{"style": "shift-dress", "from": 3}}, nil, "#/change/style/from"},
		{"unknown order", roomier(9), object{"orders": []string{o.ID.String(), uuid.NewString()}}, "#/scope/orders/1"},
	} {
		p := b.post("/v1/refits", newRefit(tt.change, tt.scope)).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
		if len(p.Errors) != 1 || p.Errors[0].Pointer != tt.pointer || p.Errors[0].Detail == "" {
			t.Errorf("%s: %+v", tt.name, p.Errors)
		}
	}
	for name, scope := range map[string]object{
		"nobody's":  {"customer_id": uuid.NewString()},
		"the past":  {"created_before": "2020-01-01T00:00:00Z"},
		"held ones": {"statuses": []string{"held"}},
	} {
		p := b.post("/v1/refits", object{"change": roomier(9), "scope": scope, "reason": "x"}).problem(http.StatusUnprocessableEntity, api.ProblemCodeScopeEmpty)
		if p.Detail == "" {
			t.Errorf("%s: no detail", name)
		}
	}
	for _, body := range []object{
		{"change": object{}, "reason": "x"}, {"change": roomier(9)}, {"change": object{"engine": object{}, "fit": fit}, "reason": "x"},
	} {
		b.post("/v1/refits", body).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	}
	b.as(service.RoleShop, "POST", "/v1/refits", object{"change": roomier(9), "reason": "x"}).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	r := b.refit(roomier(9), nil)
	p := b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "some", "orders": []string{uuid.NewString()}}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/orders/0" {
		t.Errorf("unknown order: %+v", p.Errors)
	}
	nobody := "/v1/refits/" + uuid.NewString()
	b.get(nobody).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.get(nobody+"/orders").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.post(nobody+"/decide", object{"apply": "all"}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.post(nobody+"/stop", nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	var list api.RefitList
	b.get("/v1/refits?limit=1").want(http.StatusOK, &list)
	if len(list.Items) != 1 || list.Items[0].ID != r.ID {
		t.Errorf("list: %+v", list)
	}
}

// The numbers are those that another program finds in the two JSON geometries:
// it flattens the seam lines itself and measures with GEOS (shapely).
func TestComparisonByAnotherProgram(t *testing.T) {
	t.Parallel()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		reader(t, "python3 with shapely")
	}
	b := setup(t)
	o := b.ready("LL-1")
	r := b.refit(roomier(9), nil)
	found := b.refitOrder(r.ID, o.ID)
	b.apply(r.ID, object{"apply": "all"})
	type files struct{ Was, Now, Comparison json.RawMessage }
	path := "/v1/orders/" + o.ID.String() + "/pattern.json?revision="
	comparison, err := json.Marshal(found.Comparison)
	b.must(err)
	input, err := json.Marshal(files{b.get(path+"1").want(http.StatusOK, nil).body, b.get(path+"2").want(http.StatusOK, nil).body, comparison})
	b.must(err)
	cmd := exec.CommandContext(t.Context(), python, "-c", `
import json, sys
from shapely.geometry import LinearRing, Polygon
from shapely.affinity import translate
def flat(segments):
    for s in segments:
        p = [(s[i], s[i + 1]) for i in range(0, len(s), 2)]
        if len(p) == 2:
            yield p[0]
            continue
        for k in range(64):
            t = k / 64
            u = 1 - t
            yield tuple(u**3 * p[0][j] + 3 * u * u * t * p[1][j] + 3 * u * t * t * p[2][j] + t**3 * p[3][j] for j in (0, 1))
def ring(piece):
    return LinearRing([q for e in piece["edges"] for q in flat(e["path"])])
f = json.load(sys.stdin)
was, now = ({p["name"]: ring(p) for p in f[k]["pieces"]} for k in ("Was", "Now"))
wrong = []
for p in f["Comparison"]["pieces"]:
    a, b = translate(was[p["name"]], *p["shift"]), now[p["name"]]
    there = [a.distance(b.interpolate(i * 0.5)) for i in range(int(b.length * 2))]
    back = [b.distance(a.interpolate(i * 0.5)) for i in range(int(a.length * 2))]
    far, mean = max(there + back), sum(there + back) / len(there + back)
    if abs(far - p["largest"]) > 0.05 or abs(mean - p["mean"]) > 0.02:
        wrong.append("%s: largest %.3f mm, by GEOS %.3f; mean %.3f, by GEOS %.3f" % (p["name"], p["largest"], far, p["mean"], mean))
checks = [{c["name"]: c["drafted"] for c in f[k]["checks"]} for k in ("Was", "Now")]
for g in f["Comparison"]["girths"]:
    if abs(checks[0][g["name"]] - g["was"]) > 0.001 or abs(checks[1][g["name"]] - g["now"]) > 0.001:
        wrong.append("girth %s" % g["name"])
lengths = [{}, {}]
for l, k in zip(lengths, ("Was", "Now")):
    for p in f[k]["pieces"]:
        for e in p["edges"]:
            q = list(flat(e["path"])) + [tuple(e["path"][-1][-2:])]
            n = p["name"] + "/" + e["run"]
            l[n] = l.get(n, 0) + sum(((a[0] - b[0])**2 + (a[1] - b[1])**2)**0.5 for a, b in zip(q, q[1:]))
for s in f["Comparison"]["seams"]:
    if abs(lengths[0][s["name"]] - s["was"]) > 0.05 or abs(lengths[1][s["name"]] - s["now"]) > 0.05:
        wrong.append("seam %s: %.3f to %.3f, by another program %.3f to %.3f" % (s["name"], s["was"], s["now"], lengths[0][s["name"]], lengths[1][s["name"]]))
print(json.dumps(wrong))`)
	cmd.Stdin = bytes.NewReader(input)
	out, err := cmd.Output()
	b.must(err)
	var wrong []string
	b.must(json.Unmarshal(out, &wrong))
	for _, w := range wrong {
		t.Error(w)
	}
	if len(found.Comparison.Pieces) == 0 || len(found.Comparison.Seams) == 0 || len(found.Comparison.Girths) == 0 {
		t.Errorf("nothing was compared: %+v", found.Comparison)
	}
	for _, s := range found.Comparison.Seams {
		if strings.Contains(s.Name, "neckline") {
			t.Errorf("more ease at the bust changes %s", s.Name)
		}
	}
}
