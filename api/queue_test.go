package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"tapeline/api"
	"tapeline/service"
)

// Staff say by when an order is due, who makes it and what to note; everybody finds it
// by that.
func TestAssignOrder(t *testing.T) {
	t.Parallel()
	b := setup(t)
	yesterday := time.Now().UTC().AddDate(0, 0, -1).Format(time.DateOnly)
	tomorrow := time.Now().UTC().AddDate(0, 0, 1).Format(time.DateOnly)
	var late, soon api.Order
	b.order(sampleOrder("LL-1").with("due_date", yesterday), "1").want(http.StatusCreated, &late)
	b.order(sampleOrder("LL-2"), "2").want(http.StatusCreated, &soon)
	b.settled(late.ID)
	b.settled(soon.ID)
	path := "/v1/orders/" + soon.ID.String()
	b.as(service.RoleShop, "PATCH", path, object{"note": "x"}).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	b.as(service.RoleStaff, "PATCH", path, object{"due_date": tomorrow, "assignee": "staff", "note": "Ivory thread"}).
		want(http.StatusOK, &soon)
	if soon.DueDate.Format(time.DateOnly) != tomorrow || soon.Assignee != "staff" || soon.Note != "Ivory thread" {
		t.Errorf("assigned: %+v", soon)
	}
	var x api.CustomerExport
	b.get("/v1/customers/"+soon.CustomerID.String()+"/export").want(http.StatusOK, &x)
	if got := x.Orders[0].Order; got.Note != "Ivory thread" || got.Assignee != "staff" || got.DueDate.IsZero() {
		t.Errorf("exported: %+v", got)
	}
	// A field that is left out stays; an empty one is removed. The same again is no event.
	for range 2 {
		b.as(service.RoleStaff, "PATCH", path, object{"note": ""}).want(http.StatusOK, &soon)
	}
	if soon.DueDate.IsZero() || soon.Assignee != "staff" || soon.Note != "" {
		t.Errorf("without its note: %+v", soon)
	}
	if got := b.history(soon.ID); !slices.Equal(got, []string{"received", "ready", "updated", "updated"}) {
		t.Errorf("history: %v", got)
	}
	if n := count(b.audited(), "order.updated"); n != 2 {
		t.Errorf("%d entries of order.updated in the audit trail, want 2", n)
	}
	if found := b.dump("Ivory"); len(found) > 0 {
		t.Errorf("a note that was removed is kept: %v", found)
	}
	today := time.Now().UTC().Format(time.DateOnly)
	for query, want := range map[string]string{
		"late=true": "LL-1", "assignee=staff": "LL-2", "assignee=nobody": "", "due_from=" + today: "LL-2",
		"due_before=" + today: "LL-1", "sort=due": "LL-1 LL-2", "sort=newest": "LL-2 LL-1", "sort=due&limit=1": "LL-1",
		"updated_from=" + today: "LL-2 LL-1", "updated_from=" + tomorrow: "", "created_before=" + today: "",
		"created_from=" + today: "LL-2 LL-1", "created_from=" + today + "T00:00:00Z": "LL-2 LL-1",
	} {
		var page api.OrderList
		b.get("/v1/orders?"+query).want(http.StatusOK, &page)
		var got []string
		for _, o := range page.Items {
			got = append(got, o.Reference)
		}
		if list := strings.Join(got, " "); list != want {
			t.Errorf("%s gives %q, want %q", query, list, want)
		}
		if page.NextCursor != "" {
			b.get("/v1/orders?"+query+"&cursor="+page.NextCursor).want(http.StatusOK, &page)
			if len(page.Items) != 1 || page.Items[0].Reference != "LL-2" {
				t.Errorf("the next page of %s is %+v", query, page.Items)
			}
		}
	}
	var counts api.OrderCounts
	b.as(service.RoleStaff, "GET", "/v1/orders/counts", nil).want(http.StatusOK, &counts)
	if counts.Total != 2 || counts.Late != 1 || counts.Mine != 1 || counts.ToCut != 2 || counts.Status.Ready != 2 ||
		counts.Progress.Uncut != 2 {
		t.Errorf("counts: %+v", counts)
	}
	b.post("/v1/orders/"+late.ID.String()+"/progress", object{"progress": "shipped"}).want(http.StatusOK, nil)
	b.get("/v1/orders/counts").want(http.StatusOK, &counts)
	if counts.Late != 0 || counts.Mine != 0 || counts.Progress.Shipped != 1 {
		t.Errorf("after shipping, for another key: %+v", counts)
	}
	b.do(call{method: "PATCH", path: path, key: b.otherShop(service.RoleStaff), body: object{"note": "x"}}).
		problem(http.StatusNotFound, api.ProblemCodeNotFound)
}

