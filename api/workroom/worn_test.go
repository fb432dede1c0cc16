package workroom_test

import (
	"testing"

	"tapeline/service"
	"tapeline/service/orders"
)

// A member of staff has a dress tried on from the order's page, and sees on it what
// was found.
func TestDressIsTriedOn(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2065", "Mara Vell", func(n *orders.NewOrder) {
		n.Input.Block, n.Input.Style, n.Input.Fit = "", "shift-dress", ""
		n.Input.Measurements["under_bust_girth"] = 79
	})
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders/" + o.ID.String())
	w.press("Try it on a body")
	w.sees("tried on")
	w.sees("under bust")
	w.sees("Sew a toile before cutting")
	w.until(`(document.querySelector("#worn img") || {}).naturalWidth > 0`)
	w.accessible()
	w.shots("worn")
	w.sees("Try it on a body again")
}
