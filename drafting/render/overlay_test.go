package render

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/compare"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// roomier is the sample order with more bust ease: its second revision.
func roomier(t testing.TB) (was, now finish.Pattern) {
	t.Helper()
	return torso(t, nil), torso(t, func(o *drafting.Order) {
		o.Ease, o.Revision = map[string]float64{"bust_girth": 100},
			2
	})
}

func difference(t *testing.T, was, now finish.Pattern) compare.Difference {
	t.Helper()
	d, err := compare.Patterns(t.Context(), was, now)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func overlaySVG(t *testing.T, was, now finish.Pattern) string {
	t.Helper()
	var b bytes.Buffer
	if err := OverlaySVG(t.Context(), &b, was, now); err != nil {
		t.Fatal(err)
	}
	for d := xml.NewDecoder(bytes.NewReader(b.Bytes())); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return b.String()
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

func TestOverlayShowsWhatMoved(t *testing.T) {
	t.Parallel()
	was, now := roomier(t)
	text := overlaySVG(t, was, now)
	for _, p := range difference(t, was, now).Pieces {
		for _, line := range []string{
			`id="piece-` + p.Name + `-before" stroke-width="[0-9.]+" stroke-dasharray="[0-9.]+ [0-9.]+" stroke="#808080"`,
			`id="piece-` + p.Name + `-after" stroke-width="[0-9.]+">`,
		} {
			if !regexp.MustCompile(line).MatchString(text) {
				t.Errorf("%s: the picture lacks %s", p.Name, line)
			}
		}
		for _, part := range []string{
			fmt.Sprintf(`id="piece-%s-ring"`, p.Name),
			fmt.Sprintf("largest %.1f mm", p.Move.Largest),
			fmt.Sprintf("<title>%.1f mm</title>", p.Move.Largest),
		} {
			if !strings.Contains(text, part) {
				t.Errorf("%s: the picture lacks %s", p.Name, part)
			}
		}
	}
	for _, part := range []string{"revision 1, before", "revision 2, after"} {
		if !strings.Contains(text, part) {
			t.Errorf("the picture lacks %q", part)
		}
	}
	if again := overlaySVG(t, was, now); again != text {
		t.Error("the same picture twice differs")
	}
}

// Lines stay where they are to each other, the mark ends on both of them, and
// no number stands on a line where there is room beside it.
func TestOverlayIsLaidOutTrue(t *testing.T) {
	t.Parallel()
	was, now := roomier(t)
	o := newOverlay(was, now, difference(t, was, now), 20)
	for i, q := range o.pieces {
		if i > 0 && q.box().Overlaps(o.pieces[i-1].box()) {
			t.Errorf("%s lies on %s", q.name, o.pieces[i-1].name)
		}
		if !o.bounds.Holds(q.box()) || !o.bounds.Holds(boxOfText(q.caption)) {
			t.Errorf("%s lies outside the picture", q.name)
		}
		back := geom.Shift(now.Pieces[i].Outline().Start().Sub(q.now[0].Start()))
		move := compare.Outlines(was.Pieces[i].Outline(), now.Pieces[i].Outline())
		d := compare.Outlines(q.was[0].Move(back), was.Pieces[i].Outline().Move(geom.Shift(move.Shift)))
		if d.Largest > 0.01 || d.Shift.Norm() > 0.01 {
			t.Errorf("%s: the old line is %.3f mm off", q.name, d.Largest+d.Shift.Norm())
		}
		for k, end := range [...]geom.Point{q.mark.arrow.P0, q.mark.arrow.P3} {
			line := [...]geom.Path{q.was[0], q.now[0]}[k]
			if _, d, _ := line.Nearest(end); math.Abs(d) > 0.05 {
				t.Errorf("%s: an end of the mark is %.3f mm beside its line", q.name, d)
			}
		}
		if got := q.mark.arrow.P0.Dist(q.mark.arrow.P3); math.Abs(got-move.Largest) > 0.01 {
			t.Errorf("%s: the mark is %.3f mm long, want %.3f", q.name, got, move.Largest)
		}
		for _, line := range [...]geom.Path{q.was[0], q.now[0]} {
			for _, p := range line.Flatten(0.5) {
				if boxOfText(q.mark.label).Contains(p) {
					t.Errorf("%s: its number stands on a line", q.name)
				}
			}
		}
	}
}

func TestOverlayOfPiecesThatComeAndGo(t *testing.T) {
	t.Parallel()
	was := torso(t, nil)
	now := was
	now.Pieces = was.Pieces[1:]
	was.Pieces = was.Pieces[:2]
	text := overlaySVG(t, was, now)
	for _, part := range []string{"Back: gone", "Sleeve: new", "Front: does not move"} {
		if !strings.Contains(text, part) {
			t.Errorf("the picture lacks %q", part)
		}
	}
	if strings.Contains(text, `id="piece-back-after"`) || strings.Contains(text, `id="piece-sleeve-before"`) ||
		strings.Contains(text, "-ring") {
		t.Error("a piece is drawn that is not there, or a move that is none")
	}
	broken := torso(t, nil)
	broken.Pieces[0].Edges[0].Path = broken.Pieces[0].Edges[0].Path.Move(geom.Shift(geom.Pt(math.NaN(), 0)))
	if err := OverlaySVG(t.Context(), io.Discard, broken, now); !errors.Is(err, sheets.ErrNowhere) {
		t.Errorf("a broken pattern is drawn: %v", err)
	}
}

// One page, whichever way it holds more, by poppler.
func TestOverlayPDF(t *testing.T) {
	t.Parallel()
	for _, g := range someGarments(t, 1) {
		was, now := g.Pattern, g.Pattern
		now.Label.Revision++
		var b bytes.Buffer
		if err := OverlayPDF(t.Context(), &b, was, now); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "overlay.pdf")
		if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		info := string(read(t, "pdfinfo", file))
		if !strings.Contains(info, "Pages:           1\n") || !strings.Contains(info, "(A4)") {
			t.Errorf("%s: %s", g.name, info)
		}
		text := string(read(t, "pdftotext", "-layout", file, "-"))
		if strings.Count(text, "does not move") != len(now.Pieces) {
			t.Errorf("%s: %d pieces, text %s", g.name, len(now.Pieces), text)
		}
	}
}
