package workroom_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tapeline/service"
	"tapeline/service/styles"
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
		thing.name == "neckline")`)
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
	// On a slow machine the browser's own click after the touch picks once more.
	w.until(`(() => {
		const piece = document.getElementById("pick-piece");
		if (piece.value) {
			piece.value = "";
			piece.dispatchEvent(new Event("change", {bubbles: true}));
		}
		return window.heard.at(-1)[1] === null && document.getElementById("pick-part").disabled;
	})()`)
}

// placeOf returns where the number in a part of the page's script begins, in bytes.
func placeOf(script, part, number string) (start, end int) {
	start = strings.Index(script, part) + strings.Index(part, number)
	return start, start + len(number)
}

// scriptShown returns the script of the page.
func (w *window) scriptShown() (script string) {
	w.Helper()
	w.do(chromedp.Evaluate(`document.getElementById("writing").elements.script.value`, &script))
	return script
}

// What an edit would change is drawn over the picture before it is made; one that cannot be
// made says why.
func TestEditIsGuessed(t *testing.T) {
	t.Parallel()
	w := newSite(t).openPicking("/workroom/new-style/write")
	start, end := placeOf(w.scriptShown(), "centre_back = 20", "20")
	guess := func(number string) string {
		return fmt.Sprintf(`new URLSearchParams({act: "set_blank", start: %d, end: %d, form: "number", number: %q})`,
			start, end, number)
	}
	w.do(chromedp.Evaluate(`if (!document.getElementById("offers")) {
		document.querySelector(".side").insertAdjacentHTML("beforeend", "<div id=offers></div>");
	} 0`, nil))
	w.tells("guess", guess("3"))
	w.until(`document.querySelectorAll(".over-guess path").length == 2 && !document.getElementById("guess-reason")`)
	w.until(`(() => { // it lies over its piece
		const box = (shape) => shape.getBoundingClientRect();
		const guessed = box(document.querySelectorAll(".over-guess path")[1]);
		const back = box(document.querySelector('.picks [data-piece=back] [data-name=hem]'));
		return Math.abs(guessed.bottom - back.bottom) < 3 && Math.abs(guessed.left - back.left) < 3; })()`)
	w.picture("guess")
	w.tells("guess", guess("500"))
	w.until(`document.getElementById("guess-reason").textContent.length > 20`)
	w.until(`document.querySelectorAll(".over-guess path").length == 0`)
	w.tells("guess", guess("<b>x</b>"))
	w.until(`document.getElementById("guess-reason").textContent.includes("“<b>x</b>”: want a number of cm")`)
	w.accessible()
	w.tells("guess", "null")
	w.until(`!document.getElementById("guess-reason")`)
}

// A length has a handle on the point that moves with it, which keys and pointer move by the
// millimetre; a number that moves nothing has none.
func TestHandleIsDragged(t *testing.T) {
	t.Parallel()
	w := newSite(t).openPicking("/workroom/new-style/write")
	start, end := placeOf(w.scriptShown(), "centre_back = 20", "20")
	w.tells("blank", fmt.Sprintf("{start: %d, end: %d}", start, end))
	w.until(`!document.getElementById("handle").hidden && document.getElementById("handle").ariaValueNow == "2"`)
	w.accessible()
	w.do(chromedp.Focus("#handle"), chromedp.KeyEvent(kb.ArrowUp))
	w.until(`document.getElementById("handle").ariaValueText == "2.1 cm" && window.heard.at(-1)[1].mm == 21`)
	w.do(chromedp.KeyEvent(kb.ArrowDown, chromedp.KeyModifiers(input.ModifierShift)))
	w.until(`window.heard.at(-1)[1].mm == 11`)
	var at []float64
	w.do(chromedp.Evaluate(`(() => { const handle = document.getElementById("handle");
		handle.scrollIntoView({ block: "center" });
		const box = handle.getBoundingClientRect(), scale = document.querySelector("#tried svg").getScreenCTM().d;
		return [box.x + box.width / 2, box.y + box.height / 2, scale]; })()`, &at))
	x, y, scale := at[0], at[1], at[2]
	w.do(chromedp.MouseEvent(input.MousePressed, x, y, chromedp.ButtonLeft),
		chromedp.MouseEvent(input.MouseMoved, x+5, y+30*scale, chromedp.ButtonLeft))
	w.until(`window.heard.at(-1)[0] == "dragged" && window.heard.at(-1)[1].mm == 41`)
	w.picture("handle")
	w.do(chromedp.MouseEvent(input.MouseReleased, x+5, y+30*scale, chromedp.ButtonLeft))
	w.until(`!window.heard.some(([kind]) => kind == "picked")`) // it picks nothing
	// It stays on its point when the picture is larger.
	w.press("Larger")
	w.until(fmt.Sprintf(`(() => { const box = document.getElementById("handle").getBoundingClientRect();
		return box.width == 0 || Math.abs(box.y + box.height / 2 - %g) > 1; })()`, y+30*scale))
	start, end = placeOf(w.scriptShown(), `"hem": 20`, "20")
	w.tells("blank", fmt.Sprintf("{start: %d, end: %d}", start, end))
	w.until(`document.getElementById("handle").hidden`)
	w.tells("blank", "null")
}

// Two edges of a garment that cannot be sewn are compared by pointer, and made equal by a
// press; by keyboard two that are equal are.
func TestEdgesAreMadeEqual(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.upload(strings.Replace(styles.Template(), "centre_back = 20, shoulder = 40", "centre_back = 20, shoulder = 34", 1))
	w := s.openPicking("/workroom/styles/first-top/write")
	w.sees("It does not draft")
	x, y := w.middleOf("front", "edge", "shoulder")
	w.click(x, y)
	x, y = w.middleOf("back", "edge", "shoulder")
	w.click(x, y, chromedp.ButtonModifiers(input.ModifierShift))
	w.sees("the back shoulder is longer")
	w.sees("It holds on all six bodies.")
	w.accessible()
	w.picture("compare")
	w.do(chromedp.EmulateViewport(390, 844))
	w.accessible()
	w.picture("compare-narrow")
	w.do(chromedp.EmulateViewport(1400, 980))
	w.press("Lower the neckline of the block's back by 2 cm at the centre back and 4 cm at the shoulder. Call it back.")
	w.until(`document.getElementById("writing").elements.script.value.includes("centre_back = 20, shoulder = 40")`)
	w.until(`document.querySelector("#compared .agrees").textContent == "none, they are equal"`)
	w.until(`!document.getElementById("problem")`)
	w.picture("compare-equal")
	w.press("Stop comparing")
	w.until(`document.getElementById("compared").textContent.trim() == ""`)
	w.press("Compare with another edge")
	w.sees("Pick the edge to compare with front shoulder")
	w.do(chromedp.Focus("#pick-piece"), chromedp.KeyEvent("B"), chromedp.KeyEvent("\t"), chromedp.KeyEvent("sh"))
	w.until(`document.querySelector("#compared .agrees").textContent == "none, they are equal"`)
	w.do(chromedp.KeyEvent(kb.ArrowDown))
	w.until(`document.querySelectorAll("#compared tr").length == 3 && !document.querySelector("#compared .agrees")`)
}

// Six bodies that differ stand below the picture with their girths, and a press shows one.
// They stay while the script is wrong.
func TestSixBodies(t *testing.T) {
	t.Parallel()
	w := newSite(t).openPicking("/workroom/new-style/write?from=shift-dress")
	w.until(`document.querySelectorAll("#sizes button").length == 6`)
	w.until(`document.querySelector("#sizes [aria-current]").innerText.replace(/\s+/g, " ") ==
		"middle 96 · 80 · 104 shown"`)
	w.until(`document.querySelector("[data-drawn]").nextElementSibling.id == "sizes"`)
	w.accessible()
	w.picture("six")
	w.do(chromedp.Focus(`#sizes li:nth-child(4) button`), chromedp.KeyEvent("\r"))
	w.until(`document.querySelector("#sizes [aria-current]").innerText.startsWith("pear")`)
	w.until(`document.getElementById("body").value.includes("bust 92, waist 76, hip 108")`)
	w.until(`document.activeElement.dataset.body == document.getElementById("body").value`)
	w.do(chromedp.EmulateViewport(390, 844))
	w.accessible()
	w.picture("six-narrow")
	w.do(chromedp.EmulateViewport(1400, 980))
	w.write(strings.Replace(w.scriptShown(), "def make(", "def made(", 1))
	w.until(`document.querySelector(".stale svg") &&
		document.querySelector("[data-drawn]").nextElementSibling.id == "sizes"`)
	w.picture("six-wrong")
}