func count(list []string, word string) (n int) {
	for _, w := range list {
		if w == word {
			n++
		}
	}
	return n
}

func TestAssignmentsAreChecked(t *testing.T) {
	t.Parallel()
	b := setup(t)
	path := "/v1/orders/" + b.placed("LL-1").ID.String()
	p := b.as(service.RoleStaff, "PATCH", path, object{"due_date": "2026-02-30"}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/due_date" {
		t.Errorf("a day that there is not: %+v", p.Errors)
	}
	p = b.as(service.RoleStaff, "PATCH", path, object{"assignee": "Ines\nNotes", "note": "\x00", "due_date": "soon"}).
		problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	if len(p.Errors) != 3 {
		t.Errorf("three faults: %+v", p.Errors)
	}
	for _, query := range []string{"created_from=2026-02-30", "updated_from=2026-02-01T25:00:00Z", "due_from=soon",
		"sort=oldest", "late=yes"} {
		p := b.get("/v1/orders?"+query).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
		if name, _, _ := strings.Cut(query, "="); len(p.Errors) != 1 || p.Errors[0].Parameter != name {
			t.Errorf("%s: %+v", query, p.Errors)
		}
	}
}

// A day is the shop's: an order due today where it is still yesterday in UTC is not late.
func TestLateIsByTheShopsDay(t *testing.T) {
	t.Parallel()
	b := setup(t)
	// Two zones whose days differ always: one is 26 hours ahead of the other.
	east, west := "Pacific/Kiritimati", "Etc/GMT+12"
	zone, err := time.LoadLocation(west)
	b.must(err)
	today := time.Now().In(zone).Format(time.DateOnly)
	b.order(sampleOrder("LL-1").with("due_date", today), "1").want(http.StatusCreated, nil)
	for name, late := range map[string]int{west: 0, east: 1} {
		var set api.Settings
		b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"time_zone": name}).want(http.StatusOK, &set)
		var counts api.OrderCounts
		b.get("/v1/orders/counts").want(http.StatusOK, &counts)
		if set.TimeZone != name || counts.Late != late {
			t.Errorf("in %s %d orders are late, want %d", set.TimeZone, counts.Late, late)
		}
	}
}

func TestSettings(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var set api.Settings
	b.get("/v1/settings").want(http.StatusOK, &set)
	if set != (api.Settings{TimeZone: "UTC", HoldOnFitting: api.HoldOnFittingOff}) {
		t.Errorf("at first: %+v", set)
	}
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"retention_days": 400}).want(http.StatusOK, &set)
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"time_zone": "Europe/Lisbon"}).want(http.StatusOK, &set)
	if set != (api.Settings{TimeZone: "Europe/Lisbon", RetentionDays: 400, HoldOnFitting: api.HoldOnFittingOff}) {
		t.Errorf("set: %+v", set)
	}
	b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"retention_days": 0}).want(http.StatusOK, &set)
	if set.RetentionDays != 0 {
		t.Errorf("kept until erased: %+v", set)
	}
	p := b.as(service.RoleAdmin, "PATCH", "/v1/settings", object{"time_zone": "Local"}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/time_zone" {
		t.Errorf("the machine's own zone: %+v", p.Errors)
	}
	b.as(service.RoleStaff, "GET", "/v1/settings", nil).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	if got := b.audited(); count(got, "shop.retention_set") != 2 || count(got, "shop.time_zone_set") != 1 {
		t.Errorf("audit trail: %v", got)
	}
}

