package workroom_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"tapeline/service"
)

// openPicking opens a style to write on, with a record of what its form is told.
func (s *site) openPicking(address string) *window {
	s.Helper()
	w := s.open().signIn(service.RoleStaff)
	w.visit(address)
	w.until(`document.getElementById("writing").dataset.drafts >= 1`)
	w.do(chromedp.Evaluate(`window.heard = []; for (const kind of ["picked", "guess", "dragged"]) {
		document.getElementById("writing").addEventListener(kind, (event) => window.heard.push([kind, event.detail]));
	} 0`, nil))
	return w
}

// middleOf returns the place in the window, px, of the middle of a shape to pick.
func (w *window) middleOf(piece, kind, name string) (x, y float64) {
	w.Helper()
	var at []float64
	w.do(chromedp.Evaluate(fmt.Sprintf(`(() => {
		const shape = document.querySelector('.picks [data-piece="%s"] [data-kind="%s"][data-name="%s"]');
		shape.ownerSVGElement.scrollIntoView({ block: "center" });
		const at = shape.getPointAtLength(shape.getTotalLength() / 2).matrixTransform(shape.getScreenCTM());
		return [at.x, at.y]; })()`, piece, kind, name), &at))
	return at[0], at[1]
}

// tells tells the form of the page something, as the column of sentences does.
func (w *window) tells(event, detail string) {
	w.Helper()
	w.do(chromedp.Evaluate(fmt.Sprintf(
		`document.getElementById("writing").dispatchEvent(new CustomEvent(%q, {detail: %s}))`, event, detail), nil))
}

// click presses the left button at a place of the window.
func (w *window) click(x, y float64, options ...chromedp.MouseOption) {
	w.Helper()
	w.do(chromedp.MouseClickXY(x, y, options...))
}

// An edge is named and measured under the pointer and picked by a click, a drag moves the
// picture and picks nothing, and what is picked stays in the next picture.
func TestEdgeIsPicked(t *testing.T) {
	t.Parallel()
	w := newSite(t).openPicking("/workroom/new-style/write?from=shift-dress")
	x, y := w.middleOf("front", "edge", "neckline")
	w.do(chromedp.MouseEvent(input.MouseMoved, x, y))
	w.until(`document.querySelector(".tip:not([hidden])").textContent.startsWith("front neckline, ")`)
	w.picture("pick-near")
	w.click(x, y)
	w.until(`window.heard.some(([kind, thing]) => kind == "picked" && thing.kind == "edge" && thing.piece == "front" &&
		thing.name == "neckline" && thing.element.matches(".picks path"))`)
	w.until(`document.getElementById("picked").textContent.startsWith("Front neckline, ")`)
	w.until(`/Made by the block. Last changed by “.+”, line \d+/.test(document.getElementById("picked").textContent)`)
	w.until(`document.getElementById("pick-piece").value == "front" &&
		document.getElementById("pick-part").value == "edge/neckline"`)
	w.until(`document.querySelectorAll(".over-picked path").length == 1`)
	w.accessible()
	w.picture("pick-neckline")
	// A drag of the picture picks nothing.
	w.do(chromedp.MouseEvent(input.MousePressed, x, y, chromedp.ButtonLeft),
		chromedp.MouseEvent(input.MouseMoved, x+40, y+30, chromedp.ButtonLeft),
		chromedp.MouseEvent(input.MouseReleased, x+40, y+30, chromedp.ButtonLeft))
	w.until(`document.getElementById("pick-part").value == "edge/neckline" && window.heard.length == 1`)
	// Another body, the same pick.
	w.press("Next body")
	w.until(`document.getElementById("writing").dataset.drafts >= 2`)
	w.until(`document.getElementById("picked").textContent.startsWith("Front neckline, ")`)
	w.until(`document.querySelectorAll(".over-picked path").length == 1 && window.heard.length == 1`)
	// What sentences made.
	w.tells("said", "{from: 1, to: 4000}")
	w.until(`document.querySelectorAll(".over-said path").length > 3`)
	w.picture("pick-said")
	w.tells("said", "null")
	w.until(`document.querySelectorAll(".over-said path").length == 0`)
}

// The lists pick by keyboard what the pointer picks, on a narrow window too, and a finger
// picks as a mouse does.
func TestPickByKeyboardAndFinger(t *testing.T) {
	t.Parallel()
	w := newSite(t).openPicking("/workroom/new-style/write?from=shift-dress")
	w.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateTouch))
	w.do(chromedp.Focus("#pick-piece"), chromedp.KeyEvent("B"))
	w.until(`document.getElementById("pick-piece").value == "back"`)
	w.until(`document.getElementById("picked").textContent.startsWith("Back")`)
	w.do(chromedp.KeyEvent("\t"), chromedp.KeyEvent("s"))
	w.until(`document.activeElement.id == "pick-part" && /^edge\/s/.test(document.activeElement.value)`)
	w.until(`window.heard.at(-1)[1].piece == "back" && window.heard.at(-1)[1].kind == "edge"`)
	w.accessible()
	w.picture("pick-narrow")
	x, y := w.middleOf("front", "edge", "hem")
	w.do(input.DispatchTouchEvent(input.TouchStart, []*input.TouchPoint{{X: x, Y: y}}),
		input.DispatchTouchEvent(input.TouchEnd, []*input.TouchPoint{}))
	w.until(`document.getElementById("picked").textContent.startsWith("Front hem, ")`)
	// Beside everything nothing is picked.
	w.do(chromedp.SetValue("#pick-piece", ""), chromedp.Evaluate(
		`document.getElementById("pick-piece").dispatchEvent(new Event("change", {bubbles: true}))`, nil))
	w.until(`window.heard.at(-1)[1] === null && document.getElementById("pick-part").disabled`)
}
