package workroom_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tapeline/service"
)

// begin begins a style with a block, on the page that offers them.
func (w *window) begin(block, title string) {
	w.Helper()
	w.visit("/workroom/new-style")
	w.do(chromedp.SetValue("[name=title]", title), chromedp.Click(fmt.Sprintf(`[value="block:%s"]`, block)))
	w.press("Begin")
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
}

// fills fills in a field of a form as a person does.
func (w *window) fills(selector, value string) {
	w.Helper()
	w.do(chromedp.WaitVisible(selector), chromedp.SetValue(selector, value), chromedp.Evaluate(fmt.Sprintf(`{
		const field = document.querySelector(%q);
		for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, {bubbles: true})); }`, selector), nil))
}

// extend opens a blank that a sentence leaves out, or with "" its only blank.
func (w *window) extend(sentence, blank string) {
	w.Helper()
	w.do(chromedp.Click(w.blank("more", sentence)), chromedp.WaitVisible("#panel"))
	w.do(chromedp.Click(fmt.Sprintf(`//*[@id="panel"]//button[normalize-space()=%q]`, blank), chromedp.BySearch))
	w.until(fmt.Sprintf(`document.getElementById("panel").getAttribute("aria-label") == %q`, blank))
}

// apply applies the open form, and waits for the picture.
func (w *window) apply(words string) {
	w.Helper()
	w.awaitDraft(chromedp.Click(button(words), chromedp.BySearch))
}

// offered picks an edge in the lists beside the picture, and opens a sentence that can be
// said of it.
func (w *window) offered(piece, edge, verb string) {
	w.Helper()
	w.change("#pick-piece", piece)
	w.change("#pick-part", "edge/"+edge)
	choose := fmt.Sprintf(`[...document.querySelectorAll("#offers .offers button")]
		.find((b) => { const f = new URLSearchParams(b.value); return f.get("verb") == %q && f.get("pick_name") == %q &&
			f.get("pick_piece") == %q; })`, verb, edge, piece)
	// The list is loaded again after each picture.
	w.until(`document.querySelector("#adding fieldset") || (` + choose + `?.click(), false)`)
}

// blankIs fills in a blank of the open sentence: the one of a parameter, or of the
// argument of a name.
func (w *window) blankIs(param, name, form, field, value string) {
	w.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll("#adding fieldset")].find((f) =>
		f.querySelector("input[type=hidden]").value == %q && (%q == "" || f.querySelector("[name$='.name']").value == %q))`,
		param, name, name)
	w.until(find)
	w.do(chromedp.Evaluate(fmt.Sprintf(`{
		const set = %s;
		set.querySelector("input[type=radio][value=%s]").click();
		const field = set.querySelector("[name$='%s.%s']");
		field.value = %q;
		for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, {bubbles: true})); }`,
		find, form, form, field, value), nil))
}

// A cutter makes the guide's top by the page's own controls, without a word of script. What
// is saved is the script of the same steps in testdata/sentences.
func TestShellTopIsMade(t *testing.T) {
	t.Parallel()
	golden, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sentences", "shell-top.star"))
	if err != nil {
		t.Fatal(err)
	}
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	begun := time.Now()
	w.begin("straight", "Shell top")
	w.press("The style 2")
	w.extend("The style", "about")
	w.fills("#panel [name='word.word']", "A top without sleeves, pulled over the head, bound at neck and armholes.")
	w.apply("Apply")
	w.extend("The style", "cloths")
	w.fills("#panel [name='words.word']", "light woven: cotton, linen, viscose")
	w.apply("Apply")
	w.do(chromedp.Click(w.blank("4 cm", "The style")))
	w.fills("#panel [name='number.number']", "2")
	w.apply("Apply")
	for _, ease := range [][2]string{{"bust_girth", "20"}, {"hip_girth", "28"}} {
		w.extend("Offer the fit", "ease")
		w.fills("#panel [name=name]", ease[0])
		w.fills("#panel [name='number.number']", ease[1])
		w.apply("Apply")
	}
	w.picture("shell-1-head")
	w.shellNeck()
	w.shellBindings()
	w.offered("front", "neckline", "let_pass")
	w.blankIs("trunk", "", "words", "word", "front\nback")
	w.apply("Add this sentence")
	w.offered("front", "armhole", "let_pass")
	w.apply("Add this sentence")
	w.do(chromedp.Evaluate(`[...document.querySelectorAll("#sentences li")].find((l) =>
		l.innerText.startsWith("Let sewing be")).querySelector(".blank").click()`, nil))
	w.fills("#panel [name='words.word']", "Sew the shoulders and the sides.\n"+
		"Sew the bindings to rings; bind neck and armholes.\nTurn the hem up and stitch it.")
	w.apply("Apply")
	w.picture("shell-3-made")
	t.Logf("made in %s", time.Since(begun).Round(time.Second))
	w.press("Save as a draft")
	w.sees("Saved as revision 1, a draft.")
	got, err := s.service.Styles.Script(t.Context(), s.caller, "shell-top", 1)
	s.must(err)
	if got != string(golden) {
		t.Errorf("the saved script is\n%s", got)
	}
}

// shellNeck lowers the neck of front and back, and lets the customer choose how deep.
func (w *window) shellNeck() {
	w.Helper()
	w.offered("front", "neckline", "drop")
	w.blankIs("neighbour", "centre_front", "number", "number", "11")
	w.blankIs("neighbour", "shoulder", "number", "number", "4")
	w.apply("Add this sentence")
	w.do(chromedp.Click(w.blank("11 cm", "Lower the neckline of the front")))
	w.press("Let the customer choose this number")
	w.fills("#panel [name=name]", "neck depth")
	w.fills("#panel [name=help]", "Depth of the front neckline below the neck base.")
	w.fills("#panel [name=min]", "10")
	w.fills("#panel [name=max]", "18")
	w.apply("Let the customer choose")
	w.offered("back", "neckline", "drop")
	w.blankIs("neighbour", "centre_back", "number", "number", "2")
	w.blankIs("neighbour", "shoulder", "number", "number", "4")
	w.apply("Add this sentence")
	w.picture("shell-2-neck")
}

// shellBindings binds neck and armholes.
func (w *window) shellBindings() {
	w.Helper()
	for _, piece := range []string{"front", "back"} {
		w.offered(piece, "neckline", "allow")
		w.blankIs("edge", "neckline", "number", "number", "0")
		w.apply("Add this sentence")
		w.extend("Give the "+piece, "edge")
		w.fills("#panel [name=name]", "armhole")
		w.fills("#panel [name='number.number']", "0")
		w.apply("Apply")
	}
	w.offered("front", "neckline", "bind")
	w.blankIs("round", "", "yesno", "word", "yes")
	w.apply("Add this sentence")
	w.offered("front", "armhole", "bind")
	w.apply("Add this sentence")
}
