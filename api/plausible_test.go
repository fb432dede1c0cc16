package api_test

import (
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
	"tapeline/service/app"
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
		if q := o.Reasons[1]; !strings.HasSuffix(q.Detail, "?") || !strings.HasPrefix(q.Pointer, "#/measurements/") ||
			q.Explanation != "exchanged" {
			t.Errorf("the question is %+v", q)
		}
		body := object{"reason": "the customer confirmed it by telephone"}
		if reference == "Q-corrected" {
			var set api.MeasurementSet
			b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets",
				object{"unit": "cm", "measurements": figure()}).want(http.StatusCreated, &set)
			body["measurement_set_id"] = set.ID
		}
		b.post("/v1/orders/"+o.ID.String()+"/confirm", body).want(http.StatusOK, nil)
		if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
			t.Errorf("%s confirmed is %s: %+v", reference, o.Status, o.Reasons)
		}
		var history api.OrderHistory
		b.get("/v1/orders/"+o.ID.String()+"/history").want(http.StatusOK, &history)
		i := slices.IndexFunc(history.Items, func(e api.OrderEvent) bool { return e.Event == "confirmed" })
		if i < 0 {
			t.Fatalf("the history is %+v", history.Items)
		}
		// Who said that the numbers are right, and which they were; other numbers were not confirmed.
		e := history.Items[i]
		if e.By == uuid.Nil || e.Reason != "the customer confirmed it by telephone" {
			t.Errorf("confirmed by %v: %q", e.By, e.Reason)
		}
		if said := slices.ContainsFunc(e.Confirmed, func(c api.ConfirmedNumber) bool {
			return c.Explanation == "exchanged" && (c.Pointer == "#/measurements/waist_girth" ||
				c.Pointer == "#/measurements/hip_girth")
		}); said != (reference == "Q-confirmed") {
			t.Errorf("%s: confirmed %+v", reference, e.Confirmed)
		}
	}
}

// A confirmation holds for the measurement set: the customer's next order with
// it is not questioned again, but a new set with the same numbers is.
func TestConfirmedSetIsNotAskedAboutAgain(t *testing.T) {
	t.Parallel()
	b := setup(t)
	m := figure()
	m["waist_girth"], m["hip_girth"] = m["hip_girth"], m["waist_girth"]
	order := func(body object) api.Order {
		t.Helper()
		var o api.Order
		b.order(body, uuid.NewString()).want(http.StatusCreated, &o)
		return b.settled(o.ID)
	}
	first := order(sampleOrder("LL-1").with("measurements", m))
	again := func(reference string) object {
		return sampleOrder(reference).with("customer", nil).with("customer_id", first.CustomerID)
	}
	with := func(reference string) api.Order {
		return order(again(reference).with("measurements", nil).with("measurement_set_id", first.MeasurementSetID))
	}
	if o := with("LL-2"); first.Status != api.OrderStatusHeld || o.Status != api.OrderStatusHeld {
		t.Fatalf("before the confirmation the orders are %s and %s", first.Status, o.Status)
	}
	b.post("/v1/orders/"+first.ID.String()+"/confirm", object{}).want(http.StatusOK, nil)
	b.settled(first.ID)
	if o := with("LL-3"); o.Status != api.OrderStatusReady {
		t.Errorf("the next order is %s: %+v", o.Status, o.Reasons)
	}
	b.as(service.RoleAdmin, "PUT", "/v1/measurements/assessment-levels", object{"refuse": 0.9}).want(http.StatusOK, nil)
	if o := with("LL-4"); o.Status != api.OrderStatusReady {
		t.Errorf("where such sets are refused the next order is %s: %+v", o.Status, o.Reasons)
	}
	b.order(again("LL-5").with("measurements", m), uuid.NewString()).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	b.as(service.RoleAdmin, "PUT", "/v1/measurements/assessment-levels", object{}).want(http.StatusOK, nil)
	if o := order(again("LL-6").with("measurements", m)); o.Status != api.OrderStatusHeld {
		t.Errorf("with a new set the order is %s", o.Status)
	}
}

// Holding an order and letting it go again confirms nothing: the numbers are
// still questioned.
func TestReleaseIsNoConfirmation(t *testing.T) {
	t.Parallel()
	b := setup(t, func(c *app.Config, _ *api.Config) { c.DraftWorkers = 1 })
	m := figure()
	m["waist_girth"], m["hip_girth"] = m["hip_girth"], m["waist_girth"]
	o := b.ready("LL-1")
	var set api.MeasurementSet
	b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets",
		object{"unit": "cm", "measurements": m}).want(http.StatusCreated, &set)
	path := "/v1/orders/" + o.ID.String()
	b.post(path+"/hold", object{"reason": "measured again"}).want(http.StatusOK, nil)
	b.post(path+"/confirm", object{"measurement_set_id": set.ID}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusHeld || o.Reasons[0].Code != "implausible" {
		t.Errorf("order is %s: %+v", o.Status, o.Reasons)
	}
}

