package workroom_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/styles"
)

// endSessions ends every session of the shop.
func (s *site) endSessions() {
	s.Helper()
	list, err := s.service.Access.Sessions(s.Context(), s.caller)
	s.must(err)
	for _, session := range list {
		s.must(s.service.Access.EndSession(s.Context(), s.caller, session.ID))
	}
}

// A script is shown again after its writer had to sign in, and saved as it was typed.
func TestSessionEndsWhileWriting(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write")
	mine := strings.Replace(styles.Template(), `"First top"`, `'Top <of> "mine" & yours'`, 1)
	w.write(mine)
	s.endSessions()
	w.press("Next body")
	w.sees("what you typed is still here")
	w.press("Save as a draft")
	w.sees("Your session has ended.")
	w.do(chromedp.SetValue("#key", "tl_wrong"), chromedp.Submit("#key"))
	w.do(chromedp.WaitVisible("#wrong"))
	w.sees("nothing of what you typed is lost")
	w.accessible()
	w.picture("sign-in-kept")
	w.do(chromedp.SetValue("#key", s.keys[service.RoleStaff]), chromedp.Submit("#key"))
	w.sees("You are signed in again")
	w.accessible()
	w.picture("kept")
	w.press("Send it now")
	w.sees("Saved as revision 1, a draft.")
	got, err := s.service.Styles.Script(t.Context(), s.caller, "first-top", 1)
	s.must(err)
	if got != mine {
		t.Errorf("the saved script is not what was typed:\n%s", got)
	}
}

// A number that is typed in a blank stays when the session has ended, and is applied after
// signing in again beside the page.
func TestSessionEndsWhileChanging(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write")
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
	w.do(chromedp.Click(w.blank("2 cm", "neckline")), chromedp.WaitVisible("#panel"),
		chromedp.SetValue("#panel [name='number.number']", "2.9"))
	s.endSessions()
	w.press("Apply")
	w.sees("what you typed is still here")
	w.sees("Nothing was changed.")
	w.accessible()
	w.picture("sentence-session-ended")
	w.do(chromedp.Evaluate(fmt.Sprintf(`fetch("/workroom/sign-in", {method: "POST", body: new URLSearchParams({key: %q})})
		.then((answer) => { document.body.dataset.back = answer.ok; })`, s.keys[service.RoleStaff]), nil))
	w.until(`document.body.dataset.back == "true"`)
	w.awaitDraft(chromedp.Click(button("Apply"), chromedp.BySearch))
	w.has("centre_back = 29")
}

// Measurements are shown again after the key of who typed them was revoked.
func TestKeyIsRevokedWhileMeasuring(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2095", "Mara Vell", nil)
	key, secret, err := s.service.Access.CreateKey(t.Context(), s.caller,
		access.NewKey{Name: "Ines", Role: service.RoleStaff})
	s.must(err)
	other := s.keys[service.RoleStaff]
	s.keys[service.RoleStaff] = secret
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/customers/" + o.CustomerID.String() + "/measure")
	w.do(chromedp.SetValue("#m-bust_girth", "93,5"))
	s.must(s.service.Access.RevokeKey(t.Context(), s.caller, key.ID))
	w.press("Save as version 2")
	w.sees("Your session has ended.")
	w.do(chromedp.SetValue("#key", other), chromedp.Submit("#key"))
	w.sees("You are signed in again")
	w.until(`document.querySelector("input[name='m.bust_girth']").value == "93,5"`)
	w.press("Send it now")
	w.sees("Saved as version 2.")
	sets, _, err := s.service.Customers.Sets(t.Context(), s.caller, o.CustomerID, service.Page{Limit: 1})
	s.must(err)
	if got := sets[0].In("cm")["bust_girth"]; got != 93.5 {
		t.Errorf("bust girth %g, want 93.5", got)
	}
}

// A customer who was erased while a page was open is named as such.
func TestErasedWhileOpen(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	o := s.place("THR-2096", "Mara Vell", nil)
	w := s.open().signIn(service.RoleStaff)
	customer, order := "/workroom/customers/"+o.CustomerID.String(), "/workroom/orders/"+o.ID.String()
	w.visit(customer + "/measure")
	_, err := s.service.Customers.Erase(t.Context(), s.caller, o.CustomerID)
	s.must(err)
	w.press("Save as version 2")
	w.sees("erased")
	w.accessible()
	for _, path := range []string{customer, customer + "/measure", order, order + "/fitting"} {
		w.visit(path)
		w.sees("erased")
		w.accessible()
	}
	w.picture("erased")
}

// A form that is too large is refused in words; the editor does not even send it.
func TestFormIsTooLarge(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.upload(styles.Template())
	client := s.client(service.RoleStaff)
	for path, form := range map[string]url.Values{
		"/workroom/styles/first-top/write":             {"script": {strings.Repeat("# a comment\n", 100_000)}},
		"/workroom/styles/first-top/revisions/1/prove": {"csv": {strings.Repeat("92,74\n", 400_000)}},
		"/workroom/sign-in":                            {"key": {strings.Repeat("x", 2<<20)}},
	} {
		answer, err := client.PostForm(s.URL+path, form)
		s.must(err)
		var page strings.Builder
		_ = answer.Write(&page)
		_ = answer.Body.Close()
		if answer.StatusCode != http.StatusRequestEntityTooLarge || !strings.Contains(page.String(), "A form may have 1 MB") {
			t.Errorf("%s: %s\n%s", path, answer.Status, page.String())
		}
	}
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles/first-top/write")
	w.write(styles.Template() + strings.Repeat("# a comment\n", 12_000))
	w.press("Save as revision 2")
	w.sees("at most 131072 are saved")
	w.until(`document.querySelector(".cm-content").innerText.includes("sleeveless")`)
}
