package render

import (
	"bytes"
	"encoding/xml"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Over the picture lies a shape for each piece, edge, dart, line and mark, and nothing
// else of the picture changes. The shape of a piece is its cut line, moved as its group says.
func TestPicks(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	var plain, picked bytes.Buffer
	for out, picks := range map[*bytes.Buffer]bool{&plain: false, &picked: true} {
		if err := SVG(t.Context(), out, p, SVGOptions{For: ForScreens, Picks: picks}); err != nil {
			t.Fatal(err)
		}
	}
	start := strings.Index(picked.String(), `<g class="picks"`)
	if start < 0 || picked.String()[:start]+"</svg>\n" != plain.String() {
		t.Fatal("the picture differs in more than the layer at its end")
	}
	if err := xml.Unmarshal(picked.Bytes(), new(struct{})); err != nil {
		t.Fatal(err)
	}
	layer := picked.String()[start:]
	for _, q := range p.Pieces {
		group := layer[strings.Index(layer, `data-piece="`+q.Name+`"`):]
		group = group[:strings.Index(group, "</g>")]
		want := 1 + len(q.Lines) + len(q.Darts) + len(q.Runs()) + len(q.Marks)
		if got := strings.Count(group, "data-kind="); got != want {
			t.Errorf("%s has %d shapes, want %d", q.Name, got, want)
		}
		for _, run := range q.Runs() {
			if !strings.Contains(group, `data-kind="edge" data-name="`+run+`"`) {
				t.Errorf("%s has no %s", q.Name, run)
			}
		}
		numbers := regexp.MustCompile(`data-x="([-.\d]+)" data-y="([-.\d]+)">\s*` +
			`<path data-kind="piece" data-name="" d="M([-.\d]+) ([-.\d]+)`)
		found := numbers.FindStringSubmatch(group)
		if found == nil {
			t.Fatalf("%s: %.200s", q.Name, group)
		}
		at := q.CutLine.Start()
		for i, drafted := range []float64{at.X, at.Y} {
			moved, _ := strconv.ParseFloat(found[1+i], 64)
			drawn, _ := strconv.ParseFloat(found[3+i], 64)
			if d := drafted + moved - drawn; d > 0.002 || d < -0.002 {
				t.Errorf("%s starts at %g, moved by %g, and is drawn at %g", q.Name, drafted, moved, drawn)
			}
		}
	}
}
