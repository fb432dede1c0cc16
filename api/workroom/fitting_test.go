package workroom_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// A member of staff sees what an alteration would move and applies it, in four acts
// from the order's page: open, type, show, apply.
func TestAlterationIsApplied(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2060", "Mara Vell", nil)
	s.place("THR-2061", "Mara Vell", nil)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders/" + o.ID.String())
	w.press("After a fitting")
	w.sees("Shorten the centre back")
	w.accessible()
	w.do(chromedp.SetValue(`input[name="a.sway_back"]`, "9"))
	w.press("Show what would move")
	w.sees("To be corrected")
	w.do(chromedp.SetValue(`input[name="a.sway_back"]`, "1,2"))
	w.press("Show what would move")
	w.sees("What would move")
	w.sees("At most 1.2 cm")
	w.accessible()
	w.picture("fitting")

	w.glance("workroom-fitting")
	w.press("Apply")
	w.sees("Applied. The order is being drafted again.")
	w.sees("revision 2")
	w.picture("applied")
	after := s.await(o.ID)
	if after.Revision != 2 || after.Status != orders.Ready || after.AlterationsID == nil {
		t.Errorf("after: %s, revision %d, alterations %v", after.Status, after.Revision, after.AlterationsID)
	}
	// The next fitting starts from what this one found.
	w.visit("/workroom/orders/" + o.ID.String() + "/fitting")
	var typed string
	w.do(chromedp.Value(`input[name="a.sway_back"]`, &typed))
	if typed != "1.2" {
		t.Errorf("the form starts with %q, want 1.2", typed)
	}
}
