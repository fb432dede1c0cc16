package api_test

import (
	"net"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
	"tapeline/service/app"
)

// TestPublishableOperations calls every operation that a publishable key may call.
// They answer with facts that the shop publishes, and store nothing.
func TestPublishableOperations(t *testing.T) {
	t.Parallel()
	var got []string
	for _, op := range operations(t) {
		if slices.Contains(op.roles, service.RolePublishable) {
			got = append(got, op.OperationID)
		}
	}
	slices.Sort(got)
	want := []string{"assessMeasurements", "getBlock", "getBlockForm", "getStyle", "getStyleForm", "listBlocks",
		"listMeasurements", "listStyles", "previewDraft"}
	if !slices.Equal(got, want) {
		t.Errorf("a publishable key may call %v, want %v", got, want)
	}
}

// from is a call of a page with a publishable key.
func (b *bench) from(origin, method, path string, body any) reply {
	b.Helper()
	c := call{method: method, path: path, key: b.keys[service.RolePublishable],
		header: map[string]string{"Origin": origin}}
	if body != nil {
		c.body = body
	}
	return b.do(c)
}

// A page checks a form and shows a picture, and its browser lets it read answers and
// refusals. A page of another origin gets neither.
func TestPageCallsWithAPublishableKey(t *testing.T) {
	t.Parallel()
	b := setup(t)
	assessment := object{"unit": "cm", "measurements": figure(), "block": "torso"}
	for _, r := range []reply{
		b.from(shopOrigin, "GET", "/v1/styles", nil).want(http.StatusOK, nil),
		b.from(shopOrigin, "HEAD", "/v1/styles/shift-dress", nil),
		b.from(shopOrigin, "POST", "/v1/measurements/assess", assessment).want(http.StatusOK, nil),
		b.from(shopOrigin, "POST", "/v1/drafts?format=svg", object{"unit": "cm", "measurements": figure()}).
			want(http.StatusOK, nil),
		b.from(shopOrigin, "POST", "/v1/drafts", object{"unit": "cm", "measurements": object{"bust_girth": 92}}).
			want(http.StatusUnprocessableEntity, nil),
	} {
		h := r.header
		if r.status == http.StatusUnauthorized || h.Get("Access-Control-Allow-Origin") != shopOrigin ||
			!strings.Contains(h.Get("Access-Control-Expose-Headers"), "RateLimit") || !varies(h, "Origin") ||
			h.Get("Access-Control-Allow-Credentials") != "" {
			t.Errorf("%d with %v", r.status, h)
		}
	}
	for _, origin := range []string{"https://elsewhere.example", "http://shop.example", "https://shop.example:8443",
		"null", "https://shop.example.elsewhere.example"} {
		r := b.from(origin, "GET", "/v1/styles", nil)
		r.problem(http.StatusForbidden, api.ProblemCodeForbidden)
		if r.header.Get("Access-Control-Allow-Origin") != "" || !varies(r.header, "Origin") {
			t.Errorf("%s: %v", origin, r.header)
		}
	}
	// Other keys do not belong in a page.
	r := b.do(call{method: "GET", path: "/v1/styles", key: b.keys[service.RoleShop],
		header: map[string]string{"Origin": shopOrigin}}).want(http.StatusOK, nil)
	if r.header.Get("Access-Control-Allow-Origin") != "" || !varies(r.header, "Origin") {
		t.Errorf("with a shop's key: %v", r.header)
	}
	// A page may read that its key is not valid.
	r = b.do(call{method: "GET", path: "/v1/styles", key: b.keys[service.RolePublishable] + "x",
		header: map[string]string{"Origin": shopOrigin}})
	r.problem(http.StatusUnauthorized, api.ProblemCodeUnauthenticated)
	if r.header.Get("Access-Control-Allow-Origin") != shopOrigin {
		t.Errorf("with a wrong key: %v", r.header)
	}
}

// varies reports whether Vary names a header.
func varies(h http.Header, name string) bool {
	return slices.Contains(strings.Split(strings.ReplaceAll(strings.Join(h.Values("Vary"), ","), " ", ""), ","), name)
}

// preflight asks, as a browser does, whether a page may call an operation.
func (b *bench) preflight(origin, method, path string) reply {
	b.Helper()
	return b.do(call{method: http.MethodOptions, path: path, header: map[string]string{"Origin": origin,
		"Access-Control-Request-Method": method, "Access-Control-Request-Headers": "authorization,content-type"}})
}

