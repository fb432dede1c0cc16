package workroom_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/orders"
)

// Test orders have a page of their own. Each is shown as one, with nothing to press,
// and the queue has none of them.
func TestTestOrdersHaveTheirPage(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.place("SHOP-1", "Mara Vell", nil)
	_, secret, err := s.service.Access.CreateKey(t.Context(), service.Caller{Shop: s.shop.ID},
		access.NewKey{Name: "Staging", Role: service.RoleShop, Test: true})
	s.must(err)
	tester, err := s.service.Access.Authenticate(t.Context(), secret)
	s.must(err)
	staff := s.caller
	s.caller = tester
	o := s.place("TEST-HELD-1", "Ivo Brand", func(n *orders.NewOrder) {
		n.Customer = &customers.Details{Reference: "C-1", Name: "Ivo Brand"}
	})
	s.caller = staff

	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/orders?show=all")
	w.sees("SHOP-1")
	var shown string
	w.do(chromedp.Text("#queue", &shown))
	if want := "TEST-HELD-1"; strings.Contains(shown, want) {
		t.Errorf("the queue shows %s", want)
	}
	w.press("Test orders")
	w.sees("TEST-HELD-1")
	w.sees("Ivo Brand")
	w.accessible()
	w.picture("test-orders")
	w.press("TEST-HELD-1")
	w.sees("Made with a test key")
	w.accessible()
	w.picture("test-order")
	var pressable int
	buttons := `[...document.querySelectorAll("main form[method=post] button")].filter(b => b.offsetParent).length`
	w.do(chromedp.Evaluate(buttons, &pressable))
	if pressable > 0 {
		t.Errorf("%d buttons that change the order can be pressed", pressable)
	}
	// The page's requests would be refused, too.
	if _, err := s.service.Orders.Confirm(t.Context(), staff, o.ID, uuid.Nil, ""); err == nil {
		t.Error("a real key confirms a test order")
	}
	res, err := s.client(service.RoleStaff).Post(s.URL+"/workroom/orders/"+o.ID.String()+"/confirm",
		"application/x-www-form-urlencoded", nil)
	s.must(err)
	res.Body.Close()
	if res.StatusCode != http.StatusForbidden {
		t.Errorf("confirming answered %d", res.StatusCode)
	}
}
