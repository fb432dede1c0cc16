package workroom_test

import (
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tapeline/service"
	"tapeline/service/orders"
)

// inDays is a due date from today on.
func inDays(days int) time.Time {
	return time.Now().UTC().Truncate(24*time.Hour).AddDate(0, 0, days)
}

// The queue shows what is late first, and in words; orders are assigned together, and
// found by who makes them.
func TestQueueByDueDate(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.place("THR-3001", "Mara Vell", nil)
	s.place("THR-3002", "Ines Aldo", func(n *orders.NewOrder) { n.DueDate = inDays(9) })
	s.place("THR-3003", "Tove Lind", func(n *orders.NewOrder) { n.DueDate = inDays(-3) })
	s.place("THR-3004", "Rosa Quill", func(n *orders.NewOrder) { n.DueDate = inDays(0) })
	w := s.open().signIn(service.RoleStaff)
	w.sees("3 days late")
	w.sees(", today")
	w.sees("Late 1")
	var order string
	w.do(chromedp.Evaluate(`[...document.querySelectorAll("tbody th")].map(e => e.innerText).join(" ")`, &order))
	if order != "THR-3003 THR-3004 THR-3002 THR-3001" {
		t.Errorf("the queue is %s, want the late order first and the one without a due date last", order)
	}
	w.accessible()
	w.do(chromedp.Click(`input[aria-label="Choose THR-3001"]`), chromedp.Click(`input[aria-label="Choose THR-3003"]`),
		chromedp.SendKeys(`.together input`, "The staff"))
	w.press("Assign")
	w.sees("Assigned to The staff: THR-300")
	w.picture("queue-assigned")
	w.press("Mine 2")
	w.sees("THR-3001")
	w.press("Late 1")
	w.sees("THR-3003")
	w.press("Ready to cut 4")
	w.do(chromedp.SetValue(`input[name=due]`, inDays(1).Format(time.DateOnly)))
	w.press("Show")
	w.sees("Show all of “Ready to cut”")
	w.do(chromedp.Evaluate(`[...document.querySelectorAll("tbody th")].map(e => e.innerText).join(" ")`, &order))
	if order != "THR-3003 THR-3004" {
		t.Errorf("due until tomorrow are %s", order)
	}
	w.accessible()
}

// Two people have an order open. What one saves the other sees at once; what the other
// is typing stays, and saving it tells of the change.
func TestOrderIsAssignedByTwo(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-3010", "Mara Vell", nil)
	one, two := s.open().signIn(service.RoleStaff), s.open().signIn(service.RoleAdmin)
	for _, w := range []*window{one, two} {
		w.visit("/workroom/orders/" + o.ID.String())
		w.sees("Due, and who makes it")
	}
	two.do(chromedp.SendKeys(`#note`, "Ivory thread"), chromedp.SendKeys(`#note`, kb.Tab))
	one.do(chromedp.SetValue(`input[name=due_date]`, inDays(-1).Format(time.DateOnly)),
		chromedp.SetValue(`input[name=assignee]`, "Ines"))
	one.press("Save")
	one.sees("a day late · made by Ines")
	one.accessible()
	one.picture("order-assigned")
	two.sees("Something changed meanwhile")
	two.do(chromedp.SetValue(`input[name=assignee]`, "Tove"))
	two.press("Save")
	two.sees("Somebody else changed the order meanwhile: the assignee is now Ines.")
	two.accessible()
	two.picture("order-conflict")
	two.press("Save")
	two.sees("made by Tove")
	one.sees("made by Tove") // without loading the page
	o, err := s.service.Orders.Get(t.Context(), s.caller, o.ID)
	s.must(err)
	if o.Assignee != "Tove" || o.Note != "Ivory thread" || !o.DueDate.Equal(inDays(-1)) {
		t.Errorf("the order is %+v", o.Assignment)
	}
	one.do(chromedp.Poll(`document.getElementById("note").value === "Ivory thread"`, nil))
	one.press("Look at the making sheet")
	one.do(chromedp.ScrollIntoView(`.making img`),
		chromedp.Poll(`document.querySelector(".making img").naturalWidth > 0`, nil))
	one.picture("order-making")
	one.do(chromedp.EmulateViewport(390, 844))
	one.visit("/workroom/orders/" + o.ID.String())
	one.picture("order-assigned-phone")
	one.visit("/workroom/orders")
	one.picture("queue-assigned-phone")
}

// The forms work without scripts, and say what is wrong with what was typed.
func TestAssignWithoutScripts(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-3020", "Mara Vell", nil)
	client := s.client(service.RoleStaff)
	page := s.URL + "/workroom/orders/" + o.ID.String()
	for _, tt := range []struct {
		form   url.Values
		status int
		want   string
	}{
		{url.Values{"due_date": {"2026-02-30"}, "assignee": {`<b>Ines</b>`}, "note": {"x"}},
			http.StatusUnprocessableEntity, "A day such as 2026-03-14"},
		{url.Values{"due_date": {""}, "assignee": {strings.Repeat("x", 121)}, "note": {"x"}},
			http.StatusUnprocessableEntity, "One line of 0 to 120 characters"},
		{url.Values{"assignee": {"In\x00es"}}, http.StatusBadRequest, "no text may have"},
		{url.Values{"due_date": {"2026-03-01"}, "assignee": {`<b>Ines</b>`}, "note": {"Line\r\nand line"}},
			http.StatusOK, "made by &lt;b&gt;Ines&lt;/b&gt;"},
	} {
		answer, err := client.PostForm(page+"/assign", tt.form)
		s.must(err)
		text := s.read(answer)
		if answer.StatusCode != tt.status || !strings.Contains(text, tt.want) || strings.Contains(text, "<b>Ines") {
			t.Errorf("%v: status %d, want %d and %q", tt.form, answer.StatusCode, tt.status, tt.want)
		}
	}
	o, err := s.service.Orders.Get(t.Context(), s.caller, o.ID)
	s.must(err)
	if o.Note != "Line\nand line" {
		t.Errorf("the note is %q", o.Note)
	}
	for _, path := range []string{"/workroom/orders?q=%00", "/workroom/orders?assignee=%ff", "/workroom/styles/%00"} {
		answer, err := client.Get(s.URL + path)
		s.must(err)
		if s.read(answer); answer.StatusCode != http.StatusBadRequest {
			t.Errorf("%s: status %d, want 400", path, answer.StatusCode)
		}
	}
	answer, err := client.PostForm(s.URL+"/workroom/customers/"+o.CustomerID.String()+"/details",
		url.Values{"reference": {"C-1"}, "name": {"Mara\u202eVell"}})
	s.must(err)
	if text := s.read(answer); answer.StatusCode != http.StatusUnprocessableEntity ||
		!strings.Contains(text, "One line of 0 to 120 characters") {
		t.Errorf("a name that reorders text: status %d", answer.StatusCode)
	}
}

// read reads an answer to its end.
func (s *site) read(answer *http.Response) string {
	s.Helper()
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	s.must(err)
	return string(body)
}
