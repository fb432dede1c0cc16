package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
)

// An order whose numbers do not go together is drafted only once somebody has
// said that they are right, or given others.
func TestImplausibleOrderIsHeldUntilConfirmed(t *testing.T) {
	t.Parallel()
	b := setup(t)
	exchanged := figure()
	exchanged["waist_girth"], exchanged["hip_girth"] = exchanged["hip_girth"], exchanged["waist_girth"]
	for _, reference := range []string{"Q-confirmed", "Q-corrected"} {
		var o api.Order
		b.order(sampleOrder(reference).with("measurements", exchanged), uuid.NewString()).want(http.StatusCreated, &o)
		o = b.settled(o.ID)
		if o.Status != api.OrderStatusHeld || len(o.Reasons) < 2 || o.Reasons[0].Code != "implausible" {
			t.Fatalf("%s is %s: %+v", reference, o.Status, o.Reasons)
		}
		if q := o.Reasons[1]; !strings.HasSuffix(q.Detail, "?") || !strings.HasPrefix(q.Pointer, "#/measurements/") {
			t.Errorf("the question is %+v", q)
		}
		body := object{"note": "asked the customer by telephone"}
		if reference == "Q-corrected" {
			var set api.MeasurementSet
			b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets", object{"unit": "cm", "measurements": figure()}).want(http.StatusCreated, &set)
			body["measurement_set_id"] = set.ID
		}
		b.post("/v1/orders/"+o.ID.String()+"/confirm", body).want(http.StatusOK, nil)
		if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
			t.Errorf("%s confirmed is %s: %+v", reference, o.Status, o.Reasons)
		}
		if events := b.history(o.ID); !slices.Contains(events, "confirmed") {
			t.Errorf("the history is %v", events)
		}
	}
}

// The check asks without storing, and refuses nothing for being unlikely.
func TestCheckAsks(t *testing.T) {
	t.Parallel()
	b := setup(t)
	m := figure()
	m["hip_girth"] = 98 / 2.54
	var report api.CheckReport
	b.post("/v1/measurements/check", object{"unit": "cm", "measurements": m}).want(http.StatusOK, &report)
	if !report.Acceptable && len(report.Findings) == 0 {
		t.Errorf("report: %+v", report)
	}
	m = figure()
	m["bust_girth"], m["hip_girth"] = 72, 138
	b.post("/v1/measurements/check", object{"unit": "cm", "measurements": m}).want(http.StatusOK, &report)
	asked := slices.ContainsFunc(report.Findings, func(f api.Finding) bool { return f.Level == api.FindingLevelConfirm && f.Code == "implausible" })
	if !report.Acceptable || !asked {
		t.Errorf("report: %+v", report)
	}
}
