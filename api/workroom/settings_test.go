package workroom_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/access"
)

// An admin makes a key, whose secret is shown once, and revokes it: the session that
// was opened with it ends. Staff learn that the page is for admins.
func TestKeyIsCreatedAndRevoked(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	staff := s.open().signIn(service.RoleStaff)
	staff.visit("/workroom/settings")
	staff.sees("For admins")
	w := s.open().signIn(service.RoleAdmin)
	w.press("Settings")
	w.sees("Sessions of the workroom")
	w.accessible()
	name := `<script>alert("x")</script>`
	w.do(chromedp.SetValue("input[name=name]", name))
	w.press("Create the key")
	w.sees("it is shown only once")
	w.sees(name)
	w.picture("settings-keys")
	var secret string
	w.do(chromedp.Text(".secret", &secret))
	token, _, err := s.service.Access.SignIn(t.Context(), secret)
	s.must(err)
	w.visit("/workroom/settings")
	var shown string
	w.do(chromedp.Text("main", &shown))
	if strings.Contains(shown, secret) {
		t.Error("the secret is shown a second time")
	}
	w.do(chromedp.Click("details summary")) // the newest key is the first
	w.press("Revoke for good")
	w.sees("Revoked.")
	w.sees("revoked")
	if _, err := s.service.Access.Session(t.Context(), token); err == nil {
		t.Error("the session of the revoked key is open")
	}
	w.do(chromedp.SetValue("input[name=name]", "Old"), chromedp.SetValue("input[name=expires_at]", "2020-01-01"))
	w.press("Create the key")
	w.sees("A time in the future.")
	w.accessible()
}

// A key for the shop's pages names their origins.
func TestPublishableKeyIsCreated(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleAdmin)
	w.visit("/workroom/settings")
	w.do(chromedp.SetValue("input[name=name]", "Order form"), chromedp.SetValue("select[name=role]", "publishable"))
	w.press("Create the key")
	w.sees("A publishable key needs at least one")
	w.do(chromedp.SetValue("textarea[name=origins]", "https://shop.example\nhttp://localhost:3000"))
	w.press("Create the key")
	w.sees("it is shown only once")
	w.sees("http://localhost:3000")
	w.accessible()
	keys, err := s.service.Access.Keys(t.Context(), s.caller)
	s.must(err)
	if keys[0].Role != service.RolePublishable || len(keys[0].Origins) != 2 {
		t.Errorf("created %+v", keys[0])
	}
}

// An admin ends another person's session, which then leads to the sign-in page.
func TestSessionIsEnded(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	staff := s.open().signIn(service.RoleStaff)
	w := s.open().signIn(service.RoleAdmin)
	w.visit("/workroom/settings")
	w.press("End the session of The staff")
	w.sees("The session has ended.")
	staff.visit("/workroom/orders")
	staff.sees("Sign in to the workroom")
}

// An admin registers an endpoint, tests it, sees the attempt fail, mends it and sends
// the message again.
func TestEndpointIsTested(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	var works atomic.Bool
	receiver := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if !works.Load() {
			w.WriteHeader(http.StatusGone)
		}
	}))
	t.Cleanup(receiver.Close)
	w := s.open().signIn(service.RoleAdmin)
	w.visit("/workroom/settings/webhooks")
	w.accessible()
	w.picture("settings-webhooks")
	w.do(chromedp.SetValue("input[name=url]", "ftp://shop.example/hooks"))
	w.press("Register the endpoint")
	w.sees("A new endpoint")
	w.do(chromedp.WaitVisible(".wrong"))
	w.do(chromedp.SetValue("input[name=url]", receiver.URL+"/hooks"),
		chromedp.SetValue("input[name=description]", "The web shop"))
	w.press("Register the endpoint")
	w.sees("whsec_")
	w.picture("settings-endpoint")
	w.press("Send a test message")
	w.sees("gone") // the page follows the attempts
	w.sees("410")
	w.accessible()
	works.Store(true)
	w.press(receiver.URL + "/hooks")
	w.sees("disabled gone")
	w.accessible()
	w.press("Enable")
	w.sees("Enabled.")
	w.press("endpoint.test")
	w.press("Send it again")
	w.sees("200")
	w.sees("delivered")
	w.picture("settings-message")
	w.press(receiver.URL + "/hooks")
	w.do(chromedp.Click(`input[value="order.held"]`))
	w.press("Save")
	w.sees("Saved.")
	list, err := s.service.Webhooks.Endpoints(t.Context(), s.caller)
	s.must(err)
	if len(list) != 1 || len(list[0].Events) != 9 {
		t.Errorf("endpoints %+v, want one with all but order.held", list)
	}
	w.press("New secret")
	w.press("Make a new secret")
	w.sees("the former secret signs too until")
	w.press("Disable")
	w.sees("disabled by request")
	w.press("Delete")
	w.press("Delete the endpoint")
	w.sees("Nothing is sent yet.")
}

