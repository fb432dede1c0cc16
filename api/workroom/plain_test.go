package workroom_test

import (
	"io"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tapeline/service"
	"tapeline/service/styles"
)

// Without scripts of the browser a sentence is opened, refused, changed and saved by
// forms alone.
func TestSentencesWithoutScripts(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	client := s.client(service.RoleStaff)
	script := styles.Template()
	send := func(more url.Values) string {
		form := url.Values{"script": {script}, "base": {"0"}, "unit": {"cm"}}
		for name, values := range more {
			form[name] = values
		}
		answer, err := client.PostForm(s.URL+"/workroom/new-style/write", form)
		s.must(err)
		defer answer.Body.Close()
		page, err := io.ReadAll(answer.Body)
		s.must(err)
		return string(page)
	}
	holds := func(page, text string) {
		t.Helper()
		if !strings.Contains(page, text) {
			t.Errorf("the page does not have %q", text)
		}
	}
	page := send(url.Values{"act": {"show"}})
	_, made, _ := strings.Cut(page, "How it is made")
	place := regexp.MustCompile(`name="open" value="(blank[^"]*)"[^>]*>2 cm<`).FindStringSubmatch(made)
	if place == nil {
		t.Fatal("the page has no blank of 2 cm")
	}
	page = send(url.Values{"open": {place[1]}})
	apply := regexp.MustCompile(`name="edit" value="([^"]*)">Apply<`).FindStringSubmatch(page)
	if apply == nil {
		t.Fatal("the blank does not open")
	}
	edit := strings.ReplaceAll(apply[1], "&amp;", "&")
	page = send(url.Values{"edit": {edit}, "open": {place[1]}, "form": {"number"}, "number.number": {"<b>wide</b>"}})
	holds(page, "want a number of cm, such as 3.5")
	holds(page, `value="&lt;b&gt;wide&lt;/b&gt;"`)
	page = send(url.Values{"edit": {edit}, "open": {place[1]}, "form": {"number"}, "number.number": {"2.7"}})
	holds(page, "centre_back = 27")
	holds(page, ">2.7 cm</button>")
	page = send(url.Values{"offer": {"offer=all"}})
	holds(page, "All sentences")
	page = send(url.Values{"offer": {"offer=one&verb=notch"}})
	holds(page, "Add this sentence")
	script = strings.Replace(script, "centre_back = 20", "centre_back = 27", 1)
	holds(send(url.Values{"act": {"save"}}), "Saved as revision 1, a draft.")
	script = "style("
	page = send(url.Values{"edit": {edit}, "form": {"number"}, "number.number": {"2.7"}})
	holds(page, "The script cannot be read")
}