// assess returns the findings of a set.
func (b *bench) assess(m object) api.MeasurementReport {
	b.Helper()
	var report api.MeasurementReport
	b.post("/v1/measurements/assess", object{"unit": "cm", "measurements": m}).want(http.StatusOK, &report)
	return report
}

// inInches is a set as one writes it who reads the other side of the tape.
func inInches(m object) object {
	c := object{}
	for name, v := range m {
		switch v := v.(type) {
		case int:
			c[name] = float64(v) / 2.54
		case float64:
			c[name] = v / 2.54
		}
	}
	return c
}

// The check asks without storing, says all that it knows, and refuses nothing
// for being unlikely.
func TestCheckAsks(t *testing.T) {
	t.Parallel()
	b := setup(t)
	if r := b.assess(figure()); !r.Acceptable || len(r.Findings) > 0 {
		t.Errorf("an ordinary set: %+v", r.Findings)
	}
	m := figure()
	m["hip_girth"] = 98 + 60
	r := b.assess(m)
	if len(r.Findings) != 1 || !r.Acceptable {
		t.Fatalf("findings: %+v", r.Findings)
	}
	f := r.Findings[0]
	if f.Level != api.FindingLevelConfirm || f.Code != "implausible" || f.Pointer != "#/measurements/hip_girth" ||
		f.Value != "158 cm" || !strings.HasSuffix(f.Detail, "?") {
		t.Errorf("finding: %+v", f)
	}
	if e := f.Expected; !(e.Min < 98 && 98 < e.Max && e.Min < e.Value && e.Value < e.Max) || e.Unit != "cm" {
		t.Errorf("expected %+v, was 98 cm", e)
	}
	if f.Chance < 0.9 || f.Chance > 1 || f.Explanation == "" {
		t.Errorf("%s with a chance of %g", f.Explanation, f.Chance)
	}
	for _, c := range r.Measurements {
		if c.Estimated != (c.Spread > 0) {
			t.Errorf("%s: estimated %v, spread %g %s", c.Name, c.Estimated, c.Spread, c.Unit)
		}
	}
	m["hip_girth"] = 89 // for 98
	m["upper_arm_girth"], m["wrist_girth"] = 16, 29
	exchanged := slices.IndexFunc(b.assess(m).Findings, func(f api.Finding) bool { return f.Explanation == "exchanged" })
	if exchanged < 0 {
		t.Fatalf("findings: %+v", b.assess(m).Findings)
	}
	if f := b.assess(m).Findings[exchanged]; f.Corrected["upper_arm_girth"] != 29 || f.Corrected["wrist_girth"] != 16 ||
		len(f.Related) != 1 {
		t.Errorf("put right to %v, with %v", f.Corrected, f.Related)
	}
}

// All numbers in inches are out of range one by one, and one question explains
// them all: in the check, for a customer's set, and for an order.
func TestInchesExplainNumbersOutOfRange(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.assess(inInches(figure()))
	i := slices.IndexFunc(r.Findings, func(f api.Finding) bool { return f.Explanation == "all_in_other_unit" })
	if i < 0 || r.Acceptable || r.Findings[0].Code != "out_of_range" {
		t.Fatalf("findings: %+v", r.Findings)
	}
	if f := r.Findings[i]; f.Level != api.FindingLevelRefuse || f.Pointer != "#/measurements" ||
		math.Abs(f.Corrected["bust_girth"]-92) > 0.05 || f.Expected.Unit != "" {
		t.Errorf("finding: %+v", f)
	}
	o := b.ready("LL-1")
	for _, p := range []api.Problem{
		b.post("/v1/customers/"+o.CustomerID.String()+"/measurement-sets",
			object{"unit": "cm", "measurements": inInches(figure())}).
			problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput),
		b.order(sampleOrder("LL-2").with("measurements", inInches(figure())), uuid.NewString()).
			problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput),
	} {
		if !slices.ContainsFunc(p.Errors, func(e api.FieldError) bool { return e.Explanation == "all_in_other_unit" }) ||
			!slices.ContainsFunc(p.Errors, func(e api.FieldError) bool { return e.Code == "out_of_range" }) {
			t.Errorf("errors: %+v", p.Errors)
		}
	}
}

