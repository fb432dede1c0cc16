package api_test

import (
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"tapeline/api"
	"tapeline/api/workroom"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/app"
)

// A page's session at the API, after OWASP's Session Management Cheat Sheet (sessions
// expire when idle and absolutely, and end on the server) and its Cross-Site Request
// Forgery Prevention Cheat Sheet (fetch metadata, with the origin as the fallback).
func TestSessionOfAPage(t *testing.T) {
	t.Parallel()
	var passed atomic.Int64 // time that has passed, by the service's clock
	b := setup(t, func(c *app.Config, _ *api.Config) {
		c.Now = func() time.Time { return time.Now().Add(time.Duration(passed.Load())) }
	})
	admin := service.Caller{Shop: b.shop.ID}
	open := func() (token string, key access.Key) {
		b.Helper()
		key, secret, err := b.service.Access.CreateKey(t.Context(), admin,
			access.NewKey{Name: "page", Role: service.RoleAdmin})
		b.must(err)
		token, _, err = b.service.Access.SignIn(t.Context(), secret)
		b.must(err)
		return token, key
	}
	list := func(token string) int {
		return b.do(call{method: http.MethodGet, path: "/v1/api-keys",
			header: map[string]string{"Cookie": workroom.Cookie + "=" + token}}).status
	}
	token, key := open()
	for name, tt := range map[string]struct {
		header map[string]string
		want   int
	}{
		"from the page":                  {map[string]string{"Sec-Fetch-Site": "same-origin"}, http.StatusCreated},
		"from another site":              {map[string]string{"Sec-Fetch-Site": "cross-site"}, http.StatusForbidden},
		"from another host of the site":  {map[string]string{"Sec-Fetch-Site": "same-site"}, http.StatusForbidden},
		"from another origin, of old":    {map[string]string{"Origin": "https://elsewhere.example"}, http.StatusForbidden},
		"from an origin that is unknown": {map[string]string{"Origin": "null"}, http.StatusForbidden},
	} {
		before, err := b.service.Access.Keys(t.Context(), admin)
		b.must(err)
		tt.header["Cookie"] = workroom.Cookie + "=" + token
		got := b.do(call{method: http.MethodPost, path: "/v1/api-keys", body: map[string]any{"name": "x", "role": "shop"},
			header: tt.header}).status
		after, err := b.service.Access.Keys(t.Context(), admin)
		b.must(err)
		if made := len(after) - len(before); got != tt.want || made != 0 != (got == http.StatusCreated) {
			t.Errorf("%s: status %d with %d keys made, want %d", name, got, made, tt.want)
		}
	}
	if got := list(token); got != http.StatusOK {
		t.Errorf("a session that is open: status %d", got)
	}
	b.must(b.service.Access.RevokeKey(t.Context(), admin, key.ID))
	if got := list(token); got != http.StatusUnauthorized {
		t.Errorf("the session of a revoked key: status %d, want 401", got)
	}
	// Idle: used after 119 minutes it lives on, unused for 120 it has ended.
	token, _ = open()
	passed.Add(int64(119 * time.Minute))
	if got := list(token); got != http.StatusOK {
		t.Errorf("a session after 119 idle minutes: status %d", got)
	}
	passed.Add(int64(120*time.Minute + time.Second))
	if got := list(token); got != http.StatusUnauthorized {
		t.Errorf("a session after two idle hours: status %d, want 401", got)
	}
	// Twelve hours end one that is used all the time.
	token, _ = open()
	for range 11 {
		passed.Add(int64(time.Hour))
		if got := list(token); got != http.StatusOK {
			t.Fatalf("a session within twelve hours: status %d", got)
		}
	}
	passed.Add(int64(time.Hour + time.Second))
	if got := list(token); got != http.StatusUnauthorized {
		t.Errorf("a session after twelve hours: status %d, want 401", got)
	}
}
