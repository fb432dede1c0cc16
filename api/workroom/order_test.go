package workroom_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// A member of staff finds an order that is ready, looks at its pattern, marks it as
// cut, and sees it move in the queue.
func TestOrderIsCut(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.place("THR-2047", "Mara Vell", func(n *orders.NewOrder) { n.Input.Block, n.Input.Style = "", "shift-dress" })
	w := s.open().signIn(service.RoleStaff)
	w.sees("THR-2047")
	w.accessible()
	w.picture("orders")
	w.press("THR-2047")
	w.sees("Measured back")
	w.sees("Guessed, and how much it matters")
	w.do(chromedp.WaitVisible(".picture svg"))
	w.sees("if it is off by that")
	w.accessible()
	w.picture("order")
	w.glance("workroom-order")
	w.press("Mark as cut")
	w.sees("Marked as cut.")
	w.visit("/workroom/orders?show=cut")
	w.sees("THR-2047")
}

// A held order's question is answered in two clicks: the order, and the answer.
func TestQuestionIsAnswered(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2048", "Ines Aldo", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	if o.Status != orders.Held {
		t.Fatalf("the order is %s, want held", o.Status)
	}
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders?show=asks")
	w.picture("held")
	w.press("THR-2048")
	w.sees("One question before cutting")
	w.accessible()
	w.picture("question")
	w.glance("workroom-question")
	w.press("12 cm is right")
	w.sees("Confirmed.")
	w.do(chromedp.WaitVisible(".picture svg")) // drafted meanwhile: the page follows
	if o := s.await(o.ID); o.Status != orders.Ready {
		t.Errorf("the order is %s, want ready", o.Status)
	}
}