// A shop sets the levels at which a number is questioned.
func TestCheckLevels(t *testing.T) {
	t.Parallel()
	b := setup(t)
	const path = "/v1/measurements/assessment-levels"
	var own, l api.AssessmentLevels
	b.as(service.RoleShop, "GET", path, nil).want(http.StatusOK, &own)
	if math.Abs(own.Confirm-1.0/7) > 1e-9 || math.Abs(own.Note-1.0/21) > 1e-9 || own.Refuse != 0 {
		t.Errorf("the program's own: %+v", own)
	}
	set := func(body object) reply { return b.as(service.RoleAdmin, "PUT", path, body) }
	m := figure()
	m["nape_to_waist"] = 50.5
	level := func() api.FindingLevel {
		t.Helper()
		r := b.assess(m)
		if len(r.Findings) == 0 {
			return ""
		}
		return r.Findings[0].Level
	}
	chance := b.assess(m).Findings[0].Chance
	if level() != api.FindingLevelConfirm || chance > 0.9 {
		t.Fatalf("the number is wrong by a chance of %g: %s", chance, level())
	}
	for _, tt := range []struct {
		body object
		want api.FindingLevel
	}{
		{object{"confirm": chance + 0.02}, api.FindingLevelNote},
		{object{"note": chance + 0.02, "confirm": chance + 0.02}, ""},
		{object{"confirm": chance - 0.02, "refuse": 0.99}, api.FindingLevelConfirm},
		{object{}, api.FindingLevelConfirm},
	} {
		set(tt.body).want(http.StatusOK, nil)
		if got := level(); got != tt.want {
			t.Errorf("%v: %q, want %q", tt.body, got, tt.want)
		}
	}

	// Refused, an order with such a number is not accepted, unless it was confirmed before.
	m["hip_girth"] = 158
	var o api.Order
	b.order(sampleOrder("LL-1").with("measurements", m), uuid.NewString()).want(http.StatusCreated, &o)
	if o = b.settled(o.ID); o.Status != api.OrderStatusHeld {
		t.Fatalf("order is %s", o.Status)
	}
	b.post("/v1/orders/"+o.ID.String()+"/confirm", object{}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		t.Fatalf("confirmed, the order is %s: %+v", o.Status, o.Reasons)
	}
	set(object{"refuse": 0.95}).want(http.StatusOK, &l)
	if l.Refuse != 0.95 || l.Confirm != own.Confirm {
		t.Errorf("levels: %+v", l)
	}
	p := b.order(sampleOrder("LL-2").with("measurements", m), uuid.NewString()).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	if e := p.Errors[0]; e.Code != "implausible" || e.Pointer != "#/measurements/hip_girth" || e.Explanation == "" {
		t.Errorf("errors: %+v", p.Errors)
	}
	b.order(sampleOrder("LL-3"), uuid.NewString()).want(http.StatusCreated, nil)
	b.post("/v1/orders/"+o.ID.String()+"/revise", object{"reason": "closer", "fit": "close"}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.Revision != 2 {
		t.Errorf("revised, the order is %s: %+v", o.Status, o.Reasons)
	}

	for body, want := range map[string]int{
		`{"note": 0.5, "confirm": 0.4}`: 422, `{"note": 0.5}`: 422, `{"confirm": 0.95, "refuse": 0.9}`: 422,
		`{"confirm": 0}`: 400, `{"confirm": 1}`: 400, `{"refuse": 0.5}`: 400, `{"confrim": 0.4}`: 400, `{"note": "1"}`: 400,
	} {
		if r := b.do(call{method: "PUT", path: path, key: b.keys[service.RoleAdmin], body: body}); r.status != want {
			t.Errorf("%s gave %d, want %d: %s", body, r.status, want, r.body)
		}
	}
	b.as(service.RoleStaff, "PUT", path, object{}).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	if actions := b.audited(); !slices.Contains(actions, "shop.check_levels_set") {
		t.Errorf("audit: %v", actions)
	}
}

// Absurd numbers are refused by the limits, and not assessed further.
func TestAbsurdNumbers(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, m := range []object{
		{"bust_girth": 1e300, "waist_girth": 1e-300, "hip_girth": 1e300, "height": 1e-300, "wrist_girth": 90},
		{"bust_girth": 0, "waist_girth": -5},
		{"bust_girth": 0.2, "waist_girth": 0.00002, "hip_girth": 2565, "height": 0.0127, "wrist_girth": 26.8},
		{"shoulder_slope": 21},
	} {
		r := b.assess(m)
		if _, ok := m["bust_girth"]; r.Acceptable == ok {
			t.Errorf("%v: acceptable %v, %+v", m, r.Acceptable, r.Findings)
		}
	}
}