// Every change of progress is sent, a correction too, with what was before.
func TestProgressIsSent(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	hook := b.listen("order.cut", "order.shipped", "order.uncut")
	var want []string
	for _, step := range []string{"cut", "shipped", "cut", "uncut", "shipped"} {
		for range 2 { // the second time nothing changes
			b.post("/v1/orders/"+o.ID.String()+"/progress", object{"progress": step}).want(http.StatusOK, nil)
		}
		want = append(want, "order."+step)
		hook.awaitCount(b, len(want))
	}
	previous := "uncut"
	for i, d := range hook.awaitCount(b, len(want)) {
		data := d.event.Data
		if string(d.event.Type) != want[i] || "order."+string(data.Progress) != want[i] ||
			string(data.PreviousProgress) != previous || data.OrderID != o.ID || data.Status != api.OrderStatusReady {
			t.Errorf("message %d: %+v, want %s after %s", i, d.event, want[i], previous)
		}
		previous = string(data.Progress)
	}
	if n := len(hook.ids()); n != len(want) {
		t.Errorf("%d messages, want %d", n, len(want))
	}
}

// One number is corrected; the other numbers are those of the latest set.
func TestCorrectMeasurements(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	path := "/v1/customers/" + o.CustomerID.String() + "/measurements"
	var set api.MeasurementSet
	b.as(service.RoleShop, "PATCH", path, object{"unit": "cm", "measurements": object{"arm_length": 60}}).
		want(http.StatusCreated, &set)
	if set.Version != 2 || set.Measurements["arm_length"] != 60 || set.Measurements["bust_girth"] != 92 ||
		set.Unit != "cm" {
		t.Errorf("corrected: %+v", set)
	}
	b.as(service.RoleStaff, "PATCH", path, object{"unit": "inch", "measurements": object{"wrist_girth": 6.5}}).
		want(http.StatusCreated, &set)
	if got := set.Measurements["wrist_girth"]; set.Version != 3 || set.Unit != "cm" || got < 16.509 || got > 16.511 ||
		set.Measurements["arm_length"] != 60 {
		t.Errorf("corrected in inches: %+v", set)
	}
	for name, value := range map[string]float64{"arm_length": 600, "arm_longness": 60} {
		p := b.as(service.RoleShop, "PATCH", path, object{"unit": "cm", "measurements": object{name: value}}).
			problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
		if p.Errors[0].Pointer != "#/measurements/"+name {
			t.Errorf("%s: %+v", name, p.Errors)
		}
	}
	var c api.Customer
	b.post("/v1/customers", object{"reference": "C-NEW"}).want(http.StatusCreated, &c)
	b.as(service.RoleShop, "PATCH", "/v1/customers/"+c.ID.String()+"/measurements",
		object{"unit": "cm", "measurements": object{"arm_length": 60}}).
		problem(http.StatusConflict, api.ProblemCodeWrongState)
	// Of corrections at once each builds on the one before.
	done := make(chan struct{})
	names := []string{"hip_girth", "waist_girth", "back_width", "upper_arm_girth"}
	for _, name := range names {
		go func() {
			defer func() { done <- struct{}{} }()
			b.as(service.RoleShop, "PATCH", path, object{"unit": "cm",
				"measurements": object{name: figure()[name].(int) + 1}}).want(http.StatusCreated, nil)
		}()
	}
	for range names {
		<-done
	}
	var list api.MeasurementSetList
	b.get("/v1/customers/"+o.CustomerID.String()+"/measurement-sets?limit=1").want(http.StatusOK, &list)
	for _, name := range names {
		if got := list.Items[0].Measurements[name]; got != float64(figure()[name].(int)+1) {
			t.Errorf("%s is %v in version %d, want the correction", name, got, list.Items[0].Version)
		}
	}
}
