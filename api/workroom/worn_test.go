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

// A toile that hangs lower at the side than behind comes to hang level: staff have it tried on, look
// at the alterations that cure it, apply them and try it on again.
func TestToileIsLevelled(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2066", "Mara Vell", func(n *orders.NewOrder) {
		n.Input.Block, n.Input.Style, n.Input.Fit = "", "torso-toile", ""
		n.Input.Measurements = map[string]float64{"height": 160.4, "bust_girth": 88, "waist_girth": 86.1, "hip_girth": 101,
			"neck_girth": 33, "neck_base_girth": 38, "shoulder_length": 14.6, "back_width": 33.2, "nape_to_waist": 41.5,
			"upper_arm_girth": 32.1, "wrist_girth": 16.5, "arm_length": 54, "waist_height": 95, "hip_height": 84.5,
			"nape_height": 136.9, "bust_height": 112.5} // line 101 of the survey
	})
	w := s.open().signIn(service.RoleStaff)
	w.tryOn(o)
	w.sees("lower at the side than behind")
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
