package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// altered keeps a version of a customer's alterations, in cm.
func (b *bench) altered(customer uuid.UUID, alterations object) api.AlterationSet {
	b.Helper()
	var a api.AlterationSet
	b.as(service.RoleStaff, "POST", "/v1/customers/"+customer.String()+"/alteration-sets",
		object{"unit": "cm", "alterations": alterations, "reason": "toile fitted"}).want(http.StatusCreated, &a)
	return a
}

// swayOf returns the length that an alteration added to the back, by the draft's check.
func swayOf(checks []api.Check) float64 {
	i := slices.IndexFunc(checks, func(c api.Check) bool { return strings.HasSuffix(c.Name, "nape_to_waist") })
	if i < 0 {
		return 0
	}
	return checks[i].AlterationMm
}

// What a fitting found goes into every later draft of the customer, says so
// there, and leaves what is ready alone.
func TestAlterationsAreAppliedToLaterDrafts(t *testing.T) {
	t.Parallel()
	b := setup(t)
	first := b.ready("LL-1")
	again := func(reference, block string) (api.Order, api.DraftRevision, api.Pattern) {
		t.Helper()
		o := sampleOrder(reference).with("customer", nil).with("measurements", nil).
			with("customer_id", first.CustomerID).with("measurement_set_id", first.MeasurementSetID)
		if block != "torso" {
			o = o.with("block", block).with("choices", nil)
		}
		var placed api.Order
		b.order(o, uuid.NewString()).want(http.StatusCreated, &placed)
		placed = b.settled(placed.ID)
		if placed.Status != api.OrderStatusReady {
			t.Fatalf("%s is %s: %+v", reference, placed.Status, placed.Reasons)
		}
		var list api.DraftRevisionList
		b.get("/v1/orders/"+placed.ID.String()+"/revisions").want(http.StatusOK, &list)
		var p api.Pattern
		b.get("/v1/orders/"+placed.ID.String()+"/pattern.json").want(http.StatusOK, &p)
		return placed, list.Items[0], p
	}

	a := b.altered(first.CustomerID, object{"sway_back": 1.2, "left": object{"shoulder_height": -0.8}})
	if a.Version != 1 || a.Reason != "toile fitted" || a.CreatedBy == uuid.Nil || a.Alterations["sway_back"] != 1.2 {
		t.Errorf("alterations %+v", a)
	}
	o, draft, p := again("LL-2", "torso")
	if o.AlterationSetID != a.ID || draft.AlterationSetID != a.ID || swayOf(draft.Checks) != -12 {
		t.Errorf("order with %v, draft with %v, sway %v mm", o.AlterationSetID, draft.AlterationSetID, swayOf(draft.Checks))
	}
	want := "altered for this customer: sway back 1.2 cm, left shoulder height -0.8 cm"
	if !slices.Contains(p.Warnings, want) {
		t.Errorf("the pattern says %q, want %q", p.Warnings, want)
	}
	// A skirt has no shoulders and back.
	_, draft, p = again("LL-3", "circle_skirt")
	if draft.AlterationSetID != a.ID || !slices.ContainsFunc(p.Warnings, func(w string) bool {
		return strings.Contains(w, "no alteration of the circle_skirt block: sway_back, shoulder_height")
	}) {
		t.Errorf("skirt with %v: %q", draft.AlterationSetID, p.Warnings)
	}
	// All taken back.
	last := b.altered(first.CustomerID, object{})
	o, draft, _ = again("LL-4", "torso")
	if last.Version != 2 || o.AlterationSetID != last.ID || swayOf(draft.Checks) != 0 {
		t.Errorf("version %d, order with %v, sway %v mm", last.Version, o.AlterationSetID, swayOf(draft.Checks))
	}
	// What was ready before stays; its history tells of nothing.
	var ready api.Order
	b.get("/v1/orders/"+first.ID.String()).want(http.StatusOK, &ready)
	if ready.AlterationSetID != uuid.Nil || ready.Revision != 1 || len(b.history(first.ID)) != 2 {
		t.Errorf("the first order is %+v", ready)
	}

	var list api.AlterationSetList
	path := "/v1/customers/" + first.CustomerID.String()
	b.as(service.RoleShop, "GET", path+"/alteration-sets?limit=1", nil).want(http.StatusOK, &list)
	if len(list.Items) != 1 || list.Items[0].ID != last.ID || list.NextCursor == "" {
		t.Errorf("list: %+v", list)
	}
	var x api.CustomerExport
	b.get(path+"/export").want(http.StatusOK, &x)
	if len(x.Alterations) != 2 || x.Alterations[1].ID != a.ID {
		t.Errorf("exported: %+v", x.Alterations)
	}
	if actions := b.audited(); !slices.Contains(actions, "customer.altered") {
		t.Errorf("audit: %v", actions)
	}
	b.post(path+"/erasure", nil).want(http.StatusOK, nil)
	b.get("/v1/alteration-sets/"+a.ID.String()).problem(http.StatusGone, api.ProblemCodeErased)
	b.post(path+"/alteration-sets", object{"unit": "cm", "alterations": object{}}).problem(http.StatusGone,
		api.ProblemCodeErased)
	if found := b.dump("shoulder_height", "toile fitted"); len(found) > 0 {
		t.Errorf("still in the database: %v", found)
	}
}

