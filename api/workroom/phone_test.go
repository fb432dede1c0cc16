package workroom_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"tapeline/service"
)

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
