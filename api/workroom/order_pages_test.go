package workroom_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// A member of staff opens the lay plan for other cloth, and compares two revisions.
func TestLayPlanAndRevisions(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2071", "Mara Vell", nil)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders/" + o.ID.String())
	w.sees("more: seams and darts")
	w.press("Lay plan")
	w.sees("in a single layer")
	w.do(chromedp.WaitVisible("img.plan"))
	w.accessible()
	w.picture("layplan")
	w.do(chromedp.SetValue(`[name=cloth_width]`, "12"))
	w.press("Lay the pieces")
	w.do(chromedp.WaitVisible(".wrong"), chromedp.WaitNotPresent("img.plan"))

	_, err := s.service.Orders.Revise(t.Context(), s.caller, o.ID, orders.Change{Fit: "close", Reason: "closer"})
	s.must(err)
	s.await(o.ID)
	w.visit("/workroom/orders/" + o.ID.String())
	w.press("Compare them")
	w.sees("Revision 1 is dashed, revision 2 solid.")
	w.accessible()
	w.picture("compare")
}