// An admin sets the levels of the check and how long customers are kept, and finds
// both in the audit trail.
func TestRulesAreSet(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleAdmin)
	w.visit("/workroom/settings/rules")
	w.accessible()
	w.do(chromedp.SetValue("input[name=confirm]", "2"), chromedp.SetValue("input[name=refuse]", "50"))
	w.press("Save the levels")
	w.sees("From 90 to 99.99 %.")
	w.do(chromedp.Clear("input[name=refuse]"))
	w.press("Save the levels")
	w.sees("At most the chance at which the order asks.")
	w.do(chromedp.SetValue("input[name=confirm]", "20,5"))
	w.press("Save the levels")
	w.sees("Saved. The levels apply to later checks.")
	levels, err := s.service.Customers.Levels(t.Context(), s.caller)
	s.must(err)
	if levels.Confirm != 0.205 {
		t.Errorf("confirms from %v, want 0.205", levels.Confirm)
	}
	w.do(chromedp.SetValue("input[name=retention_days]", "400"))
	w.press("Save the time")
	w.sees("confirm it")
	w.do(chromedp.SetValue("input[name=retention_days]", "5000"), chromedp.Click("input[name=sure]"))
	w.press("Save the time")
	w.sees("1 to 3650 days")
	w.accessible()
	w.do(chromedp.SetValue("input[name=retention_days]", "400"), chromedp.Click("input[name=sure]"))
	w.press("Save the time")
	w.sees("Now: 400 days after the last order")
	w.picture("settings-rules")
	w.do(chromedp.SetValue("input[name=time_zone]", "Lisbon"))
	w.press("Save the time zone")
	w.sees("name of the IANA time zone database")
	w.do(chromedp.SetValue("input[name=time_zone]", "Europe/Lisbon"))
	w.press("Save the time zone")
	w.sees("Saved.")
	w.do(chromedp.Click("input[name=fit_each_draft]"), chromedp.SetValue("select[name=hold_on_fitting]", "tight"))
	w.press("Save when drafts are tried on")
	w.do(chromedp.WaitVisible("input[name=fit_each_draft][checked]"))
	set, err := s.service.Access.Settings(t.Context(), s.caller)
	if err != nil || set != (access.Settings{TimeZone: "Europe/Lisbon", RetentionDays: 400, FitEachDraft: true,
		HoldOnFitting: "tight"}) {
		t.Errorf("settings %+v (%v), want 400 days in Europe/Lisbon, each draft tried on and held if tight", set, err)
	}
	w.picture("settings-fitting")
	w.visit("/workroom/settings/audit")
	w.sees("shop.check_levels_set")
	w.accessible()
	w.picture("settings-audit")
	w.do(chromedp.SetValue("select[name=action]", "shop.retention_set"))
	w.press("Show")
	w.sees("days: 400")
	entries, _, err := s.service.Access.Audit(t.Context(), s.caller, access.Filter{Action: "shop.retention_set"}, 0, 10)
	s.must(err)
	if len(entries) != 1 || entries[0].Actor == nil || *entries[0].Actor != s.caller.Key {
		t.Errorf("audit entries %+v, want one of the admin's key", entries)
	}
}