// A drag of a handle fills in the blank that is open, step by step, while the pictures
// that follow replace each other; undo takes the whole drag back.
func TestDragFillsTheBlank(t *testing.T) {
	t.Parallel()
	w := newSite(t).openPicking("/workroom/new-style/write")
	w.do(chromedp.Click(w.blank("2 cm", "back by")), chromedp.WaitVisible("#panel"))
	w.until(`!document.getElementById("handle").hidden && document.getElementById("handle").ariaValueNow == "2"`)
	var at []float64
	w.do(chromedp.Evaluate(`(() => { const box = document.getElementById("handle").getBoundingClientRect();
		return [box.x + box.width / 2, box.y + box.height / 2, document.querySelector("#tried svg").getScreenCTM().d]; })()`,
		&at))
	x, y, scale := at[0], at[1], at[2]
	w.do(chromedp.MouseEvent(input.MousePressed, x, y, chromedp.ButtonLeft))
	for _, mm := range []float64{4, 8, 13} {
		w.do(chromedp.MouseEvent(input.MouseMoved, x, y+mm*scale, chromedp.ButtonLeft))
		w.until(fmt.Sprintf(`document.getElementById("writing").elements.script.value.includes("centre_back = %g,")`, 20+mm))
	}
	w.do(chromedp.MouseEvent(input.MouseReleased, x, y+13*scale, chromedp.ButtonLeft))
	w.until(`document.getElementById("handle").ariaValueNow == "3.3" && !document.getElementById("handle").hidden`)
	w.picture("dragged")
	w.press("Undo")
	w.until(`document.getElementById("writing").elements.script.value.includes("centre_back = 20,")`)
}
