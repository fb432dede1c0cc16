package workroom_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// A member of staff measures a customer again: the figure shows where, the check
// asks while the number is typed, and the order that waited goes on.
func TestCustomerIsMeasuredAgain(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	held := s.place("THR-2050", "Mara Vell", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/customers?q=vel")
	w.sees("Mara Vell")
	w.accessible()
	w.press("Mara Vell")
	w.sees("Alterations")
	w.accessible()
	w.picture("customer")
	w.press("Measure again")
	w.sees("Orders that wait")
	w.do(chromedp.Focus("#m-wrist_girth"), chromedp.WaitReady(`[data-tape=wrist_girth].on`))
	w.accessible()
	w.do(chromedp.SetValue("#m-wrist_girth", "15,5"),
		chromedp.Evaluate(`document.getElementById("m-wrist_girth").dispatchEvent(new Event("input", {bubbles: true}))`, nil))
	w.sees("The numbers go together.")
	w.picture("measure")
	w.press("Save as version 2")
	w.sees("Saved as version 2.")
	w.sees("+3.5")
	w.picture("compared")
	if o := s.await(held.ID); o.Status != orders.Ready {
		t.Errorf("the order is %s, want ready", o.Status)
	}
}

// What is typed wrong is said, and nothing that was typed is lost.
func TestMeasurementsTypedWrong(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2051", `<b>"Ines" & Co`, nil)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/customers/" + o.CustomerID.String() + "/measure")
	w.sees(`<b>"Ines" & Co`)
	w.do(chromedp.SetValue("#m-waist_girth", "wide"), chromedp.SetValue("#m-arm_length", "5800"))
	w.press("Save as version 2")
	w.sees("a number such as 74")
	var kept string
	w.do(chromedp.Value("#m-waist_girth", &kept))
	if kept != "wide" {
		t.Errorf("the waist is %q after the refusal, want what was typed", kept)
	}
	w.do(chromedp.SetValue("#m-waist_girth", "74"))
	w.press("Save as version 2")
	w.until(`!document.body.innerText.includes("a number such as 74")`) // the page that it answers
	w.sees("To be corrected")
	w.accessible()
}

// An admin erases a customer after typing the reference; staff are not offered it.
func TestCustomerIsErased(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2052", "Mara Vell", nil)
	here := "/workroom/customers/" + o.CustomerID.String()
	staff := s.open().signIn(service.RoleStaff)
	staff.visit(here + "/erase")
	staff.sees("For admins")
	w := s.open().signIn(service.RoleAdmin)
	w.visit(here)
	w.press("Erase their data")
	w.sees("every open order is cancelled")
	w.do(chromedp.SetValue("input[name=reference]", "C-somebody"))
	w.press("Erase for good")
	w.sees("Nothing was erased")
	w.accessible()
	w.do(chromedp.SetValue("input[name=reference]", "C-Mara Vell"))
	w.press("Erase for good")
	w.sees("1 orders were cancelled")
	// The page of the order that was open says what happened.
	w.visit("/workroom/orders/" + o.ID.String())
	w.sees("cancelled")
	var shown string
	w.do(chromedp.Text("main", &shown))
	if strings.Contains(shown, "Mara") {
		t.Error("the order's page still names the customer")
	}
}
