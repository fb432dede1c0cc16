package workroom_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/styles"
)

// write replaces the script in the editor, as if it were typed, and waits until it
// is drafted.
func (w *window) write(script string) {
	w.Helper()
	var before int
	count := `Number(document.getElementById("writing").dataset.drafts || 0)`
	w.do(chromedp.WaitVisible(".cm-content"), chromedp.Evaluate(count, &before),
		chromedp.Evaluate(fmt.Sprintf(`(() => { const view = window.CodeMirror.EditorView.findFromDOM(document.querySelector(".cm-editor"));
			view.dispatch({changes: {from: 0, to: view.state.doc.length, insert: %q}}); })()`, script), nil))
	w.until(fmt.Sprintf("%s > %d", count, before))
}

// until waits until an expression is true in the page.
func (w *window) until(expression string) {
	w.Helper()
	for range 300 {
		var is bool
		if err := chromedp.Run(w.ctx, chromedp.Evaluate(expression, &is)); err == nil && is {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	w.fail(fmt.Errorf("%s does not come true", expression))
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
	w.sees("Begin with one that is near")
	w.accessible()
	w.picture("new-style")
	w.press("A small top")
	w.sees("measures read back")
	w.sees("Other bodies")
	w.accessible()
	w.picture("write")
	w.write(strings.Replace(styles.Template(), "back = drop(", "back = dorp(", 1))
	w.sees("Line 20: Undefined: dorp")
	w.do(chromedp.WaitVisible(".cm-lintRange-error"), chromedp.WaitVisible(".stale"))
	w.picture("write-wrong")
	w.write(strings.Replace(styles.Template(), "shoulder = 40", "shoulder = 35", 1))
	w.press("Save as a draft")
	w.sees("Saved as revision 1, a draft.")
	w.press("Prove or publish revision 1")
	w.sees("has not been proved")
	w.do(chromedp.WaitVisible(".picture svg"))
	w.accessible()
	w.picture("style")
	w.press("Publish")
	w.sees("Not published: The revision has not been proved.")
	w.press("Prove on the built-in panel")
	w.sees("Worth looking at")
	w.accessible()
	w.picture("proof")
	w.press("Publish revision 1")
	w.sees("It takes orders from now on.")
	w.press("Retire")
	w.sees("It takes no new orders")
}
