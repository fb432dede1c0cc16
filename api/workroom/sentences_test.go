package workroom_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tapeline/service"
	"tapeline/service/styles"
)

// blank is the CSS selector of the first blank that says a text, in a sentence that has
// another.
func (w *window) blank(says, in string) string {
	w.Helper()
	var id string
	find := fmt.Sprintf(`[...document.querySelectorAll("#sentences li > .said")].filter(s => s.innerText.replace(/\s+/g, " ").includes(%q))
		.flatMap(s => [...s.querySelectorAll(".blank")]).filter(b => b.innerText == %q).map(b => b.id)[0] || ""`, in, says)
	w.until(find)
	w.do(chromedp.Evaluate(find, &id))
	return "#" + id
}

// awaitDraft runs actions and waits until the page shows what they made.
func (w *window) awaitDraft(actions ...chromedp.Action) {
	w.Helper()
	var before int
	count := `Number(document.getElementById("writing").dataset.drafts || 0)`
	w.do(chromedp.Evaluate(count, &before))
	w.do(actions...)
	w.until(fmt.Sprintf("%s > %d", count, before))
}

// has waits until the form's script has a text.
func (w *window) has(text string) {
	w.Helper()
	w.until(fmt.Sprintf(`document.querySelector("[name=script]").value.includes(%q)`, text))
}

// A number is changed by its blank: typed, refused, applied by Enter, and taken back.
func TestNumberIsTyped(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write")
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
	w.accessible()
	w.picture("sentences")
	w.glance("sentences-glance")
	blank := w.blank("2 cm", "neckline")
	w.do(chromedp.Focus(blank), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible("#panel"))
	w.until(`document.activeElement.name == "number.number"`)
	w.accessible()
	w.picture("sentences-blank")
	w.do(chromedp.SetValue("#panel [name='number.number']", "two"), chromedp.KeyEvent(kb.Enter))
	w.sees("want a number of cm, such as 3.5")
	w.picture("sentences-refused")
	w.awaitDraft(chromedp.SetValue("#panel [name='number.number']", "2,5"), chromedp.KeyEvent(kb.Enter))
	w.has("centre_back = 25")
	w.until(`!document.getElementById("panel") && document.activeElement.innerText == "2.5 cm"`)
	w.awaitDraft(chromedp.KeyEvent("z", chromedp.KeyModifiers(2)))
	w.has("centre_back = 20")
	w.awaitDraft(chromedp.Click("#redo"))
	w.has("centre_back = 25")
	w.do(chromedp.Click(w.blank("2.5 cm", "neckline")), chromedp.WaitVisible("#panel"), chromedp.KeyEvent(kb.Escape))
	w.until(`!document.getElementById("panel") && document.activeElement.innerText == "2.5 cm"`)
	w.awaitDraft(chromedp.SetValue("#unit", "inch"), chromedp.Evaluate(`document.getElementById("unit").dispatchEvent(new Event("change", {bubbles: true}))`, nil))
	w.sees("1 inch")
	w.until(`location.search.includes("unit=inch")`)
	w.press("Save as a draft")
	w.sees("Saved as revision 1, a draft.")
	got, err := s.service.Styles.Script(t.Context(), s.caller, "first-top", 1)
	s.must(err)
	if want := strings.Replace(styles.Template(), "centre_back = 20", "centre_back = 25", 1); got != want {
		t.Errorf("the saved script is\n%s", got)
	}
}
