package workroom_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tapeline/api/workroom"
)

// No text breaks a page: what cannot be stored or is too long is refused in words.
func TestNoTextBreaksAPage(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	_, token, has := s.fill("plain-seam", "Plain Seam")
	stay := func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	client := http.Client{CheckRedirect: stay}
	fields := []string{"reference", "name", "reason", "note",
		"assignee", "due_date", "url", "description", "script", "csv",
		"q", "act", "event", "expires_at", "time_zone", "retention_days", "progress", "paper", "back", "bodies", "key",
		"m.bust_girth", "a.sway_back", "unit", "role", "garment", "from", "to", "fit", "style", "was.note", "levels"}
	for _, text := range []string{"\x00", "a\xffb", "\u202ex", strings.Repeat("long ", 5000), "<script>\n'\"&"} {
		form := url.Values{"order": {has["order"]}}
		for _, field := range fields {
			form.Set(field, text)
		}
		for _, route := range s.routes() {
			if last := route.Path[strings.LastIndex(route.Path, "/"):]; last == "/sign-out" || last == "/follow" ||
				last == "/revoke" || last == "/end" { // ends the session, or does not end
				continue
			}
			address := s.URL + parameter.ReplaceAllStringFunc(route.Path, func(name string) string { return has[name[1:]] })
			if route.Method == http.MethodGet {
				short := text[:min(len(text), 300)]
				address += "?" + url.Values{"q": {short}, "assignee": {short}, "due": {short}, "unit": {short}}.Encode()
			}
			r, err := http.NewRequestWithContext(t.Context(), route.Method, address, strings.NewReader(form.Encode()))
			s.must(err)
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.AddCookie(&http.Cookie{Name: workroom.Cookie, Value: token})
			answer, err := client.Do(r)
			s.must(err)
			body := s.read(answer)
			if answer.StatusCode >= http.StatusInternalServerError || strings.Contains(body, "<script>\n'") {
				t.Errorf("%s %s with %.10q: status %d", route.Method, route.Path, text, answer.StatusCode)
			}
		}
	}
}
