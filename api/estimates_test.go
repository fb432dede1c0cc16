package api_test

import (
	"net/http"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/drafting/document"
)

// A draft says what it took for granted and what that may do, by the body and
// the alterations that it was made with.
func TestEstimatesOfADraft(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	path := "/v1/orders/" + o.ID.String() + "/estimates"
	read := func(query string) map[string]api.Estimate {
		t.Helper()
		var list api.EstimateList
		b.get(path+query).want(http.StatusOK, &list)
		byName := map[string]api.Estimate{}
		for i, e := range list.Items {
			if i > 0 && e.Move > list.Items[i-1].Move {
				t.Errorf("%s moves %g mm and stands after %g", e.Name, e.Move, list.Items[i-1].Move)
			}
			byName[e.Name] = e
		}
		return byName
	}
	first := read("")
	front := first["front_waist_length"]
	if front.Move < 5 || front.Piece != "front" || front.Spread <= 0 || front.Source == "" || front.Unit != "mm" {
		t.Errorf("front waist length: %+v", front)
	}
	if slope := first["shoulder_slope"]; slope.Unit != "degree" || slope.Value < 10 || slope.Value > 35 {
		t.Errorf("shoulder slope: %+v", slope)
	}
	if _, ok := first["bust_girth"]; ok {
		t.Error("what was given is among the estimates")
	}
	// The draft's own checks mark the same.
	var list api.DraftRevisionList
	b.get("/v1/orders/"+o.ID.String()+"/revisions").want(http.StatusOK, &list)
	for _, c := range list.Items[0].Checks {
		if e, ok := first[c.Name]; ok && (!c.Estimated || c.SpreadMm != document.Round(e.Spread) ||
			c.BodyMm != document.Round(e.Value)) {
			t.Errorf("check %+v of estimate %+v", c, e)
		}
	}

	// Once measured it is no longer an estimate; the former revision keeps its estimate.
	var set api.MeasurementSet
	b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets",
		object{"unit": "cm", "measurements": figure().with("front_waist_length", front.Value/10)}).want(http.StatusCreated,
		&set)
	b.altered(o.CustomerID, object{"sway_back": 1, "left": object{"shoulder_height": 1}})
	b.post("/v1/orders/"+o.ID.String()+"/revise", object{"reason": "measured",
		"measurement_set_id": set.ID}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Revision != 2 {
		t.Fatalf("order is %s: %+v", o.Status, o.Reasons)
	}
	second := read("")
	if _, ok := second["front_waist_length"]; ok {
		t.Error("what was measured is an estimate still")
	}
	if p := second["shoulder_to_elbow"].Piece; p != "left_sleeve" && p != "right_sleeve" {
		t.Errorf("the elbow moves the piece %q: the alterations part the sleeves", p)
	}
	if again := read("?revision=1")["front_waist_length"]; again.Move != front.Move || again.Value != front.Value {
		t.Errorf("of the first revision: %+v, was %+v", again, front)
	}
	b.get(path+"?revision=3").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.get("/v1/orders/"+uuid.NewString()+"/estimates").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.post("/v1/customers/"+o.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)
	b.get(path+"?revision=1").problem(http.StatusGone, api.ProblemCodeErased)
}
