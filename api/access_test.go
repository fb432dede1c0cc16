package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
	"tapeline/service/app"
)

// emptyCall is a call of an operation that gets past access and no further:
// its records do not exist and its body is empty.
func emptyCall(op contractOperation) call {
	c := call{method: op.method, path: op.path, header: map[string]string{}}
	for _, p := range op.params {
		switch p.Value.In {
		case "path":
			v := uuid.NewString()
			if p.Value.Name == "block" {
				v = "nosuch"
			}
			c.path = strings.ReplaceAll(c.path, "{"+p.Value.Name+"}", v)
		case "header":
			if p.Value.Required {
				c.header[p.Value.Name] = "x"
			}
		}
	}
	if op.RequestBody != nil {
		c.body = object{}
	}
	return c
}

// Every operation, called with a key of every role, with none, and with ones
// that are not valid.
func TestEveryOperationForEveryRole(t *testing.T) {
	t.Parallel()
	b := setup(t)
	revoked := b.revokedKey()
	for _, op := range operations(t) {
		c := emptyCall(op)
		if len(op.roles) == 0 {
			if r := b.do(c); r.status == http.StatusForbidden || r.status >= 500 {
				t.Errorf("%s without a key gave %d", op.OperationID, r.status)
			}
			continue
		}
		for _, key := range []string{"", "nonsense", "tl_aaaaaaaa_", revoked, b.keys[service.RoleAdmin] + "x",
			b.keys[service.RoleAdmin][:20]} {
			c.key = key
			r := b.do(c)
			r.problem(http.StatusUnauthorized, api.ProblemCodeUnauthenticated)
			if r.header.Get("WWW-Authenticate") == "" {
				t.Errorf("%s: 401 without WWW-Authenticate", op.OperationID)
			}
		}
		for role, key := range b.keys {
			if op.OperationID == "rotateInboundSecret" && role == service.RoleAdmin {
				continue // an empty body is a whole request
			}
			c.key = key
			r := b.do(c)
			if slices.Contains(op.roles, role) {
				if r.status == http.StatusUnauthorized || r.status == http.StatusForbidden || r.status >= 500 {
					t.Errorf("%s as %s gave %d: %s", op.OperationID, role, r.status, r.body)
				}
				continue
			}
			r.problem(http.StatusForbidden, api.ProblemCodeForbidden)
		}
	}
}

// revokedKey makes a key and revokes it.
func (b *bench) revokedKey() string {
	b.Helper()
	var made api.APIKeyWithSecret
	b.post("/v1/api-keys", object{"name": "old", "role": "admin"}).want(http.StatusCreated, &made)
	b.as(service.RoleAdmin, "DELETE", "/v1/api-keys/"+made.APIKey.ID.String(), nil).want(http.StatusNoContent, nil)
	return made.Secret
}

func TestAPIKeys(t *testing.T) {
	t.Parallel()
	now := time.Now()
	b := setup(t, func(c *app.Config, _ *api.Config) { c.Now = func() time.Time { return now } })
	var made api.APIKeyWithSecret
	b.post("/v1/api-keys", object{"name": "Till", "role": "shop",
		"expires_at": now.Add(time.Hour)}).want(http.StatusCreated, &made)
	b.do(call{method: "GET", path: "/v1/orders", key: made.Secret}).want(http.StatusOK, nil)

	r := b.get("/v1/api-keys").want(http.StatusOK, nil)
	if strings.Contains(string(r.body), made.Secret) || !strings.Contains(string(r.body), made.APIKey.Prefix) {
		t.Errorf("the list shows the key, or not which it is: %s", r.body)
	}
	var list api.APIKeyList
	r.want(http.StatusOK, &list)
	if i := slices.IndexFunc(list.Items, func(k api.APIKey) bool { return k.ID == made.APIKey.ID }); i < 0 ||
		list.Items[i].LastUsedAt.IsZero() {
		t.Errorf("the key's last use is not known: %+v", list.Items)
	}
	row, err := b.store.APIKeyByPrefix(t.Context(), made.APIKey.Prefix)
	if err != nil || strings.Contains(string(row.APIKey.Hash), made.Secret) || len(row.APIKey.Hash) != 32 {
		t.Errorf("stored key: %v, %x", err, row.APIKey.Hash)
	}

	now = now.Add(2 * time.Hour)
	b.do(call{method: "GET", path: "/v1/orders", key: made.Secret}).problem(http.StatusUnauthorized,
		api.ProblemCodeUnauthenticated)
	p := b.post("/v1/api-keys", object{"name": "Till", "role": "shop",
		"expires_at": now.Add(-time.Minute)}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/expires_at" {
		t.Errorf("errors: %+v", p.Errors)
	}
	b.as(service.RoleAdmin, "DELETE", "/v1/api-keys/"+uuid.NewString(), nil).problem(http.StatusNotFound,
		api.ProblemCodeNotFound)
}

