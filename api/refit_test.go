package api_test

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
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
	return object{"fit": object{"block": "torso", "from": "regular", "to": "regular", "unit": "cm",
		"ease": object{"bust_girth": ease}}}
}

// newRefit is the request for a refit.
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
	if got.header.Get("Location") != "/v1/refits/"+r.ID.String() || r.Status != api.RefitStatusPreviewing {
		b.Errorf("begun: %+v at %s", r, got.header.Get("Location"))
	}
	return b.awaitRefit(r.ID, api.RefitStatusToDecide)
}

func (b *bench) awaitRefit(id uuid.UUID, state api.RefitStatus) (r api.Refit) {
	b.Helper()
	b.eventually("refit to be "+string(state), func() bool {
		b.get("/v1/refits/"+id.String()).want(http.StatusOK, &r)
		return r.Status == state
	})
	return r
}

// apply decides a refit and waits until it is done.
func (b *bench) apply(id uuid.UUID, decision object) api.Refit {
	b.Helper()
	b.as(service.RoleStaff, "POST", "/v1/refits/"+id.String()+"/decide", decision).want(http.StatusOK, nil)
	return b.awaitRefit(id, api.RefitStatusDone)
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
	if r.Orders != 3 || r.Previews["changes"] != 3 || len(r.Outcomes) != 0 || r.Moves.Largest < 3 ||
		r.Moves.Median > r.Moves.P90 || len(r.Moves.Orders) != 3 {
		t.Errorf("previewed: %+v", r)
	}
	b.checkPreview(r, orders)

	r = b.apply(r.ID, object{"apply": "all"})
	if r.Outcomes["revised"] != 3 || r.Decision != api.ApplyToAll || r.DecidedBy == (uuid.UUID{}) || r.EndedAt.IsZero() {
		t.Errorf("done: %+v", r)
	}
	b.checkRevised(h, r, orders)
	var history api.OrderHistory
	b.get("/v1/orders/"+orders[0].ID.String()+"/history").want(http.StatusOK, &history)
	if last := history.Items[2]; last.RefitID != r.ID || last.Revision != 2 || last.By != r.DecidedBy ||
		last.Reason != "Tight at the fittings" {
		t.Errorf("history: %+v", last)
	}
	again := b.get("/v1/orders/"+orders[0].ID.String()+"/pattern.json?revision=1").want(http.StatusOK, nil)
	if !bytes.Equal(again.body, first.body) {
		t.Error("the former draft has changed")
	}
	b.get("/v1/orders/"+orders[0].ID.String()+"/overlay?from=1&to=2").want(http.StatusOK, nil)
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+orders[0].ID.String()+"/overlay").want(http.StatusOK, nil)

	// A second decision is refused, and the same change changes nothing.
	b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "all"}).problem(http.StatusConflict,
		api.ProblemCodeWrongState)
	b.post("/v1/refits/"+r.ID.String()+"/stop", nil).problem(http.StatusConflict, api.ProblemCodeWrongState)
	same := b.refit(roomier(9), nil)
	if same.Previews["unchanged"] != 3 || same.Moves.Largest != 0 {
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

// checkPreview checks what a refit of three orders, 20 mm roomier, would change,
// and that its preview stored nothing.
func (b *bench) checkPreview(r api.Refit, orders []api.Order) {
	b.Helper()
	total := 0
	for _, c := range r.Moves.Histogram {
		total += c.Count
	}
	if total != 3 {
		b.Errorf("spread: %+v", r.Moves.Histogram)
	}
	for _, o := range orders {
		found := b.refitOrder(r.ID, o.ID)
		c := found.Comparison
		if found.PreviousRevision != 1 || len(c.Pieces) != 3 || len(c.Seams) == 0 || c.Pages.Paper != "a4" ||
			c.Pages.From < 10 || len(c.Added)+len(c.Removed) != 0 {
			b.Errorf("found: %+v", found)
		}
		i := slices.IndexFunc(c.Girths, func(g api.LengthChange) bool { return g.Name == "bust_girth" })
		// The side seam is trued over the bust dart, which moves it by hundredths of a
		// millimetre where the bust is read.
		if i < 0 || math.Abs(c.Girths[i].To-c.Girths[i].From-20) > 0.02 {
			b.Errorf("girths: %+v", c.Girths)
		}
		if n := len(b.revisions(o.ID)); n != 1 {
			b.Errorf("a preview stored %d drafts", n)
		}
	}
	for format, begin := range map[string]string{"svg": "<?xml", "pdf": "%PDF-"} {
		got := b.get("/v1/refits/"+r.ID.String()+"/orders/"+orders[0].ID.String()+"/overlay?format="+format).
			want(http.StatusOK, nil)
		if !strings.HasPrefix(string(got.body), begin) {
			b.Errorf("overlay as %s: %.60s", format, got.body)
		}
	}
}

// checkRevised checks the second revisions of orders that a refit made, and its
// messages.
func (b *bench) checkRevised(h *hook, r api.Refit, orders []api.Order) {
	b.Helper()
	for _, o := range orders {
		message := h.await(b, "order.revised", o.ID)
		if message.Data.Revision != 2 || message.Data.PreviousRevision != 1 || message.Data.RefitID != r.ID {
			b.Errorf("message: %+v", message.Data)
		}
		now := b.settled(o.ID)
		if now.Status != api.OrderStatusReady || now.Revision != 2 || now.Ease["bust_girth"] != 9 {
			b.Errorf("order: %+v", now)
		}
		chain := b.revisions(o.ID)
		if len(chain) != 2 || chain[0].PreviousRevision != 1 || chain[0].RefitID != r.ID ||
			chain[0].Reason != "Tight at the fittings" || chain[0].CreatedBy != r.DecidedBy ||
			chain[0].Ease["bust_girth"] != 9 || chain[1].PreviousRevision != 0 || len(chain[1].Ease) != 0 ||
			chain[1].CreatedBy == (uuid.UUID{}) {
			b.Errorf("chain: %+v", chain)
		}
		if got := b.history(o.ID); !slices.Equal(got, []string{"received", "ready", "revised"}) {
			b.Errorf("history: %v", got)
		}
	}
}

// From A to A nothing moves and nothing is revised, whether the same inputs are
// drafted again or not.
func TestRefitFromAToA(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	for name, change := range map[string]object{
		"fit":    {"fit": object{"block": "torso", "from": "regular", "to": "regular"}},
		"engine": {"engine": object{}},
		"measurements": {"measurements": object{"customer_id": o.CustomerID, "from": o.MeasurementSetID,
			"to": o.MeasurementSetID}},
	} {
		r := b.refit(change, nil)
		if r.Orders != 1 || r.Previews["unchanged"] != 1 || r.Moves.Largest != 0 {
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
		b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets",
			object{"unit": "cm", "measurements": change}).want(http.StatusCreated, &set)
		return set
	}
	odd := measured(figure().with("bust_girth", 122)) // with this waist and neck it asks for a look
	r := b.refit(object{"measurements": object{"customer_id": o.CustomerID, "to": odd.ID}}, nil)
	if found := b.refitOrder(r.ID, o.ID); found.Preview != api.RefitPreviewHeld || reason(found) != "implausible" ||
		len(found.Reasons) < 2 {
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
	if now := b.settled(o.ID); now.MeasurementSetID != set.ID || b.revisions(o.ID)[0].MeasurementSetID != set.ID ||
		b.revisions(o.ID)[1].MeasurementSetID != o.MeasurementSetID {
		t.Errorf("order: %+v", now)
	}

	// A person's erasure takes what was compared of them.
	b.post("/v1/customers/"+o.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)
	if found := b.refitOrder(r.ID, o.ID); found.ErasedAt.IsZero() || len(found.Comparison.Pieces) != 0 ||
		found.Outcome != api.RefitOutcomeRevised {
		t.Errorf("after the erasure: %+v", found)
	}
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+o.ID.String()+"/overlay").problem(http.StatusGone, api.ProblemCodeErased)
}

// One that can't be drafted keeps its reason and stays as it is; the others go
// on.
func TestRefitThatFailsForOne(t *testing.T) {
	t.Parallel()
	b := setup(t)
	ready := b.ready("LL-1")
	stout := b.settled(b.placedAs(sampleOrder("LL-2").with("measurements", figure().with("bust_girth", 125).
		with("waist_girth", 107).with("hip_girth", 131).with("neck_base_girth", 40).with("back_width", 31).
		with("shoulder_length", 11))).ID)
	if stout.Status == api.OrderStatusHeld {
		b.post("/v1/orders/"+stout.ID.String()+"/confirm", object{}).want(http.StatusOK, nil)
		stout = b.settled(stout.ID)
	}
	if stout.Status != api.OrderStatusReady {
		t.Fatalf("order: %+v", stout)
	}
	r := b.refit(roomier(20), nil)
	if got := b.refitOrder(r.ID, stout.ID); got.Preview != api.RefitPreviewUndraftable || len(got.Reasons) == 0 ||
		got.Comparison.Largest != 0 {
		t.Errorf("stout: %+v", got)
	}
	r = b.apply(r.ID, object{"apply": "all"})
	if r.Outcomes["revised"] != 1 || r.Outcomes["undraftable"] != 1 || len(b.revisions(ready.ID)) != 2 ||
		len(b.revisions(stout.ID)) != 1 {
		t.Errorf("applied: %+v", r)
	}
	if now := b.settled(stout.ID); now.Status != api.OrderStatusReady {
		t.Errorf("what could not be drafted is %s", now.Status)
	}
}
