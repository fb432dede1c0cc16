package render

import (
	"bytes"
	"strings"
	"testing"

	"tapeline/drafting/cloth"
)

// The lines of a lay plan can be seen, the white ground of a number is under it,
// and every piece says what it is.
func TestLayPlanSVG(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	plan, err := cloth.NewPlan(t.Context(), p, cloth.On(1500))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := LayPlanSVG(&out, plan, "cm"); err != nil {
		t.Fatal(err)
	}
	root := parseSVG(t, out.Bytes())
	root.ids(t)
	text := out.String()
	if strings.Contains(text, `stroke-width="0"`) {
		t.Error("a line has no width")
	}
	for i, piece := range p.Pieces {
		if want := "<title>piece " + string(rune('1'+i)) + ", " + piece.Title; !strings.Contains(text, want) {
			t.Errorf("no %q", want)
		}
	}
	if behind, number := strings.Index(text, `fill="#ffffff"`), strings.Index(text, "-number\""); behind < 0 ||
		behind > number {
		t.Error("the ground of a number is not under it")
	}
}
