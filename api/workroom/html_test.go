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
	"tapeline/service/orders"
)

// Every page is well-formed HTML, as html-validate reads the standard, and small: the
// first page with all that it loads is under 150 kB.
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
	o := s.place("THR-2090", `Mara "V" <Vell> & Co`, nil)
	held := s.place("THR-2091", "Ines Aldo", func(n *orders.NewOrder) { n.Input.Measurements["wrist_girth"] = 12 })
	client := s.client(service.RoleAdmin)
	folder := t.TempDir()
	config := `{"extends": ["html-validate:standard"], "rules": {"no-inline-style": "error", "long-title": "off"}}`
	s.must(os.WriteFile(filepath.Join(folder, ".htmlvalidate.json"), []byte(config), 0o600))
	for i, path := range s.pages(o, held) {
		answer, err := client.Get(s.URL + path)
		s.must(err)
		body, err := io.ReadAll(answer.Body)
		s.must(err)
		_ = answer.Body.Close()
		if answer.StatusCode != http.StatusOK {
			t.Errorf("%s: %s", path, answer.Status)
		}
		s.must(os.WriteFile(filepath.Join(folder, strconv.Itoa(i)+".html"), body, 0o600))
	}
	cmd := exec.CommandContext(t.Context(), tool, "--formatter", "text", ".")
	cmd.Dir = folder
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("html-validate: %v\n%s\npages by number: %q", err, out, s.pages(o, held))
	}
}

// pages are the addresses of all pages about two orders.
func (s *site) pages(o, held orders.Order) []string {
	order, customer := "/workroom/orders/"+o.ID.String(), "/workroom/customers/"+o.CustomerID.String()
	return []string{"/workroom/orders", "/workroom/test-orders", "/workroom/orders?show=all&q=%3Cb%3E", order,
		order + "/fitting",
		"/workroom/orders/" + held.ID.String(), "/workroom/customers", customer, customer + "/measure", customer + "/erase",
		"/workroom/refits", "/workroom/refits/new?garment=block:torso"}
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
