package workroom_test

import (
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tapeline/service"
	"tapeline/service/styles"
)

// A maker has every fit of a style tried on some bodies of the panel, follows it, and
// sees on its page and on the style's what a cutter would alter, on a phone as well.
func TestStyleIsTriedOn(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	script, err := os.ReadFile("../../drafting/style/garments/shift-dress.star")
	s.must(err)
	own := strings.NewReplacer(`"shift-dress"`, `"own-dress"`, `"Shift dress"`, `"Our dress"`).Replace(string(script))
	_, err = s.service.Styles.Upload(t.Context(), s.caller, styles.NewRevision{Script: own})
	s.must(err)
	w := s.open().signIn(service.RoleStaff)
	w.visit("/workroom/styles/own-dress")
	w.do(chromedp.SetValue("input[name=sample]", "2"))
	w.press("Try every fit on them")
	w.sees("The proof has been started.")
	w.accessible()
	w.sees("Write on")
	w.sees("It proves no choice")
	w.accessible()
	w.shots("worn-proof")
	w.visit("/workroom/styles/own-dress")
	w.sees("How it fits")
	w.sees("has not been proved")
	w.accessible()
	w.shots("worn-style")
}

// shots takes pictures of a page at the widths of a desk and a phone, and sees that
// neither scrolls sideways.
func (w *window) shots(name string) {
	w.Helper()
	for name, width := range map[string]int64{name: 1280, name + "-phone": 390} {
		w.do(chromedp.EmulateViewport(width, 900))
		w.until(`document.documentElement.scrollWidth <= innerWidth`)
		w.picture(name)
	}
}
