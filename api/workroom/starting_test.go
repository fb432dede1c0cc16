package workroom_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
)

// A style begins with a block and a title. Any text is a title, or is refused beside its
// field with what was chosen kept.
func TestStyleIsBegun(t *testing.T) {
	t.Parallel()
	w := newSite(t).open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style")
	w.until(`[...document.querySelectorAll(".starts img")].slice(0, 3).every((i) => i.complete && i.naturalWidth > 0)`)
	w.accessible()
	w.picture("new-style-wide")
	w.do(chromedp.EmulateViewport(390, 800))
	w.until(`document.documentElement.scrollWidth <= 390`)
	w.picture("new-style-390")
	w.do(chromedp.EmulateViewport(1400, 980))
	w.do(chromedp.Evaluate(`document.querySelector("[name=title]").removeAttribute("maxlength")`, nil),
		chromedp.SetValue("[name=title]", strings.Repeat("A long title ", 8)),
		chromedp.Click(`[value="block:skirt"]`))
	w.press("Begin")
	w.sees("a title of one line of 1 to 80 bytes")
	w.until(`document.querySelector("[value='block:skirt']").checked`)
	w.accessible()
	w.do(chromedp.SetValue("[name=title]", `<script>alert("1")</script> & ملابس`))
	w.press("Begin")
	w.sees(`<script>alert("1")</script> & ملابس`)
	w.until(`document.querySelector("#tried svg")`)
	w.until(`document.querySelector("[name=script]").value.includes('slug = "script-alert-1-script"')`)
}

// The walk through a first dress shows a picture for each step, and leads to the block.
func TestFirstDress(t *testing.T) {
	t.Parallel()
	w := newSite(t).open().signIn(service.RoleStaff)
	w.visit("/workroom/new-style")
	w.press("The first time? Make a dress step by step")
	w.sees("Make room for the zip")
	w.do(chromedp.Evaluate(`document.querySelectorAll(".steps img").forEach((i) => { i.loading = "eager"; })`, nil))
	w.until(`[...document.querySelectorAll(".steps img")].every((i) => i.complete && i.naturalWidth > 0)`)
	w.accessible()
	w.picture("first-dress")
	w.do(chromedp.EmulateViewport(390, 800))
	w.until(`document.documentElement.scrollWidth <= 390`)
	w.picture("first-dress-390")
	w.visit("/workroom/new-style/write?from=block:torso_sleeve&title=Market+shift")
	w.sees("Market shift")
	w.until(`document.querySelector("#tried svg")`)
}
