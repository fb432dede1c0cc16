package workroom_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/refits"
)

// A member of staff previews a looser fit, has an order tried on in both drafts, and
// sees on the refit's page what becomes of its findings, on a phone as well.
func TestRefitIsTriedOn(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2091", "Mara Vell", func(n *orders.NewOrder) {
		n.Input.Block, n.Input.Style, n.Input.Fit = "", "shift-dress", ""
		n.Input.Measurements["under_bust_girth"] = 79
	})
	if o = s.await(o.ID); o.Status != orders.Ready {
		t.Fatalf("order: %s", o.Status)
	}
	refit, err := s.service.Refits.Create(t.Context(), s.caller, refits.Input{Paper: "a4", Reason: "tight in March",
		Change: refits.Change{Fit: &refits.FitChange{Style: "shift-dress", From: "regular", To: "loose"}}})
	s.must(err)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/refits/" + refit.ID.String())
	w.sees("to be decided")
	w.sees("What it does to the fit")
	w.accessible()
	w.press("Try them on")
	w.sees("Orders are being tried on.")
	w.sees("limit")
	w.sees("Try them on again")
	w.do(chromedp.Click("#refit-worn summary"))
	w.until(`(document.querySelector("#refit-worn img") || {}).naturalWidth > 0`)
	w.sees("Ease as worn")
	w.accessible()
	w.shots("refit-worn")
	w.accessible()
}
