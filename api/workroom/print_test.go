package workroom_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// A member of staff prints the orders that are ready, each with its job ticket, and
// opens one of them by the address that its ticket's code holds.
func TestOrdersArePrinted(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	first := s.place("THR-2051", "Mara Vell", nil)
	s.place("THR-2052 <script>alert(1)</script>", "Ines Aldo", nil)
	s.place("THR-2053", "Ada Brook", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders?show=all")
	w.do(chromedp.Click(`input[data-all]`))
	w.press("Print with job tickets")
	w.sees("Print 2 orders")
	w.sees("THR-2053 is held 1 question")
	w.accessible()
	w.picture("print")
	var got string
	w.do(chromedp.Evaluate(`(async () => {
		const form = document.querySelector("form[action$=file]");
		const answer = await fetch(form.action + "?" + new URLSearchParams(new FormData(form)));
		return [answer.status, answer.headers.get("content-type"),
			(await answer.text()).split("/Type /Page\n").length].join(" ");
	})()`, &got, func(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }))
	if !strings.HasPrefix(got, "200 application/pdf ") {
		t.Errorf("the file is %s", got)
	}

	w.do(chromedp.SetValue("#find", "http://workroom.example.org/workroom/orders/"+strings.ToUpper(first.ID.String())),
		chromedp.Submit("#find"))
	w.sees("Measured back")
	w.sees("THR-2051")

	// Held meanwhile by somebody else: the page says which order it is.
	w.visit("/workroom/orders/print?order=" + first.ID.String())
	w.sees("Print 1 order")
	_, err := s.service.Orders.Hold(t.Context(), s.caller, first.ID, "the cloth is missing")
	s.must(err)
	w.press("Print 1 order")
	w.sees("the order is held")
	w.sees("None of these orders can be printed.")
}

// Several orders are marked at once. The message names them, and those that could
// not be marked.
func TestSeveralAreMarked(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.place("THR-2061", "Mara Vell", nil)
	s.place("THR-2062", "Ines Aldo", nil)
	s.place("THR-2063", "Ada Brook", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders?show=all")
	w.do(chromedp.Click(`input[data-all]`))
	w.press("Mark as cut")
	w.sees("Marked as cut: THR-2062, THR-2061. Not marked as cut: THR-2063 (")
}