// Preflights as the Fetch standard of WHATWG asks them.
func TestPreflight(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, tt := range []struct {
		origin, method, path string
		allowed              bool
	}{
		{shopOrigin, "GET", "/v1/styles/shift-dress", true},
		{shopOrigin, "POST", "/v1/drafts", true},
		{shopOrigin, "POST", "/v1/measurements/assess", true},
		{"https://elsewhere.example", "POST", "/v1/drafts", false},
		{"null", "POST", "/v1/drafts", false},
		{"", "POST", "/v1/drafts", false},
		{shopOrigin, "POST", "/v1/orders", false},
		{shopOrigin, "GET", "/v1/customers", false},
		{shopOrigin, "DELETE", "/v1/drafts", false},
		{shopOrigin, "POST", "/v1/styles", false}, // the path has a GET for browsers
		{shopOrigin, "GET", "/v1/nothing", false},
	} {
		r := b.preflight(tt.origin, tt.method, tt.path)
		h := r.header
		if got := h.Get("Access-Control-Allow-Origin"); (got == tt.origin && got != "") != tt.allowed {
			t.Errorf("%+v: %d with %v", tt, r.status, h)
		}
		if tt.allowed && (r.status != http.StatusNoContent || h.Get("Access-Control-Allow-Methods") != tt.method ||
			!strings.Contains(h.Get("Access-Control-Allow-Headers"), "Authorization") || !varies(h, "Origin") ||
			h.Get("Access-Control-Max-Age") == "") {
			t.Errorf("%+v: %d with %v", tt, r.status, h)
		}
		if h.Get("Access-Control-Allow-Credentials") != "" {
			t.Errorf("%+v: credentials are allowed", tt)
		}
	}
	// A revoked key lets nobody in.
	var keys api.APIKeyList
	b.get("/v1/api-keys").want(http.StatusOK, &keys)
	for _, k := range keys.Items {
		if k.Role == api.RolePublishable {
			b.as(service.RoleAdmin, "DELETE", "/v1/api-keys/"+k.ID.String(), nil).want(http.StatusNoContent, nil)
		}
	}
	if r := b.preflight(shopOrigin, "POST", "/v1/drafts"); r.header.Get("Access-Control-Allow-Origin") != "" {
		t.Errorf("after the key was revoked: %v", r.header)
	}
}

