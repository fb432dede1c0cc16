package workroom_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
)

// Every page fits a phone: nothing has to be scrolled sideways.
func TestPagesOnAPhone(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2080", "Mara Vell", nil)
	held := s.place("THR-2081", "Ines Aldo", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	w := s.open()
	w.do(chromedp.EmulateViewport(390, 844))
	w.signIn(service.RoleAdmin)
	for _, path := range []string{"/orders", "/orders?show=all", "/orders/" + o.ID.String(), "/orders/" + held.ID.String(),
		"/orders/" + o.ID.String() + "/fitting", "/customers", "/customers/" + o.CustomerID.String(),
		"/customers/" + o.CustomerID.String() + "/measure", "/customers/" + o.CustomerID.String() + "/erase",
		"/refits", "/refits/new?garment=block:torso"} {
		w.visit("/workroom" + path)
		var wide string
		w.do(chromedp.Evaluate(`document.documentElement.scrollWidth <= innerWidth ? "" :
			[...document.querySelectorAll("main *, header *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1)
				.slice(0, 3).map(e => e.outerHTML.slice(0, 120)).join(" | ") || "wide"`, &wide))
		if wide != "" {
			t.Errorf("%s is wider than a phone: %s", path, wide)
		}
		w.picture("phone" + strings.NewReplacer("/", "-", "?", "-", o.ID.String(), "ID", held.ID.String(), "HELD",
			o.CustomerID.String(), "ID").Replace(path))
	}
}

// The keyboard alone finds an order, opens it and marks it as cut.
func TestOrderIsCutByKeyboard(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.place("THR-2082", "Mara Vell", nil)
	w := s.open().signIn(service.RoleStaff)
	// Only the key going down: chromedp's own event types the character as well, which
	// the page has refused by then.
	w.do(input.DispatchKeyEvent(input.KeyRawDown).WithKey("/"), chromedp.KeyEvent("2082\r"))
	w.sees("Orders with “2082”")
	w.tabTo("THR-2082")
	w.do(chromedp.KeyEvent("\r"))
	w.sees("Measured back")
	w.tabTo("Mark as cut")
	w.do(chromedp.KeyEvent("\r"))
	w.sees("Marked as cut.")
}

// tabTo moves the focus with the tab key to the button or link with the text.
func (w *window) tabTo(text string) {
	w.Helper()
	for range 60 {
		var focused string
		w.do(chromedp.KeyEvent("\t"), chromedp.Evaluate(`document.activeElement.innerText || ""`, &focused))
		if strings.TrimSpace(focused) == text {
			return
		}
	}
	w.Fatalf("the tab key does not reach %q", text)
}
