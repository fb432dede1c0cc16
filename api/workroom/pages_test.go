package workroom_test

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/styles"
)

// address is that of a page that a person may see, with the status that it has.
type address struct {
	path   string
	status int
}

// fragments are the routes under which no page lies: parts of pages, pictures and files,
// and the address that leads to the orders.
var fragments = []string{"", "/orders/follow", "/orders/print/file", "/orders/:order/estimates",
	"/orders/:order/papers", "/orders/:order/worn", "/orders/:order/making-sheet.svg", "/refits/:refit/worn",
	"/styles/:style/picture.svg", "/proofs/:proof/picture.svg", "/try/words.json", "/new-style/blocks/:block/picture.svg",
	"/first-dress/:step/picture.svg", "/styles/:style/latest"}

// everyPage fills the shop with a record of each kind, and returns its pages, those of
// its customers, and the documentation.
func (s *site) everyPage() []address {
	s.Helper()
	_, _, has := s.fill("thimble-row", "Thimble Row")
	o := s.place("THR-2080", `Mara "V" <Vell> & Co`, nil)
	_, err := s.service.Orders.Revise(s.Context(), s.caller, o.ID, orders.Change{Fit: "close", Reason: "closer"})
	s.must(err)
	s.await(o.ID)
	held := s.place("THR-2081", "Ines Aldo", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	s.upload(styles.Template())
	s.settle(s.shop.ID)
	order, customer := "/orders/"+o.ID.String(), "/customers/"+o.CustomerID.String()
	var list []address
	for _, path := range []string{"/orders", "/test-orders", "/orders?show=all&q=%3Cb%3E", order,
		"/orders/" + held.ID.String(), order + "/fitting", order + "/compare", order + "/lay-plan",
		"/orders/print?order=" + o.ID.String(),
		"/customers", customer, customer + "/measure", customer + "/erase",
		"/refits", "/refits/new", "/refits/new?garment=block:torso", "/refits/" + has["refit"],
		"/styles", "/styles/shift-dress", "/styles/" + has["style"], "/styles/" + has["style"] + "/write", "/new-style",
		"/first-dress",
		"/new-style/write", "/new-style/write?as=script", "/proofs/" + has["proof"],
		"/settings", "/settings/webhooks", "/settings/webhooks/" + has["endpoint"], "/settings/messages/" + has["message"],
		"/settings/rules", "/settings/audit"} {
		list = append(list, address{"/workroom" + path, http.StatusOK})
	}
	list = append(list, address{"/workroom/orders/none", http.StatusNotFound}, address{"/docs", http.StatusOK})
	return append(list, s.customerPages(o, held)...)
}

// customerPages returns the pages of links: to download, expired, used up and incomplete,
// and to answer a question.
func (s *site) customerPages(o, held orders.Order) []address {
	s.Helper()
	link := func(change string) string {
		l, address, err := s.service.Patterns.CreateLink(s.Context(), s.caller, patterns.NewLink{Order: o.ID, Format: "pdf",
			Options: patterns.Options{Paper: "a4"}, Lasts: time.Hour, MaxUses: 1})
		s.must(err)
		if change != "" {
			_, err = s.store.Pool().Exec(s.Context(), "UPDATE download_links SET "+change+" WHERE id = $1", l.ID)
			s.must(err)
		}
		return s.signedPath(address)
	}
	good := link("")
	question, _, err := s.service.Orders.Ask(s.Context(), s.caller, held.ID, time.Hour)
	s.must(err)
	return []address{{good, http.StatusOK}, {good + "x", http.StatusUnauthorized}, {s.signedPath(question), http.StatusOK},
		{link("expires_at = created_at - interval '1 minute', created_at = created_at - interval '1 hour'"), http.StatusGone},
		{link("uses = max_uses"), http.StatusGone}}
}

// Every route that shows a page is in the list of pages that are validated, read by
// axe-core and laid out on a phone.
func TestEveryPageIsListed(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	pages := s.everyPage()
	for _, route := range s.routes() {
		path := strings.TrimPrefix(route.Path, "/workroom")
		if route.Method != http.MethodGet || slices.Contains(fragments, path) || path == "/sign-in" {
			continue
		}
		pattern := regexp.MustCompile("^" + parameter.ReplaceAllString(route.Path, "[^/?]+") + `($|\?)`)
		if !slices.ContainsFunc(pages, func(p address) bool { return pattern.MatchString(p.path) }) {
			t.Errorf("%s is in neither everyPage nor fragments", route.Path)
		}
	}
}

// Every page fits a phone, where nothing has to be scrolled sideways, and axe-core
// finds nothing on it.
func TestPagesOnAPhone(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	pages := s.everyPage()
	w := s.open()
	w.do(chromedp.EmulateViewport(390, 844))
	w.visit("/workroom/sign-in")
	w.fits("/sign-in")
	w.accessible()
	w.signIn(service.RoleAdmin)
	for _, p := range pages {
		w.visit(p.path)
		w.fits(p.path)
		if p.path == "/docs" { // 300 kB of tables, for which axe-core takes minutes
			continue
		}
		w.accessible()
		w.picture("phone" + strings.Trim(unnamed.ReplaceAllString(strings.TrimPrefix(p.path, "/workroom"), "-"), "-"))
	}
}

// unnamed matches the parts of an address that a picture's name leaves out.
var unnamed = regexp.MustCompile(`[^a-z]*[0-9a-f]{8}-[0-9a-f-]{27}|\?sig.*|[^a-z0-9]+`)

// fits fails the test if the page is wider than the window.
func (w *window) fits(path string) {
	w.Helper()
	var wide string
	w.do(chromedp.Evaluate(`document.documentElement.scrollWidth <= innerWidth ? "" :
		[...document.querySelectorAll("main *, header *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1)
			.slice(0, 3).map(e => e.outerHTML.slice(0, 120)).join(" | ") || "wide"`, &wide))
	if wide != "" {
		w.Errorf("%s is wider than the window: %s", path, wide)
	}
}
