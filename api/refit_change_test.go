package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
)

// From one revision of a style to the next: a style that fails for one order
// among many keeps that order as it is and says where it failed.
func TestRefitToAnotherStyleRevision(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.publish(tabard)
	plain, deep := styleOrder("LL-plain", "tabard"), styleOrder("LL-deep", "tabard").with("choices",
		object{"drop": 5, "lined": true})
	one, two := b.settled(b.placedAs(plain).ID), b.settled(b.placedAs(deep).ID)
	b.ready("LL-torso")
	// The next revision has a deeper neck, and fails for one depth that was chosen.
	next := strings.Replace(tabard, `    if choose.drop == 13:`, `    if choose.drop == 50:
        front = drop(front, "shoulder", centre_front = 5)
    else:
        front = drop(front, "neckline", centre_front = 8)
    if choose.drop == 13:`, 1)
	b.publish(next)
	from := object{"style": "tabard", "from": 1, "to": 2}
	r := b.refit(object{"style": from}, nil)
	if r.Orders != 2 || r.Previews["changes"] != 1 || r.Previews["undraftable"] != 1 || r.Change.Style.To != 2 {
		t.Fatalf("previewed: %+v", r)
	}
	if got := b.refitOrder(r.ID, two.ID); reason(got) != "style_failed" || len(got.Reasons) < 2 ||
		!strings.Contains(got.Reasons[1].Detail, "shoulder") {
		t.Errorf("the one that fails: %+v", got)
	}
	got := b.refitOrder(r.ID, one.ID)
	// The back moves by a hair where its neckline is trued to the front's.
	if len(got.Comparison.Pieces) != 2 || got.Comparison.Pieces[0].Largest > 0.1 || got.Comparison.Pieces[1].Largest < 3 {
		t.Errorf("the one that changes: %+v", got.Comparison.Pieces)
	}
	r = b.apply(r.ID, object{"apply": "all"})
	if r.Outcomes["revised"] != 1 || r.Outcomes["undraftable"] != 1 {
		t.Errorf("applied: %+v", r)
	}
	if now := b.settled(one.ID); now.StyleRevision != 2 || now.Revision != 2 ||
		b.revisions(one.ID)[0].StyleRevision != 2 || b.revisions(one.ID)[1].StyleRevision != 1 {
		t.Errorf("order: %+v", now)
	}
	if now := b.settled(two.ID); now.StyleRevision != 1 || now.Status != api.OrderStatusReady {
		t.Errorf("order: %+v", now)
	}
	// Without its ends it is from any other script to the style as it stands: one order is left.
	if r = b.refit(object{"style": object{"style": "tabard"}}, nil); r.Orders != 1 || r.Change.Style.To != 2 {
		t.Errorf("to what it is now: %+v", r)
	}
	// A fit of the style, and a built-in one that is up to date.
	fit := object{"style": "tabard", "from": "easy", "to": "trim"}
	if r = b.refit(object{"fit": fit}, nil); r.Orders != 2 || r.Previews["changes"] != 2 {
		t.Errorf("fit: %+v", r)
	}
	p := b.post("/v1/refits", newRefit(object{"fit": fit.with("to", "tight")},
		nil)).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/change/fit/to" {
		t.Errorf("unknown fit: %+v", p.Errors)
	}
	b.settled(b.placedAs(styleOrder("LL-toile", "torso-toile")).ID)
	b.post("/v1/refits", newRefit(object{"style": object{"style": "torso-toile"}},
		nil)).problem(http.StatusUnprocessableEntity, api.ProblemCodeScopeEmpty)
}

// A newer version of a customer's alterations reaches their orders by a refit
// that says so, and by no other.
func TestRefitToNewerAlterations(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	first := b.altered(o.CustomerID, object{"sway_back": 1})
	fit := b.refit(roomier(9), nil)
	if c := b.refitOrder(fit.ID, o.ID).Comparison; len(c.Pieces) != 3 {
		t.Fatalf("fit: %+v", c)
	}
	b.apply(fit.ID, object{"apply": "all"})
	if d := b.revisions(o.ID)[0]; d.AlterationSetID != (uuid.UUID{}) || swayOf(d.Checks) != 0 {
		t.Errorf("a refit of fit brought in alterations: %+v", d)
	}
	r := b.refit(object{"alterations": object{"customer_id": o.CustomerID, "to": first.ID}}, nil)
	if r.Previews["changes"] != 1 || r.Moves.Largest < 5 {
		t.Errorf("previewed: %+v", r)
	}
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+o.ID.String()+"/overlay").want(http.StatusOK, nil)
	b.apply(r.ID, object{"apply": "all"})
	if d := b.revisions(o.ID)[0]; d.AlterationSetID != first.ID || swayOf(d.Checks) == 0 || d.PreviousRevision != 2 {
		t.Errorf("applied: %+v", d)
	}
	var x api.CustomerExport
	b.get("/v1/customers/"+o.CustomerID.String()+"/export").want(http.StatusOK, &x)
	if refits := x.Orders[0].Refits; len(refits) != 2 || len(refits[0].Comparison.Pieces) != 3 {
		t.Errorf("export: %+v", refits)
	}
	second := b.altered(o.CustomerID, object{"sway_back": 1.5})
	r = b.refit(object{"alterations": object{"customer_id": o.CustomerID, "from": first.ID, "to": second.ID}}, nil)
	if r.Previews["changes"] != 1 {
		t.Errorf("to the next: %+v", r)
	}
	b.apply(r.ID, object{"apply": "all"})
	if r = b.refit(roomier(9), nil); r.Previews["unchanged"] != 1 {
		t.Errorf("what has the fit already: %+v", r)
	}
	p := b.post("/v1/refits", newRefit(object{"alterations": object{"customer_id": o.CustomerID, "to": uuid.NewString()}},
		nil)).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/change/alterations/to" {
		t.Errorf("unknown alterations: %+v", p.Errors)
	}
}
