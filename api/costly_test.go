package api_test

import (
	"net/http"
	"strings"
	"testing"

	"tapeline/api"
)

// endless is the tabard, whose script does not end for one depth of neck.
var endless = strings.Replace(tabard, `front = drop(front, "pocket_mouth", centre_front = 5)`,
	`[length(front, "hem") for i in range(1000000)]`, 1)

// An order whose draft is too costly is held with the line at work and not tried
// again; revised, it is drafted.
func TestCostlyOrderIsHeld(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	b.publish(endless)
	var o api.Order
	b.order(styleOrder("LL-1", "tabard").with("choices", object{"drop": 1.3}), "a").want(http.StatusCreated, &o)
	hook.await(b, "order.held", o.ID)
	o = b.settled(o.ID)
	if o.Status != api.OrderStatusHeld || len(o.Reasons) != 2 || o.Reasons[0].Code != "too_costly" ||
		o.Reasons[1].Code != "too_costly" || o.Reasons[1].Pointer != "#/style" || o.Reasons[1].Line == 0 ||
		!strings.Contains(o.Reasons[1].Detail, "1000000 steps") {
		t.Errorf("held: %s %+v", o.Status, o.Reasons)
	}
	b.post("/v1/orders/"+o.ID.String()+"/revise", object{"reason": "another neck",
		"choices": object{"lined": true}}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		t.Errorf("revised: %s %+v", o.Status, o.Reasons)
	}
}

// A proof with drafts that are too costly ends after few of them, and fails.
func TestCostlyProofFails(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(strings.Replace(endless, "choose.drop == 13", "choose.drop >= 0", 1)).Revision
	p := b.prove(r, crowd(20))
	if p.Status != api.ProofStatusDone || p.Report == nil || p.Report.Counts.Failed < 10 || p.Done == p.Total ||
		!strings.Contains(p.Reason, "took too much time or memory") || len(p.Report.Failures) == 0 ||
		!strings.Contains(p.Report.Failures[0].Reason, "1000000 steps") ||
		p.Report.Failures[0].Drafts[0].Body == "" {
		t.Errorf("proof: %+v", p)
	}
	b.post(revisionPath(r)+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
}
