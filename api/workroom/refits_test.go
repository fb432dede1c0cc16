package workroom_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
)

// A cutter previews more ease over the orders of a block, sees what moves, chooses
// one order, and a second person who decides later sees that it is decided.
func TestRefitIsDecided(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	one, two := s.place("THR-2070", "Mara Vell", nil), s.place("THR-2071", "Ines Aldo", nil)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/refits")
	w.sees("No change was previewed yet.")
	w.accessible()
	w.press("Preview a change")
	w.do(chromedp.SetValue("select[name=garment]", "block:torso"))
	w.press("Go on")
	w.sees("Change the fit")
	w.accessible()
	w.do(chromedp.SetValue("select[name=from]", "regular"), chromedp.SetValue("select[name=to]", "regular"),
		chromedp.SetValue(`input[name="ease.bust_girth"]`, "9"),
		chromedp.SetValue("input[name=reason]", "tight at the fittings of March"))
	w.picture("refit-new")
	w.press("Preview it")
	w.sees("to be decided")
	w.sees("How far the orders move")
	w.accessible()
	w.picture("refit")
	second := s.open().signIn(service.RoleAdmin)
	second.visit("/workroom/refits")
	second.press("torso, regular fit: bust girth ease 9 cm")
	second.sees("Apply to none")
	w.do(chromedp.Click(`input[value="` + one.ID.String() + `"]`))
	w.press("Apply to the chosen")
	w.sees("revised")
	second.press("Apply to none")
	second.sees("Not done:")
	second.sees("revised")
	if o := s.await(one.ID); o.Revision != 2 {
		t.Errorf("the chosen order has revision %d, want 2", o.Revision)
	}
	if o := s.await(two.ID); o.Revision != 1 {
		t.Errorf("the other order has revision %d, want 1", o.Revision)
	}
}
