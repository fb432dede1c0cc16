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
	w.tryOn(o)
	w.sees("tried on")
	w.sees("under bust")
	w.sees("Sew a toile before cutting")
	w.until(`(document.querySelector("#worn img") || {}).naturalWidth > 0`)
	w.accessible()
	w.shots("worn")
	w.sees("Try it on a body again")
}

// A toile that hangs lower behind than in front comes to hang level: staff have it tried on, look
// at the alterations that cure it, apply them and try it on again.
func TestToileIsLevelled(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2066", "Mara Vell", func(n *orders.NewOrder) {
		n.Input.Block, n.Input.Style, n.Input.Fit = "", "torso-toile", ""
		n.Input.Measurements = map[string]float64{"height": 155.5, "bust_girth": 88.5, "waist_girth": 80.7, "hip_girth": 94.3,
			"neck_girth": 30.6, "neck_base_girth": 33.8, "shoulder_length": 12.2, "back_width": 28, "nape_to_waist": 39.1,
			"upper_arm_girth": 26.8, "wrist_girth": 15, "arm_length": 51.6, "waist_height": 90.4, "hip_height": 78,
			"nape_height": 130.5, "bust_height": 110.7} // line 978 of the survey
	})
	w := s.open().signIn(service.RoleStaff)
	w.tryOn(o)
	w.sees("lower behind than in front")
	w.sees("The alteration hem front of")
	w.sees("With these changes")
	w.accessible()
	w.picture("worn-cures")
	w.press("Look at these alterations")
	w.sees("Bring side seams")
	w.press("Show what would move")
	w.sees("What would move")
	w.picture("worn-alterations")
	w.press("Apply")
	w.sees("revision 2")
	s.await(o.ID)
	w.tryOn(o)
	w.sees("under bust")
	w.until(`!document.querySelector("#worn").innerText.includes("The hem is not level")`)
}

// tryOn has an order tried on from its page.
func (w *window) tryOn(o orders.Order) {
	w.Helper()
	w.visit("/workroom/orders/" + o.ID.String())
	w.press("Try it on a body")
}
