package api_test

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// Orders that are cut or shipped are left alone unless they are named; so are
// those that nothing can be drafted for.
func TestRefitLeavesAlone(t *testing.T) {
	t.Parallel()
	b := setup(t)
	mark := func(o api.Order, progress string) reply {
		t.Helper()
		return b.as(service.RoleShop, "POST", "/v1/orders/"+o.ID.String()+"/progress", object{"progress": progress})
	}
	cut, shipped, held, free := b.ready("LL-cut"), b.ready("LL-shipped"), b.ready("LL-held"), b.ready("LL-free")
	mark(cut, "cut").want(http.StatusOK, &cut)
	mark(cut, "cut").want(http.StatusOK, nil)
	mark(shipped, "shipped").want(http.StatusOK, nil)
	b.post("/v1/orders/"+held.ID.String()+"/hold", object{"reason": "asks for time"}).want(http.StatusOK, nil)
	if cut.Progress != api.ProgressCut || !slices.Equal(b.history(cut.ID), []string{"received", "ready", "cut"}) {
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

	// Named, it is drafted again; one that is named but not in scope gives a reason.
	r = b.refit(roomier(9), object{"orders": []uuid.UUID{cut.ID, free.ID, b.ready("LL-other").ID},
		"created_before": time.Now().Add(time.Hour)})
	r = b.apply(r.ID, object{"apply": "some", "orders": []uuid.UUID{cut.ID}})
	if r.Outcomes["revised"] != 1 || r.Outcomes["unchanged"] != 1 || r.Outcomes["declined"] != 1 ||
		len(b.revisions(cut.ID)) != 2 {
		t.Errorf("named: %+v", r)
	}
	closeFit := b.settled(b.placedAs(sampleOrder("LL-close").with("fit", "close")).ID)
	r = b.refit(roomier(10), object{"orders": []uuid.UUID{free.ID, closeFit.ID}})
	if got := b.refitOrder(r.ID, closeFit.ID); reason(got) != "not_in_scope" || r.Orders != 2 {
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

// What is changed between the preview and the decision is left out, with the reason;
// what comes later is not in it; and of two refits on one order the second sees
// the first.
func TestRefitOfAScopeThatChanges(t *testing.T) {
	t.Parallel()
	b := setup(t)
	revised, cancelled, refitted, free := b.ready("LL-1"), b.ready("LL-2"), b.ready("LL-3"), b.ready("LL-4")
	r := b.refit(roomier(9), nil)
	second := b.refit(roomier(10.5), object{"orders": []uuid.UUID{refitted.ID}})
	b.post("/v1/orders/"+revised.ID.String()+"/revise", object{"reason": "as she likes it",
		"fit": "loose"}).want(http.StatusOK, nil)
	b.settled(revised.ID)
	b.post("/v1/orders/"+cancelled.ID.String()+"/cancel", object{"reason": "given up"}).want(http.StatusOK, nil)
	late := b.ready("LL-late")

	// With no job at work, the first refit stays in the middle of applying.
	stop, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	b.must(b.service.Stop(stop))
	b.post("/v1/refits/"+second.ID.String()+"/decide", object{"apply": "all"}).want(http.StatusOK, &second)
	if second.Status != api.RefitStatusApplying {
		t.Errorf("decided: %+v", second)
	}
	p := b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}).problem(http.StatusConflict,
		api.ProblemCodeRefitConflict)
	if !strings.Contains(p.Detail, second.ID.String()) {
		t.Errorf("conflict: %s", p.Detail)
	}
	b.get("/v1/refits/"+r.ID.String()).want(http.StatusOK, &r)
	if r.Status != api.RefitStatusToDecide || len(r.Outcomes) != 0 || r.ArrivedSince != 1 {
		t.Errorf("after the conflict: %+v", r)
	}
	b.get("/v1/refits/"+second.ID.String()).want(http.StatusOK, &second)
	if second.Work.Total != 1 || second.Work.Done != 0 {
		t.Errorf("progress: %+v", second.Work)
	}
	b.must(b.service.Start(context.WithoutCancel(t.Context())))
	b.awaitRefit(second.ID, api.RefitStatusDone)

	r = b.apply(r.ID, object{"apply": "all"})
	for id, want := range map[uuid.UUID]string{revised.ID: "order_changed", cancelled.ID: "order_changed",
		refitted.ID: "other_refit", free.ID: ""} {
		got := b.refitOrder(r.ID, id)
		if reason(got) != want && !(id == cancelled.ID && reason(got) == "order_state") {
			t.Errorf("%s: %s because %q, want %q", got.Reference, got.Outcome, reason(got), want)
		}
	}
	if r.Outcomes["revised"] != 1 || r.Outcomes["left_alone"] != 3 || len(b.revisions(refitted.ID)) != 2 ||
		len(b.revisions(late.ID)) != 1 {
		t.Errorf("applied: %+v", r)
	}
}

func TestRefitStopped(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	stop, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	b.must(b.service.Stop(stop))
	var r api.Refit
	b.post("/v1/refits", object{"change": roomier(9), "reason": "x"}).want(http.StatusCreated, &r)
	b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}).problem(http.StatusConflict,
		api.ProblemCodeWrongState)
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+o.ID.String()+"/overlay").problem(http.StatusConflict,
		api.ProblemCodeWrongState)
	b.post("/v1/refits/"+r.ID.String()+"/stop", nil).want(http.StatusOK, &r)
	b.post("/v1/refits/"+r.ID.String()+"/stop", nil).want(http.StatusOK, nil)
	if r.Status != api.RefitStatusStopped || r.StoppedBy == (uuid.UUID{}) {
		t.Errorf("stopped: %+v", r)
	}
	b.must(b.service.Start(context.WithoutCancel(t.Context())))
	next := b.refit(roomier(9), nil)
	b.must(b.service.Stop(stop))
	b.post("/v1/refits/"+next.ID.String()+"/decide", object{"apply": "all"}).want(http.StatusOK, nil)
	b.post("/v1/refits/"+next.ID.String()+"/stop", nil).want(http.StatusOK, nil)
	b.must(b.service.Start(context.WithoutCancel(t.Context())))
	if got := b.refitOrder(next.ID, o.ID); got.Outcome != api.RefitOutcomeStopped || len(b.revisions(o.ID)) != 1 {
		t.Errorf("stopped while applying: %+v", got)
	}
	// The first one's jobs have come by since and found nothing to do.
	if got := b.refitOrder(r.ID, o.ID); got.Preview != api.RefitPreviewWaiting || got.Outcome != "" {
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
		b.must(b.service.Stop(stop))
		b.post(path, body).want(status, r)
		_, err := b.store.Pool().Exec(t.Context(), `DELETE FROM river_job WHERE kind = 'refit'`)
		b.must(err)
		b.must(b.service.ClearAway(t.Context(), time.Now().Add(10*time.Minute)))
		b.must(b.service.Start(context.WithoutCancel(t.Context())))
	}
	var r api.Refit
	lost(&r, "/v1/refits", newRefit(roomier(9), nil), http.StatusCreated)
	b.awaitRefit(r.ID, api.RefitStatusToDecide)
	lost(&r, "/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}, http.StatusOK)
	b.awaitRefit(r.ID, api.RefitStatusDone)
	if got := b.refitOrder(r.ID, o.ID); got.Outcome != api.RefitOutcomeRevised {
		t.Errorf("outcome: %+v", got)
	}
}
