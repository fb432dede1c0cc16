package workroom_test

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/api/workroom"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/fittings"
	"tapeline/service/orders"
	"tapeline/service/refits"
	"tapeline/service/styles"
	"tapeline/service/webhooks"
)

// records are the IDs of one record of each kind, by the name that routes give them.
type records map[string]string

// whose is in every text of the other shop's records: no page may show it.
const whose = "Hidden Hem"

// fill makes a shop with a record of each kind, and returns a session of its admin.
func (s *site) fill(slug, name string) (caller service.Caller, token string, has records) {
	s.Helper()
	ctx := s.Context()
	shop, _, err := s.service.Access.EnsureShop(ctx, slug, name)
	s.must(err)
	key, secret, err := s.service.Access.CreateKey(ctx, service.Caller{Shop: shop.ID},
		access.NewKey{Name: name, Role: service.RoleAdmin})
	s.must(err)
	caller = service.Caller{Shop: shop.ID, Key: key.ID, Role: service.RoleAdmin}
	token, _, err = s.service.Access.SignIn(ctx, secret)
	s.must(err)
	sessions, err := s.service.Access.Sessions(ctx, caller)
	s.must(err)
	o, err := s.service.Orders.Create(ctx, caller, orders.NewOrder{Reference: name + " 1",
		Customer: &customers.Details{Reference: name, Name: name},
		Input:    orders.Input{Unit: "cm", Measurements: middle(), Block: "torso", Fit: "regular"}}, uuid.NewString())
	s.must(err)
	for range 200 {
		if o, err = s.service.Orders.Get(ctx, caller, o.ID); err != nil || o.Status != orders.Received {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.must(err)
	refit, err := s.service.Refits.Create(ctx, caller, refits.Input{Change: refits.Change{
		Fit: &refits.FitChange{Block: "torso", From: "regular", To: "close"}}, Paper: "a4", Reason: name})
	s.must(err)
	script, err := os.ReadFile("../../drafting/style/garments/flared-skirt.star")
	s.must(err)
	own := strings.NewReplacer(`"flared-skirt"`, `"`+slug+`-skirt"`, `"Flared skirt"`, `"`+name+` skirt"`)
	_, err = s.service.Styles.Upload(ctx, caller, styles.NewRevision{Script: own.Replace(string(script)), Reason: name})
	s.must(err)
	proof, err := s.service.Styles.StartProof(ctx, caller, slug+"-skirt", 1, styles.ProofRequest{Bodies: styles.Customers})
	s.must(err)
	fitting, err := s.service.Fittings.Create(ctx, caller, fittings.Request{Order: o.ID, Detail: fittings.Quick})
	s.must(err)
	_, err = s.service.Fittings.Cancel(ctx, caller, fitting.ID)
	s.must(err)
	endpoint, message := s.delivered(caller, name)
	return caller, token, records{"order": o.ID.String(), "customer": o.CustomerID.String(), "key": key.ID.String(),
		"session": sessions[0].ID.String(), "refit": refit.ID.String(), "style": slug + "-skirt", "number": "1",
		"proof": proof.ID.String(), "endpoint": endpoint.String(), "message": message.String(),
		"fitting": fitting.ID.String(), "block": "torso", "step": "1"}
}

// delivered registers an endpoint and returns it with a message that was delivered.
func (s *site) delivered(caller service.Caller, name string) (endpoint, message uuid.UUID) {
	s.Helper()
	receiver := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	defer receiver.Close()
	e, _, err := s.service.Webhooks.CreateEndpoint(s.Context(), caller,
		webhooks.NewEndpoint{URL: receiver.URL, Description: name, Events: []webhooks.EventType{webhooks.OrderFailed}})
	s.must(err)
	m, err := s.service.Webhooks.TestEndpoint(s.Context(), caller, e.ID)
	s.must(err)
	for range 200 {
		if m, err = s.service.Webhooks.Message(s.Context(), caller, m.ID); err != nil || m.Status == "delivered" {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.must(err)
	return e.ID, m.ID
}

// routes returns the routes of the workroom as they were registered.
func (s *site) routes() []*echo.Route {
	s.Helper()
	room, err := workroom.New(s.service, workroom.Config{Version: "test"})
	s.must(err)
	e := echo.New()
	room.Register(e)
	list := slices.DeleteFunc(e.Routes(), func(r *echo.Route) bool {
		return r.Method != http.MethodGet && r.Method != http.MethodPost || !strings.HasPrefix(r.Path, workroom.Root) ||
			strings.Contains(r.Path, "/assets/")
	})
	if len(list) < 40 {
		s.Fatalf("%d routes, want all of the workroom", len(list))
	}
	return list
}

var parameter = regexp.MustCompile(`:[a-z]+`)

// ofProgram matches the routes whose parameters name what the program has for all shops.
var ofProgram = regexp.MustCompile(`:(block|step)/`)

// answer is a response that was read.
type answer struct {
	status int
	header http.Header
	body   string
}

// ask requests a route with the IDs of records, in its path and in its form.
func (s *site) ask(route *echo.Route, has records, token string, header map[string]string) answer {
	s.Helper()
	path := parameter.ReplaceAllStringFunc(route.Path, func(name string) string {
		value, ok := has[name[1:]]
		if !ok {
			s.Errorf("%s: this test has no record for %s: make one in fill", route.Path, name)
		}
		return value
	})
	form := url.Values{"sure": {"yes"}, "reason": {"because"}}
	for name, value := range has {
		form.Set(name, value)
	}
	var body io.Reader
	if route.Method == http.MethodPost {
		body = strings.NewReader(form.Encode())
	}
	r, err := http.NewRequestWithContext(s.Context(), route.Method, s.URL+path, body)
	s.must(err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.AddCookie(&http.Cookie{Name: workroom.Cookie, Value: token})
	for name, value := range header {
		r.Header.Set(name, value)
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Timeout: 30 * time.Second}
	w, err := client.Do(r)
	s.must(err)
	defer w.Body.Close()
	text := make([]byte, 1<<20)
	n, _ := io.ReadAtLeast(w.Body, text, min(len(text), 200)) // the head of a page that follows orders
	rest := ""
	if !strings.HasPrefix(w.Header.Get("Content-Type"), "text/event-stream") {
		more, err := io.ReadAll(w.Body)
		s.must(err)
		rest = string(more)
	}
	return answer{w.StatusCode, w.Header, string(text[:n]) + rest}
}

// snapshot returns the contents of all tables that the given shop's people fill.
func (s *site) snapshot(shop uuid.UUID) map[string]string {
	s.Helper()
	tables := map[string]string{}
	for _, table := range []string{"orders", "customers", "measurement_sets", "alterations", "refits", "styles",
		"style_proofs", "webhook_endpoints", "webhook_messages", "audit_entries", "shops"} {
		column := "shop_id"
		if table == "shops" {
			column = "id"
		}
		var sum string
		s.must(s.store.Pool().QueryRow(s.Context(), fmt.Sprintf(
			`SELECT coalesce(md5(string_agg(t::text, ',' ORDER BY t::text)), '') FROM %s t WHERE %s = $1`, table, column),
			shop).Scan(&sum))
		tables[table] = sum
	}
	var valid string
	s.must(s.store.Pool().QueryRow(s.Context(), `SELECT coalesce(string_agg(concat(id, revoked_at), ',' ORDER BY id), '')
		FROM api_keys WHERE shop_id = $1`, shop).Scan(&valid))
	tables["api_keys"] = valid
	return tables
}

func (s *site) unchanged(what string, before, after map[string]string) {
	s.Helper()
	for table, sum := range before {
		if after[table] != sum {
			s.Errorf("%s changed table %s", what, table)
		}
	}
}

// settle waits until a shop's refit and proof stand still.
func (s *site) settle(shop uuid.UUID) map[string]string {
	s.Helper()
	before := s.snapshot(shop)
	for range 100 {
		time.Sleep(600 * time.Millisecond)
		after := s.snapshot(shop)
		if fmt.Sprint(after) == fmt.Sprint(before) {
			return after
		}
		before = after
	}
	s.Fatal("the shop's jobs do not end")
	return nil
}

// Every route of the workroom, without a session, with one that has ended, from another
// site, and with another shop's IDs: OWASP's Session Management, Cross-Site Request
// Forgery Prevention and Insecure Direct Object Reference Prevention Cheat Sheets.
func TestEveryRouteIsGuarded(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	owner, ownToken, own := s.fill("plain-seam", "Plain Seam")
	other, _, others := s.fill("hidden-hem", whose)
	ended, _, err := s.service.Access.SignIn(t.Context(), s.keys[service.RoleAdmin])
	s.must(err)
	s.must(s.service.Access.SignOut(t.Context(), ended))
	before, theirs := s.settle(owner.Shop), s.settle(other.Shop)
	routes := s.routes()
	for _, route := range routes {
		name := route.Method + " " + route.Path
		public := strings.HasSuffix(route.Path, "/sign-in") || strings.HasSuffix(route.Path, "/sign-out")
		for _, token := range []string{"", ended, "nonsense"} {
			a := s.ask(route, own, token, nil)
			led := strings.HasPrefix(a.header.Get("Location"), workroom.Root)
			if !public && a.status != http.StatusUnauthorized && !led {
				t.Errorf("%s without a session: status %d, want 401 or the sign-in page", name, a.status)
			}
			s.plain(name, a)
		}
		if a := s.ask(route, own, "", map[string]string{"HX-Request": "true"}); !public && route.Path != workroom.Root &&
			a.status != http.StatusUnauthorized {
			t.Errorf("%s by a script without a session: status %d, want 401", name, a.status)
		}
		if route.Method == http.MethodPost {
			for _, site := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
				{"Origin": "https://elsewhere.example"}} {
				a := s.ask(route, own, ownToken, site)
				if a.status != http.StatusForbidden {
					t.Errorf("%s from another site (%v): status %d, want 403", name, site, a.status)
				}
				s.plain(name, a)
			}
		}
	}
	s.unchanged("a request without a session or from another site", before, s.snapshot(owner.Shop))
	for _, route := range routes {
		if strings.HasSuffix(route.Path, "/sign-out") || strings.HasSuffix(route.Path, "/follow") {
			continue
		}
		name := route.Method + " " + route.Path
		a := s.ask(route, others, ownToken, map[string]string{"Sec-Fetch-Site": "same-origin"})
		if strings.Contains(route.Path, ":") && !ofProgram.MatchString(route.Path) &&
			a.status != http.StatusNotFound && a.status != http.StatusForbidden {
			t.Errorf("%s with another shop's IDs: status %d, want 404", name, a.status)
		}
		if strings.Contains(a.body, whose) {
			t.Errorf("%s shows another shop's records", name)
		}
		if a.status >= http.StatusInternalServerError {
			t.Errorf("%s with another shop's IDs: status %d", name, a.status)
		}
		s.plain(name, a)
	}
	s.unchanged("a request with another shop's IDs", theirs, s.snapshot(other.Shop))
}

// plain checks that a response has the headers of a page and tells nothing of the
// program: OWASP's HTTP Headers and Error Handling Cheat Sheets.
func (s *site) plain(name string, a answer) {
	s.Helper()
	policy := a.header.Get("Content-Security-Policy")
	for _, part := range []string{"default-src 'none'", "base-uri 'none'", "frame-ancestors 'none'",
		"form-action 'self'"} {
		if !strings.Contains(policy, part) {
			s.Errorf("%s: the policy %q lacks %s", name, policy, part)
		}
	}
	if strings.Contains(policy, "unsafe") {
		s.Errorf("%s: the policy %q allows scripts of the page", name, policy)
	}
	for header, want := range map[string]string{"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY",
		"Cache-Control": "no-store", "Referrer-Policy": "same-origin", "Cross-Origin-Opener-Policy": "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin"} {
		if got := a.header.Get(header); got != want {
			s.Errorf("%s: %s is %q, want %q", name, header, got, want)
		}
	}
	for _, trace := range []string{"goroutine ", ".go:", "panic", "SQLSTATE"} {
		if strings.Contains(a.body, trace) {
			s.Errorf("%s: the page shows %q", name, trace)
		}
	}
}
