package workroom_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/styles"
)

// write replaces the script in the editor, as if it were typed, and waits until it
// is drafted.
func (w *window) write(script string) {
	w.Helper()
	var before int
	count := `Number(document.getElementById("writing").dataset.drafts || 0)`
	w.until(`document.getElementById("writing").dataset.ready == "yes"`)
	w.do(chromedp.Evaluate(count, &before), chromedp.Evaluate(fmt.Sprintf(`(() => {
			const view = window.CodeMirror.EditorView.findFromDOM(document.querySelector(".cm-editor"));
			view.dispatch({changes: {from: 0, to: view.state.doc.length, insert: %q}}); })()`, script), nil))
	w.until(fmt.Sprintf("%s > %d", count, before))
}

// until waits until an expression is true in the page.
func (w *window) until(expression string) {
	w.Helper()
	for range 1200 { // a minute: other work may have the processors
		var is bool
		if err := chromedp.Run(w.ctx, chromedp.Evaluate("!!("+expression+")", &is)); err == nil && is {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	w.fail(fmt.Errorf("%s does not come true", expression))
}

// crowd returns a table of n bodies of about middle size, whose waist is small.
func crowd(n int) string {
	var csv strings.Builder
	csv.WriteString("bust_girth,waist_girth,hip_girth,neck_base_girth,shoulder_length,back_width,nape_to_waist," +
		"waist_to_hip,upper_arm_girth,wrist_girth,arm_length\n")
	for i := range n {
		fmt.Fprintf(&csv, "%.1f,74,98,37,12.6,35,41,20.5,29,16,58\n", 92+float64(i)/10)
	}
	return csv.String()
}

// upload stores a script as a revision.
func (s *site) upload(script string) styles.Detail {
	s.Helper()
	d, err := s.service.Styles.Upload(s.Context(), s.caller, styles.NewRevision{Script: script})
	s.must(err)
	return d
}

// A cutter starts a style from the template, changes it, sees what it makes, saves
// it, proves it, and publishes it.
func TestStyleIsWritten(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles")
	w.sees("Our own")
	w.accessible()
	w.picture("styles")
	w.press("Make a style")
	w.sees("Give it a title")
	w.accessible()
	w.picture("new-style")
	w.do(chromedp.SetValue("[name=title]", "First top"), chromedp.Click(`[value="small:top"]`))
	w.press("Begin")
	w.sees("measures read back")
	w.sees("Other bodies")
	w.accessible()
	w.picture("write")
	w.glance("workroom-write")
	w.write(strings.Replace(styles.Template(), "back = drop(", "back = dorp(", 1))
	line := 1 + strings.Count(styles.Template()[:strings.Index(styles.Template(), "back = drop(")], "\n")
	w.sees(fmt.Sprintf("Line %d: Undefined: dorp", line))
	w.until(`document.querySelector(".cm-lintRange-error") && document.querySelector(".stale svg")`)
	w.picture("write-wrong")
	w.write(strings.Replace(styles.Template(), "centre_back = 20", "centre_back = 22", 1))
	w.press("Save as a draft")
	w.sees("Saved as revision 1, a draft.")
	w.press("Prove or publish revision 1")
	w.sees("has not been proved")
	w.until(`document.querySelector(".picture svg")`)
	w.accessible()
	w.picture("style")
	w.press("Publish")
	w.sees("Not published: The revision has not been proved.")
	w.press("Prove on the built-in panel")
	w.sees("Worth looking at")
	w.until(`[...document.querySelectorAll(".pictures img")].every((image) => image.complete && image.naturalWidth > 0)`)
	w.accessible()
	w.picture("proof")
	w.press("Publish revision 1")
	w.sees("It takes orders from now on.")
	w.press("Retire")
	w.sees("It takes no new orders")
}

// A style whose drafts cannot be put on is published only after a second question that
// names their number.
func TestStyleWithFaultsIsPublished(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	narrow := strings.Replace(styles.Template(), `"suppression": "none", "ease": wide`, `"suppression": "full"`, 1)
	s.upload(narrow)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles/first-top?revision=1&ask=publish")
	w.sees("has not been proved")
	w.press("Prove on a table of bodies")
	w.do(chromedp.SetValue("textarea[name=csv]", crowd(20)))
	w.press("Prove on these")
	w.sees("0 clean, 60 with faults, 0 refused, 0 failed.")
	w.picture("proof-faults")
	w.press("Publish revision 1")
	w.sees("Publish it although 60 of 60 drafts have faults?")
	w.accessible()
	w.picture("style-faults")
	w.press("Look at the faults")
	w.sees("What a cutter would send back")
	w.press("Publish revision 1")
	w.press("Publish with 60 faulty drafts")
	w.sees("It takes orders from now on.")
}

// Of two people on one style the second is told, and loses nothing.
func TestTwoWriteOneStyle(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.upload(styles.Template())
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles/first-top/write")
	mine := strings.Replace(styles.Template(), "over the head", "over my head", 1)
	w.write(mine)
	theirs := strings.Replace(styles.Template(), "over the head", "over their head", 1)
	s.upload(theirs)
	w.press("Save as revision 2")
	w.sees("Revision 2 was saved meanwhile, and this script was made from revision 1.")
	w.sees("Nothing was overwritten")
	w.until(`document.querySelector(".cm-content").innerText.includes("over my head")`)
	w.accessible()
	w.picture("write-two")
	w.press("Let my script follow revision 2")
	w.until(`document.querySelector("button[value=save]").innerText == "Save as revision 3"`)
	w.press("Save as revision 3")
	w.sees("Saved as revision 3, a draft.")
	for number, want := range map[int]string{2: theirs, 3: mine} {
		got, err := s.service.Styles.Script(t.Context(), s.caller, "first-top", number)
		s.must(err)
		if got != want {
			t.Errorf("revision %d is not what was saved as it", number)
		}
	}
	// A new style does not become a revision of one that has its slug.
	w.visit("/workroom/new-style/write")
	w.write(mine)
	w.press("Save as a draft")
	w.sees("The shop has a style first-top already")
}

// The hostile and the broken are said in words, and the script stays.
func TestHostileScript(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style/write?as=script")
	for name, c := range map[string]struct{ script, says string }{
		"endless": {strings.Replace(styles.Template(), "    seams = [",
			"    for i in range(100000):\n        length(front, \"neckline\")\n    seams = [", 1), "It takes too long"},
		"hostile": {strings.Replace(styles.Template(), `"First top"`, `"<script>alert(1)</script><b id='bold'>\"&"`, 1),
			`<script>alert(1)</script>`},
		"empty":  {"", "The script declares no style(...)."},
		"syntax": {"style(\n  slug = \"a\"\n  title\n)", "Line 3"},
		"refused": {strings.Replace(styles.Template(), "    seams = [",
			"    require(False, \"too <b>wide</b>\")\n    seams = [", 1),
			"Not on this body"},
	} {
		w.write(c.script)
		w.sees(c.says)
		w.until(`document.getElementById("bold") == null`)
		w.picture("write-" + name)
	}
	w.write("style(")
	w.press("Save as a draft")
	w.sees("Not saved")
	w.until(`document.querySelector(".cm-content").innerText.startsWith("style(")`)
}

// Bodies and choices are gone through without touching the script, and a built-in
// style is copied under a slug of its own.
func TestStyleIsStartedFromAnother(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles/shift-dress")
	w.sees("with the program")
	w.until(`document.querySelector(".picture svg")`)
	w.accessible()
	w.picture("style-built-in")
	w.press("Make a style of it")
	w.sees("Other bodies")
	w.until(`document.querySelector(".cm-content").innerText.includes('"shift-dress-2"')`)
	chosen := func(id string) (value string) {
		w.do(chromedp.Evaluate(fmt.Sprintf("document.getElementById(%q).value", id), &value))
		return value
	}
	body, variant := chosen("body"), chosen("variant")
	w.press("Next body")
	w.until(fmt.Sprintf(`document.getElementById("body").value != %q && document.querySelector("#tried svg")`, body))
	w.press("Next choices")
	w.until(fmt.Sprintf(`document.getElementById("variant").value != %q`, variant))
	w.until(`document.activeElement.dataset.step == "variant"`)
	w.do(chromedp.EmulateViewport(390, 844))
	w.accessible()
	w.picture("write-narrow")
	w.press("Save as a draft")
	w.sees("Saved as revision 1, a draft.")
	w.visit("/workroom/styles/shift-dress-2")
	w.sees("revision 1 of 1")
	w.picture("style-narrow")
	w.visit("/workroom/styles/shift-dress-2/write?revision=1#line-4")
	w.until(`document.querySelector(".cm-activeLine").innerText.length > 0`)
}

// Pages of another shop's styles and proofs are not found.
func TestStylesOfAnotherShop(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.upload(styles.Template())
	proof, err := s.service.Styles.StartProof(t.Context(), s.caller, "first-top", 1,
		styles.ProofRequest{Bodies: styles.Panel})
	s.must(err)
	other, _, err := s.service.Access.EnsureShop(t.Context(), "other", "Other")
	s.must(err)
	_, s.keys[service.RoleStaff], err = s.service.Access.CreateKey(t.Context(), service.Caller{Shop: other.ID},
		access.NewKey{Name: "other", Role: service.RoleStaff})
	s.must(err)
	w := s.open().signIn(service.RoleStaff)
	for _, path := range []string{"/styles/first-top", "/styles/first-top/write", "/styles/first-top/picture.svg",
		"/proofs/" + proof.ID.String(), "/proofs/" + proof.ID.String() + "/picture.svg", "/new-style/write?from=first-top"} {
		w.visit("/workroom" + path)
		w.sees("There is no such")
	}
}
