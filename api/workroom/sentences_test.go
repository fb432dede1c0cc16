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
	find := fmt.Sprintf(`[...document.querySelectorAll("#sentences li > .said")]
		.filter(s => s.innerText.replace(/\s+/g, " ").includes(%q))
		.flatMap(s => [...s.querySelectorAll(".blank, .more")])
		.filter(b => b.innerText == %q || b.matches(".more") && "more" == %q).map(b => b.id)[0] || ""`, in, says, says)
	w.until(find)
	w.do(chromedp.Evaluate(find, &id))
	return "#" + id
}

// change chooses an option of a select, as a person does.
func (w *window) change(selector, value string) {
	w.Helper()
	w.do(chromedp.SetValue(selector, value), chromedp.Evaluate(fmt.Sprintf(
		`document.querySelector(%q).dispatchEvent(new Event("change", {bubbles: true}))`, selector), nil))
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
	w.change("#unit", "inch")
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

// Sentences are moved, removed and added, and a number becomes the customer's choice,
// by the keyboard and by the pointer; each act is one step to take back.
func TestSentencesAreArranged(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles")
	w.upload(styles.Template())
	w.visit("/workroom/styles/first-top/write")
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
	w.do(chromedp.Click(w.blank("more", "Sew back side")), chromedp.WaitVisible("#panel"))
	w.accessible()
	w.picture("sentence-more")
	w.awaitDraft(chromedp.Click(button("Move up"), chromedp.BySearch))
	w.until(`document.querySelector("[name=script]").value.search("back/side") <
		document.querySelector("[name=script]").value.search("back/shoulder")`)
	w.do(chromedp.Click(w.blank("more", "Bind neck")), chromedp.WaitVisible("#panel"), chromedp.KeyEvent(kb.Escape))

	w.do(chromedp.Click(w.blank("4 cm", "Call it front")), chromedp.WaitVisible("#panel"))
	w.press("Let the customer choose this number")
	w.do(chromedp.SetValue("#panel [name=name]", "Strap width"), chromedp.SetValue("#panel [name=help]", "How far out."),
		chromedp.SetValue("#panel [name=min]", "5"))
	w.press("Let the customer choose")
	w.sees("want limits around the usual 4 cm")
	w.do(chromedp.SetValue("#panel [name=min]", "3"))
	w.picture("sentence-choice")
	w.awaitDraft(chromedp.Click(button("Let the customer choose"), chromedp.BySearch))
	w.has(`choice("strap_width", "How far out.", length = (30, 80), default = 40)`)
	w.sees("the chosen strap width at the shoulder")

	w.press("Add a sentence")
	w.do(chromedp.WaitVisible("#filter"))
	w.accessible()
	w.picture("sentences-all")
	w.do(chromedp.SetValue("#filter", "notch"), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible("#adding fieldset"))
	w.accessible()
	w.picture("sentence-adding")
	w.do(chromedp.Click(w.way("edge", "word")))
	w.change("#adding fieldset:nth-of-type(2) select", "side")
	w.do(chromedp.Click(w.way("at", "number")),
		chromedp.SetValue("#adding fieldset:nth-of-type(3) input[name$='number.number']", "12"))
	w.awaitDraft(chromedp.Click(button("Add this sentence"), chromedp.BySearch))
	w.has(`notch(front, "side", 120)`)
	w.awaitDraft(chromedp.Click(w.blank("more", "12 cm along")), chromedp.WaitVisible("#panel"),
		chromedp.Click(button("Remove"), chromedp.BySearch))
	w.until(`!document.querySelector("[name=script]").value.includes("notch(")`)
	for range 4 {
		w.awaitDraft(chromedp.Click("#undo"))
	}
	w.until(`document.getElementById("undo").disabled`)
	w.until(fmt.Sprintf(`document.querySelector("[name=script]").value == %q`, styles.Template()))
}

// way is the selector of a way to fill in a blank of the sentence to add.
func (w *window) way(title, form string) string {
	w.Helper()
	var name string
	find := fmt.Sprintf(`[...document.querySelectorAll("#adding fieldset")]
		.filter(f => f.querySelector("legend").innerText == %q)
		.map(f => f.querySelector("input[type=radio]").name)[0] || ""`, title)
	w.until(find)
	w.do(chromedp.Evaluate(find, &name))
	return fmt.Sprintf("#adding input[name=%q][value=%q]", name, form)
}

// A sentence that does not hold says why at its place; one that is added to a seam is
// refused where its edges differ, and the rest of the page stays.
func TestSentenceDoesNotHold(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write")
	w.write(strings.Replace(styles.Template(), "over the head", `over <b id='bold'>the</b> head`, 1))
	w.do(chromedp.Click(w.blank("more", "Sew back side")), chromedp.WaitVisible("#panel"))
	w.press("ease")
	w.until(`document.getElementById("panel").getAttribute("aria-label") == "ease"`)
	w.accessible()
	w.awaitDraft(chromedp.SetValue("#panel [name='number.number']", "1"), chromedp.KeyEvent(kb.Enter))
	w.has(`seam("back/side", "front/side", ease = 10)`)
	w.until(`document.querySelector("#sentences li.is-wrong .wrong") && document.querySelector("#tried svg")`)
	w.accessible()
	w.picture("sentence-wrong")
	w.until(`document.querySelector("#bold") == null`)
	w.until(`document.querySelector("#sentences li.is-wrong").innerText.includes("easing in 1 cm")`)
	w.do(chromedp.Click(w.blank("1 cm", "easing")), chromedp.WaitVisible("#panel"))
	w.awaitDraft(chromedp.Click(button("Leave out"), chromedp.BySearch))
	w.until(`!document.querySelector("#sentences li.is-wrong")`)

	// The text and the sentences stay in step; what does not parse leaves the last sentences.
	w.press("Script")
	w.write(strings.Replace(styles.Template(), "shoulder = 40)", "shoulder = 40", 1))
	w.press("Sentences")
	w.sees("The script cannot be read as sentences")
	w.until(`document.querySelector("#sentences.stale li")`)
	w.picture("sentences-unread")
	w.write(strings.Replace(styles.Template(), "centre_back = 20", "centre_back = 33", 1))
	w.sees("3.3 cm")
	w.until(`!document.querySelector("#sentences.stale")`)
}

// Somebody else's revision is told before the page saves.
func TestRevisionIsSavedMeanwhile(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.upload(styles.Template())
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles/first-top/write")
	w.until(`document.getElementById("writing").dataset.ready == "yes"`)
	s.upload(strings.Replace(styles.Template(), "over the head", "over their head", 1))
	w.do(chromedp.Evaluate(`document.dispatchEvent(new Event("visibilitychange"))`, nil))
	w.sees("Revision 2 was saved by The admin today")
	w.sees("yours follows revision 1.")
	w.accessible()
	w.picture("sentences-ahead")
}

// What is picked in the picture lists what can be said of it, and marks the sentences that
// made it; a first guess is added as it stands.
func TestSentenceIsOffered(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write")
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
	w.change("#pick-piece", "front")
	w.change("#pick-part", "edge/neckline")
	w.sees("What can be said of the front neckline")
	w.until(`document.querySelector("#sentences li.is-picked").innerText.includes("an allowance")`) // changed it last
	w.change("#pick-part", "edge/side")
	w.sees("What can be said of the front side")
	w.accessible()
	w.picture("offers")
	w.do(chromedp.Click(`//button[@name="offer"][starts-with(normalize-space(), "Swing the side of the front out by")]`,
		chromedp.BySearch))
	w.until(`document.querySelector("#adding button[name=edit]")`)
	w.accessible()
	w.picture("offer")
	w.awaitDraft(chromedp.Click(button("Add this sentence"), chromedp.BySearch))
	w.has(`front = flare(front, "side", "hem", `)
	w.until(`document.querySelector("#sentences li.is-picked").innerText.includes("Swing the")`)
	w.picture("offered")
	w.press("Save as a draft")
	w.sees("Saved as revision 1, a draft.")
	w.visit("/workroom/new-style/write?from=shift-dress")
	w.until(`document.getElementById("writing").dataset.sizes >= 1`)
	w.picture("sentences-dress")
	for _, width := range []int64{320, 390, 3840} {
		w.do(chromedp.EmulateViewport(width, 900))
		w.fits(fmt.Sprint(width))
		w.picture(fmt.Sprintf("sentences-%d", width))
	}
}

// A blank that is open is filled in by dragging its point: the number and the script follow
// each step, and undo takes the whole drag back.
func TestBlankIsDragged(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write")
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
	w.do(chromedp.Click(w.blank("2 cm", "neckline")), chromedp.WaitVisible("#panel"))
	w.until(`!document.getElementById("handle").hidden`)
	w.do(chromedp.Focus("#handle"))
	for range 3 {
		w.do(chromedp.KeyEvent(kb.ArrowDown))
	}
	w.has("centre_back = 17,")
	w.until(`document.querySelector("#panel [name='number.number']").value == "1.7"`)
	w.until(`document.activeElement.id == "handle"`)
	w.do(chromedp.KeyEvent(kb.PageDown), chromedp.KeyEvent(kb.ArrowDown)) // 6 mm: a digit less
	w.has("centre_back = 6,")
	w.do(chromedp.KeyEvent(kb.PageUp), chromedp.KeyEvent(kb.PageUp))
	w.has("centre_back = 26,")
	w.until(`document.querySelector("#panel").dataset.end - document.querySelector("#panel").dataset.start == 2`)
	w.picture("sentence-dragged")
	w.do(chromedp.Focus("#panel [name='number.number']"), chromedp.KeyEvent(kb.Escape))
	w.until(`document.getElementById("handle").hidden`)
	w.awaitDraft(chromedp.Click("#undo"))
	w.has("centre_back = 20,")
}