// A preview is altered as a draft of the customer would be, or as the request
// says.
func TestPreviewIsAltered(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	b.altered(o.CustomerID, object{"sway_back": 1.2})
	for _, tt := range []struct {
		name string
		body object
		want float64
	}{
		{"as stored", object{"measurement_set_id": o.MeasurementSetID}, -12},
		{"tried instead", object{"measurement_set_id": o.MeasurementSetID, "alterations": object{"sway_back": 2}}, -20},
		{"none instead", object{"measurement_set_id": o.MeasurementSetID, "alterations": object{}}, 0},
		{"nobody's", object{"measurements": figure()}, 0},
		{"nobody's, tried", object{"measurements": figure(), "alterations": object{"sway_back": 2}}, -20},
	} {
		var p api.Pattern
		b.post("/v1/drafts", tt.body.with("unit", "cm")).want(http.StatusOK, &p)
		if got := swayOf(p.Checks); got != tt.want {
			t.Errorf("%s: back length altered by %v mm, want %v", tt.name, got, tt.want)
		}
	}
}

func TestFaultyAlterationsAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	path := "/v1/customers/" + o.CustomerID.String() + "/alteration-sets"
	p := b.post(path, object{"unit": "inch", "alterations": object{"sway_back": 9, "sway_bak": 1,
		"left": object{"sway_back": 1}, "round_back": object{}, "right": 3}}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	got := map[string]api.FieldErrorCode{}
	for _, e := range p.Errors {
		got[e.Pointer] = e.Code
	}
	for pointer, code := range map[string]api.FieldErrorCode{
		"#/alterations/sway_back": "out_of_range", "#/alterations/sway_bak": "unknown_field",
		"#/alterations/left/sway_back": "unknown_field",
		"#/alterations/round_back":     "wrong_type", "#/alterations/right": "wrong_type",
	} {
		if got[pointer] != code {
			t.Errorf("%s: %q, want %q; all: %+v", pointer, got[pointer], code, p.Errors)
		}
	}
	b.post(path, object{"unit": "cm", "alterations": object{"sway_back": "1"}}).problem(http.StatusBadRequest,
		api.ProblemCodeInvalidRequest)
	b.post(path, object{"unit": "cm"}).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	b.as(service.RoleShop, "POST", path, object{"unit": "cm", "alterations": object{}}).problem(http.StatusForbidden,
		api.ProblemCodeForbidden)
	b.post("/v1/customers/"+uuid.NewString()+"/alteration-sets",
		object{"unit": "cm", "alterations": object{}}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	var list api.AlterationSetList
	b.get(path).want(http.StatusOK, &list)
	if len(list.Items) != 0 {
		t.Errorf("stored in spite of its faults: %+v", list.Items)
	}
}