// The request's ID goes into the audit trail for good, so only short and plain
// ones are taken from callers.
func TestRequestID(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, tt := range []struct {
		given string
		taken bool
	}{
		{"checkout-7.a_B", true},
		{strings.Repeat("x", 64), true},
		{strings.Repeat("x", 65), false},
		{"Mara Vell", false},
		{"a/b", false},
		{"<script>", false},
		{"", false},
	} {
		r := b.do(call{method: "POST", path: "/v1/api-keys", key: b.keys[service.RoleAdmin],
			body:   object{"name": "k", "role": "shop"},
			header: map[string]string{"X-Request-Id": tt.given}}).want(http.StatusCreated, nil)
		got := r.header.Get("X-Request-Id")
		if (got == tt.given) != tt.taken || got == "" {
			t.Errorf("request ID %q became %q", tt.given, got)
		}
		var list api.AuditList
		b.get("/v1/audit?limit=1").want(http.StatusOK, &list)
		if list.Items[0].RequestID != got {
			t.Errorf("the trail has %q, the answer %q", list.Items[0].RequestID, got)
		}
	}
}

// A shop sees nothing of another's: every record looks as if it were not there.
func TestShopsAreApart(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	key := b.otherShop(service.RoleAdmin)
	for _, path := range []string{
		"/v1/orders/" + o.ID.String(), "/v1/orders/" + o.ID.String() + "/pattern.pdf", "/v1/orders/" + o.ID.String() +
			"/pattern.json",
		"/v1/orders/" + o.ID.String() + "/pages", "/v1/orders/" + o.ID.String() + "/history", "/v1/orders/" + o.ID.String() +
			"/revisions",
		"/v1/orders/" + o.ID.String() + "/links", "/v1/customers/" + o.CustomerID.String(), "/v1/customers/" +
			o.CustomerID.String() + "/export",
		"/v1/customers/" + o.CustomerID.String() + "/measurement-sets", "/v1/measurement-sets/" + o.MeasurementSetID.String(),
	} {
		b.do(call{method: "GET", path: path, key: key}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	for _, path := range []string{"/hold", "/cancel", "/revise"} {
		b.do(call{method: "POST", path: "/v1/orders/" + o.ID.String() + path, key: key,
			body: object{"reason": "mine"}}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	b.do(call{method: "POST", path: "/v1/customers/" + o.CustomerID.String() + "/erasure",
		key: key}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.do(call{method: "POST", path: "/v1/orders", key: key, header: map[string]string{"Idempotency-Key": "k"},
		body: object{"reference": "X-1", "unit": "cm", "customer_id": o.CustomerID,
			"measurement_set_id": o.MeasurementSetID}}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	for _, path := range []string{"/v1/orders", "/v1/customers", "/v1/webhook-messages"} {
		r := b.do(call{method: "GET", path: path, key: key}).want(http.StatusOK, nil)
		if string(r.body) != "{\"items\":[]}\n" {
			t.Errorf("%s shows another shop's: %s", path, r.body)
		}
	}
	// The same reference is free in another shop.
	b.do(call{method: "POST", path: "/v1/orders", key: key, header: map[string]string{"Idempotency-Key": "k"},
		body: sampleOrder("LL-1")}).want(http.StatusCreated, nil)
}

func TestRateLimit(t *testing.T) {
	t.Parallel()
	b := setup(t, func(_ *app.Config, c *api.Config) { c.PerSecond = 2 })
	limited := func(key string) (n int) {
		for range 12 {
			r := b.do(call{method: "GET", path: "/v1/blocks", key: key})
			if r.status == http.StatusTooManyRequests {
				r.problem(http.StatusTooManyRequests, api.ProblemCodeRateLimited)
				if r.header.Get("Retry-After") != "1" {
					t.Errorf("Retry-After %q", r.header.Get("Retry-After"))
				}
				n++
			}
		}
		return n
	}
	if n := limited(b.keys[service.RoleShop]); n == 0 || n == 12 {
		t.Errorf("%d of 12 requests were refused", n)
	}
	if r := b.do(call{method: "GET", path: "/v1/blocks", key: b.keys[service.RoleStaff]}); r.status != http.StatusOK {
		t.Errorf("another key suffers too: %d", r.status)
	}
	if n := limited("tl_aaaaaaaa_guess"); n == 0 {
		t.Error("guessing keys is not limited")
	}
	for range 12 {
		b.do(call{method: "GET", path: "/healthz"}).want(http.StatusOK, nil)
	}
	b.do(call{method: "GET", path: "/docs"}).want(http.StatusOK, nil)
}

// A shop gains nothing by many keys.
func TestRateLimitOfAShop(t *testing.T) {
	t.Parallel()
	b := setup(t, func(_ *app.Config, c *api.Config) { c.PerSecond = 2 })
	refused := 0
	for role, key := range b.keys {
		if role == service.RolePublishable {
			continue // it has limits of its own
		}
		for range 4 { // each key alone may
			if b.do(call{method: "GET", path: "/v1/blocks", key: key}).status == http.StatusTooManyRequests {
				refused++
			}
		}
	}
	if refused == 0 || refused == 12 {
		t.Errorf("%d of the 12 requests of a shop's three keys were refused", refused)
	}
}