// Anybody can read a publishable key: it shows no draft of a style, no history and no
// stored measurements, of its own shop neither.
func TestPublishableKeySeesWhatIsPublished(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	var made api.StyleRevisionDetail
	b.as(service.RoleStaff, "POST", "/v1/styles", object{"script": tabard, "reason": "for Mara"}).
		want(http.StatusCreated, &made)
	public := func(method, path string, body any) reply { return b.from(shopOrigin, method, path, body) }
	if r := public("GET", "/v1/styles", nil).want(http.StatusOK, nil); strings.Contains(string(r.body), "tabard") {
		t.Error("the list shows a style that is not published")
	}
	public("GET", "/v1/styles/tabard", nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	public("GET", "/v1/styles/tabard/form?revision=1", nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	draft := object{"unit": "cm", "measurements": figure(), "style": "tabard"}
	public("POST", "/v1/drafts", draft.with("style_revision", 1)).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	public("POST", "/v1/measurements/assess", draft.with("style_revision", 1)).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	p := public("POST", "/v1/drafts", object{"unit": "cm", "measurement_set_id": o.MeasurementSetID}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/measurement_set_id" {
		t.Errorf("stored measurements: %+v", p.Errors)
	}
	b.proveAndPublish(&made.Revision)
	var detail api.StyleDetail
	r := public("GET", "/v1/styles/tabard", nil).want(http.StatusOK, &detail)
	if detail.Revision != 1 || len(detail.Revisions) != 0 || strings.Contains(string(r.body), "for Mara") {
		t.Errorf("published: %.300s", r.body)
	}
	if r := public("GET", "/v1/styles", nil).want(http.StatusOK, nil); !strings.Contains(string(r.body), "tabard") {
		t.Error("the list lacks the published style")
	}
	public("POST", "/v1/drafts?format=svg", draft).want(http.StatusOK, nil)
}

func TestPublishableKeyNamesItsOrigins(t *testing.T) {
	t.Parallel()
	b := setup(t)
	create := func(role string, origins ...string) reply {
		body := object{"name": "Pages", "role": role}
		if origins != nil {
			body["origins"] = origins
		}
		return b.post("/v1/api-keys", body)
	}
	var made api.APIKeyWithSecret
	create("publishable", "https://Shop.Example:443", "https://shop.example", "http://localhost:3000",
		"http://[::1]:5173").want(http.StatusCreated, &made)
	if want := []string{"https://shop.example", "http://localhost:3000", "http://[::1]:5173"}; !slices.Equal(
		made.APIKey.Origins, want) {
		t.Errorf("origins %q, want %q", made.APIKey.Origins, want)
	}
	for _, tt := range []struct {
		role    string
		origins []string
		pointer string
	}{
		{"publishable", nil, "#/origins"},
		{"shop", []string{"https://shop.example"}, "#/origins"},
		{"publishable", []string{"https://shop.example", "http://shop.example"}, "#/origins/1"},
		{"publishable", []string{"https://*.shop.example"}, "#/origins/0"},
		{"publishable", []string{"https://user@shop.example"}, "#/origins/0"},
		{"publishable", []string{"https://shop.example?x"}, "#/origins/0"},
		{"publishable", []string{"https://höker.example"}, "#/origins/0"},
	} {
		p := create(tt.role, tt.origins...).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
		if len(p.Errors) != 1 || p.Errors[0].Pointer != tt.pointer {
			t.Errorf("%s %q: %+v", tt.role, tt.origins, p.Errors)
		}
	}
	for _, origin := range []string{"*", "shop.example", "https://shop.example/", "null"} {
		create("publishable", origin).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	}
}

// A visitor's address has a fiftieth of a key's rate, and a proxy in front says it only
// if it is trusted.
func TestVisitorsAreLimitedByAddress(t *testing.T) {
	t.Parallel()
	_, proxy, err := net.ParseCIDR("127.0.0.0/8")
	if err != nil {
		t.Fatal(err)
	}
	for name, trusted := range map[string][]*net.IPNet{"no proxy": nil, "a trusted proxy": {proxy}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := setup(t, func(_ *app.Config, c *api.Config) { c.PerSecond, c.TrustedProxies = 50, trusted })
			visit := func(address string) reply {
				return b.do(call{method: "GET", path: "/v1/blocks", key: b.keys[service.RolePublishable],
					header: map[string]string{"Origin": shopOrigin, "X-Forwarded-For": address}})
			}
			refused := 0
			var last reply
			for range 6 {
				if r := visit("203.0.113.1"); r.status == http.StatusTooManyRequests {
					refused++
					last = r
				}
			}
			if refused == 0 || refused == 6 {
				t.Fatalf("%d of 6 visits were refused", refused)
			}
			if last.header.Get("Retry-After") != "1" || last.header.Get("Access-Control-Allow-Origin") != shopOrigin {
				t.Errorf("refused with %v", last.header)
			}
			if r := visit("203.0.113.2"); (r.status == http.StatusOK) != (trusted != nil) {
				t.Errorf("another visitor: %d", r.status)
			}
			b.as(service.RoleShop, "GET", "/v1/blocks", nil).want(http.StatusOK, nil)
		})
	}
}

// The headers of draft-ietf-httpapi-ratelimit-headers-10.
func TestRateLimitHeaders(t *testing.T) {
	t.Parallel()
	b := setup(t, func(_ *app.Config, c *api.Config) { c.PerSecond = 50 })
	for _, tt := range []struct {
		key, policy, begins string
	}{
		{b.keys[service.RoleShop], `"key";q=100;w=2, "shop";q=200;w=2`, `"key";r=99;t=1, "shop";r=`},
		{b.keys[service.RolePublishable], `"visitor";q=2;w=2, "browsers";q=20;w=2`, `"visitor";r=1;t=1, "browsers";r=19;t=1`},
	} {
		r := b.do(call{method: "GET", path: "/v1/blocks", key: tt.key}).want(http.StatusOK, nil)
		if got := r.header.Get("RateLimit-Policy"); got != tt.policy {
			t.Errorf("RateLimit-Policy: %s, want %s", got, tt.policy)
		}
		if got := r.header.Get("RateLimit"); !strings.HasPrefix(got, tt.begins) {
			t.Errorf("RateLimit: %s, want %s", got, tt.begins)
		}
	}
	r := b.do(call{method: "GET", path: "/docs"})
	if got := r.header.Get("RateLimit-Policy"); got != `"address";q=100;w=2` {
		t.Errorf("without a key: %s", got)
	}
	// Refusals tell how long to wait, and what the quota is.
	r = b.as(service.RoleShop, "GET", "/v1/orders/"+uuid.NewString(), nil)
	if r.status != http.StatusNotFound || r.header.Get("RateLimit") == "" {
		t.Errorf("a refusal: %d with %v", r.status, r.header)
	}
	if r := b.do(call{method: "GET", path: "/healthz"}); r.header.Get("RateLimit") != "" {
		t.Errorf("health is not limited: %v", r.header)
	}
	unlimited := setup(t)
	if r := unlimited.get("/v1/blocks"); r.header.Get("RateLimit") != "" {
		t.Errorf("without limits: %v", r.header)
	}
}
