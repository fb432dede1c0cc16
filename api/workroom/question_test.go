package workroom_test

import (
	"context"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// Staff asks the customer, who corrects the number on a phone; the order goes on,
// and the history says who answered.
func TestCustomerAnswersQuestion(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2052", "Ines Aldo", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders/" + o.ID.String())
	w.press("Ask the customer")
	w.sees("Send this address to the customer")
	var notice string
	w.do(chromedp.Text(".notice", &notice))
	address := regexp.MustCompile(`https?://\S+`).FindString(notice)
	phone := s.open()
	phone.do(chromedp.EmulateViewport(390, 844))
	phone.visit(s.signedPath(address))
	phone.sees("round the wrist over the wrist bone")
	phone.fits("the question")
	phone.accessible()
	phone.picture("ask-phone")
	phone.do(chromedp.Click(`input[value="other"]`), chromedp.SendKeys(`input[name="number0"]`, "6,3"),
		chromedp.SetValue(`select[name="unit0"]`, "inch"))
	phone.press("Send the answer")
	phone.sees("Thank you")
	phone.visit(s.signedPath(address))
	phone.sees("You have answered")
	o = s.await(o.ID)
	set, err := s.service.Customers.Set(t.Context(), s.caller, o.MeasurementSetID)
	s.must(err)
	if got := set.Values["wrist_girth"]; o.Status != orders.Ready || got < 16.001 || got > 16.003 {
		t.Errorf("the order is %s with a wrist of %g cm, want ready with 16.002", o.Status, got)
	}
	w.visit("/workroom/orders/" + o.ID.String())
	w.sees("answered by the customer: wrist girth is 16.002 cm")
}

// answer posts a form to a question and returns the page.
func (s *site) answer(address string, form url.Values) (status int, page string) {
	s.Helper()
	ctx, cancel := context.WithTimeout(s.Context(), 10*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, s.URL+s.signedPath(address),
		strings.NewReader(form.Encode()))
	s.must(err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	res, err := http.DefaultClient.Do(r)
	s.must(err)
	defer res.Body.Close()
	var body strings.Builder
	_, err = io.Copy(&body, res.Body)
	s.must(err)
	return res.StatusCode, body.String()
}

// Each answer has its effect, and only the first.
func TestAnswers(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	ask := func(reference string) (orders.Order, string) {
		o := s.place(reference, reference, func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
		address, _, err := s.service.Orders.Ask(t.Context(), s.caller, o.ID, time.Hour)
		s.must(err)
		return o, address
	}
	right, typed := url.Values{"answer0": {"right"}}, func(v string) url.Values {
		return url.Values{"answer0": {"other"}, "number0": {v}, "unit0": {"cm"}}
	}
	o, address := ask("THR-1")
	for _, wrong := range []struct {
		form url.Values
		says string
	}{{url.Values{}, "Choose an answer."}, {typed("wide"), "Write a number"}, {typed("500"), "Not possible"},
		{typed("NaN"), "Write a number"}} {
		if status, page := s.answer(address, wrong.form); status != http.StatusUnprocessableEntity ||
			!strings.Contains(page, wrong.says) {
			t.Errorf("%v: %d, want %q on\n%s", wrong.form, status, wrong.says, page)
		}
	}
	if status, page := s.answer(address+"x", right); status != http.StatusUnauthorized {
		t.Errorf("forged: %d\n%s", status, page)
	}
	if status, page := s.answer(address, right); status != http.StatusOK {
		t.Errorf("right: %d\n%s", status, page)
	}
	if status, _ := s.answer(address, typed("16")); status != http.StatusGone {
		t.Errorf("a second answer: %d", status)
	}
	if o = s.await(o.ID); o.Status != orders.Ready {
		t.Errorf("after “it is right” the order is %s", o.Status)
	}
	events, err := s.service.Orders.History(t.Context(), s.caller, o.ID)
	s.must(err)
	if e := events[len(events)-2]; e.Event != "answered" || e.Actor != nil || len(e.Confirmed) != 1 {
		t.Errorf("history: %+v", events)
	}

	o, address = ask("THR-2") // a correction that does not fit either
	if status, page := s.answer(address, typed("11")); status != http.StatusOK {
		t.Errorf("another doubtful number: %d\n%s", status, page)
	}
	if o = s.await(o.ID); o.Status != orders.Held || o.Faults[0].Value != "11 cm" {
		t.Errorf("after a doubtful correction the order is %s: %+v", o.Status, o.Faults)
	}

	o, address = ask("THR-3") // settled by the shop meanwhile
	_, err = s.service.Orders.Confirm(t.Context(), s.caller, o.ID, [16]byte{}, "telephone")
	s.must(err)
	if status, page := s.answer(address, right); status != http.StatusGone || !strings.Contains(page, "settled") {
		t.Errorf("settled: %d\n%s", status, page)
	}
	if _, _, err := s.service.Orders.Ask(t.Context(), s.caller, o.ID, time.Hour); err == nil {
		t.Error("the customer of an order that is not held was asked")
	}
}
