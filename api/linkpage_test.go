package api_test

import (
	"net/http"
	"strings"
	"testing"

	"tapeline/api"
	"tapeline/service"
)

// browserAccepts is the Accept header of a browser's navigation.
const browserAccepts = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"

// page follows an address as a browser does, to a page.
func (l linkBench) page(address string) reply {
	l.Helper()
	led := l.follow(address, "Accept", browserAccepts).want(http.StatusSeeOther, nil)
	return l.do(call{method: "GET", path: led.header.Get("Location")})
}

func (r reply) says(texts ...string) {
	r.Helper()
	if got := r.header.Get("Content-Type"); got != "text/html; charset=UTF-8" {
		r.Errorf("Content-Type %q", got)
	}
	policy := r.header.Get("Content-Security-Policy")
	if !strings.HasPrefix(policy, "default-src 'none'; style-src 'self'") {
		r.Errorf("Content-Security-Policy %q", policy)
	}
	if r.header.Get("Set-Cookie") != "" {
		r.Error("the page sets a cookie")
	}
	for _, text := range texts {
		if !strings.Contains(string(r.body), text) {
			r.Errorf("the page does not say %q:\n%s", text, r.body)
		}
	}
}

// pages checks what a person sees who opens links in a browser.
func (l linkBench) pages() {
	_, address := l.made(object{"max_uses": 1})
	for range 3 {
		l.page(address).want(http.StatusOK, nil)
	}
	page := l.page(address)
	page.says("Thimble Row", "A4", "US Letter", "1 download is left", "paper=letter", "exactly 5 cm")
	for _, measured := range []string{"92 cm", "bust", "waist"} { // of the body
		if strings.Contains(string(page.body), measured) {
			l.Errorf("the page says %s:\n%s", measured, page.body)
		}
	}
	head := l.do(call{method: "HEAD", path: address})
	if head.status != http.StatusOK || len(head.body) > 0 || head.header.Get("Content-Length") == "" {
		l.Errorf("HEAD: %d, %d bytes, %v", head.status, len(head.body), head.header)
	}
	saved := l.follow(address+"&download=true&paper=letter", "Accept", browserAccepts).want(http.StatusOK, nil)
	if got := saved.header.Get("Content-Disposition"); !strings.HasPrefix(got, "attachment") ||
		!strings.Contains(got, "letter.pdf") {
		l.Errorf("Content-Disposition %q", got)
	}
	l.page(address).want(http.StatusGone, nil).says("This link is used up", "Ask Thimble Row for a new link")
	l.page(address+"&download=true").want(http.StatusGone, nil).says("used up")
	l.follow(address).problem(http.StatusGone, api.ProblemCodeLinkUsedUp)
	if head := l.do(call{method: "HEAD", path: address}); head.status != http.StatusGone {
		l.Errorf("HEAD of a link that is used up: %d", head.status)
	}
	l.page(address[:len(address)-1]).want(http.StatusUnauthorized, nil).says("not complete")
	l.page(strings.Split(address, "?")[0]).want(http.StatusUnauthorized, nil).says("not complete")
	l.follow(address+"&paper=note").problem(http.StatusGone, api.ProblemCodeLinkUsedUp)

	link, address := l.made(object{})
	l.follow(address+"&paper=note").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	l.as(service.RoleShop, "DELETE", l.path+"/links/"+link.Link.ID.String(), nil).want(http.StatusNoContent, nil)
	l.page(address).want(http.StatusGone, nil).says("no longer works")

	_, address = l.made(object{"format": "dxf"})
	l.page(address).want(http.StatusOK, nil).says("a drawing (DXF)", "download=true")
	l.follow(address+"&paper=a4").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	l.post(l.path+"/hold", object{"reason": "the customer called"}).want(http.StatusOK, nil)
	l.page(address).want(http.StatusConflict, nil).says("on hold")
	l.post(l.path+"/confirm", object{}).want(http.StatusOK, nil)
}

// HEAD is answered as GET is, without the body.
func TestHead(t *testing.T) {
	t.Parallel()
	b := setup(t)
	order := "/v1/orders/" + b.ready("LL-1").ID.String()
	for _, path := range []string{"/healthz", "/v1/blocks", "/v1/orders", "/docs", order, order + "/pattern.pdf",
		order + "/pattern.dxf", order + "/making-sheet.pdf", order + "/lay-plan.svg?cloth_width=140"} {
		head, got := b.as(service.RoleAdmin, "HEAD", path, nil), b.get(path)
		if head.status != http.StatusOK || len(head.body) > 0 ||
			head.header.Get("Content-Type") != got.header.Get("Content-Type") {
			t.Errorf("HEAD %s: %d with %d bytes, %v", path, head.status, len(head.body), head.header)
		}
	}
	for _, op := range operations(t) {
		if op.method != http.MethodGet {
			continue
		}
		c := emptyCall(op)
		c.key = b.keys[service.RoleAdmin]
		got := b.do(c)
		c.method = http.MethodHead
		if head := b.do(c); head.status != got.status || len(head.body) > 0 {
			t.Errorf("HEAD of %s: %d with %d bytes, GET %d", op.OperationID, head.status, len(head.body), got.status)
		}
	}
	if head := b.do(call{method: "HEAD", path: "/v1/orders"}); head.status != http.StatusUnauthorized {
		t.Errorf("HEAD without a key: %d", head.status)
	}
}
