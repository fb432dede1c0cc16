package workroom_test

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"tapeline/service"
)

// Every page is well-formed HTML, as html-validate reads the standard.
func TestPagesAreValid(t *testing.T) {
	t.Parallel()
	tool, err := filepath.Abs("../../testdata/outside/node_modules/.bin/html-validate")
	if _, statErr := os.Stat(tool); err != nil || statErr != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatal("html-validate is not installed: npm ci in testdata/outside")
		}
		t.Skip("html-validate is not installed")
	}
	s := newSite(t)
	pages := s.everyPage()
	client := s.client(service.RoleAdmin)
	folder := t.TempDir()
	config := `{"extends": ["html-validate:standard"], "rules": {"no-inline-style": "error", "long-title": "off"}}`
	s.must(os.WriteFile(filepath.Join(folder, ".htmlvalidate.json"), []byte(config), 0o600))
	for i, p := range pages {
		request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.URL+p.path, nil)
		s.must(err)
		request.Header.Set("Accept", "text/html") // a link hands out its file to others
		answer, err := client.Do(request)
		s.must(err)
		body, err := io.ReadAll(answer.Body)
		s.must(err)
		_ = answer.Body.Close()
		if answer.StatusCode != p.status {
			t.Errorf("%s: %s, want %d", p.path, answer.Status, p.status)
		}
		s.must(os.WriteFile(filepath.Join(folder, strconv.Itoa(i)+".html"), body, 0o600))
	}
	cmd := exec.CommandContext(t.Context(), tool, "--formatter", "text", ".")
	cmd.Dir = folder
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("html-validate: %v\n%s\npages by number: %v", err, out, pages)
	}
}

// client returns a client that signed in with the key of a role.
func (s *site) client(role service.Role) *http.Client {
	s.Helper()
	jar, err := cookiejar.New(nil)
	s.must(err)
	client := &http.Client{Jar: jar}
	answer, err := client.PostForm(s.URL+"/workroom/sign-in", url.Values{"key": {s.keys[role]}})
	s.must(err)
	_ = answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		s.Fatalf("sign in: %s", answer.Status)
	}
	return client
}
