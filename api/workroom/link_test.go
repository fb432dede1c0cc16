package workroom_test

import (
	"net/url"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tapeline/service/patterns"
)

// signedPath returns the path of a signed address on the site.
func (s *site) signedPath(address string) string {
	s.Helper()
	u, err := url.Parse(address)
	s.must(err)
	return u.RequestURI()
}

// A customer opens the link that the shop sent, on a phone and on a desk.
func TestCustomerOpensLink(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place(`THR-2051 <script>alert("x")</script>`, "Mara Vell", nil)
	_, address, err := s.service.Patterns.CreateLink(t.Context(), s.caller, patterns.NewLink{Order: o.ID, Format: "pdf",
		Options: patterns.Options{Paper: "letter"}, Lasts: time.Hour, MaxUses: 3})
	s.must(err)
	w := s.open()
	w.visit(s.signedPath(address))
	w.sees("Choose a paper")
	w.sees(`<script>alert("x")</script>`)
	w.sees("3 downloads are left")
	w.accessible()
	w.picture("link")
	w.do(chromedp.EmulateViewport(390, 844))
	w.fits("the link")
	w.accessible()
	w.picture("link-phone")
	w.visit(s.signedPath(address) + "x")
	w.sees("This address is not complete")
	w.picture("link-wrong")
}
