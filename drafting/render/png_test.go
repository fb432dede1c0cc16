package render

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/png"
	"math"
	"strings"
	"sync"
	"testing"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Every garment at several widths: as wide as asked for, the cut lines black
// within a pixel of where they belong, cloth inside them and white outside.
func TestPNGShowsThePieces(t *testing.T) {
	t.Parallel()
	for i, g := range garments(t) {
		for _, width := range []int{400, 800, 1500} {
			if i > 1 && width != 800 {
				continue
			}
			name := fmt.Sprintf("%s %d", g.name, width)
			data, _ := rendered(t, g.Pattern, "png", Options{Width: float64(width)})
			config, err := png.DecodeConfig(bytes.NewReader(data))
			if err != nil || config.Width != width {
				t.Fatalf("%s: %d pixels wide, %v", name, config.Width, err)
			}
			c, pieces, err := layOutPNG(t.Context(), g.Pattern, PNGOptions{Width: width})
			if err != nil {
				t.Fatal(err)
			}
			if config.Height != c.h {
				t.Errorf("%s: %d pixels high, want %d", name, config.Height, c.h)
			}
			checkPicture(t, name, parsePNG(t, data, c.scale*25.4), pieces, c.origin)
		}
	}
}

func checkPicture(t *testing.T, name string, pic picture, pieces []finish.Piece, origin geom.Point) {
	t.Helper()
	gap := 3 * max(1, float64(pic.w)/DefaultPixels) * 25.4 / pic.dpi // three pixels, in mm
	tone := func(q geom.Point) float64 {
		v := q.Sub(origin)
		return pic.between(pic.mm(v.X)-0.5, pic.mm(v.Y)-0.5)
	}
	var lines, cloth, white int
	for i, p := range pieces {
		total := p.CutLine.Length()
		for k := range 60 {
			at := total * (float64(k) + 0.5) / 60
			q, along := p.CutLine.At(at), p.CutLine.TangentAt(at)
			if !p.CutLine.TangentAt(at-gap).Near(p.CutLine.TangentAt(at+gap), 0.3) {
				continue
			}
			if v := tone(q); v > 90 {
				t.Errorf("%s: %s is %.0f at %v of its cut line", name, p.Name, v, q)
			}
			lines++
			outside := q.Add(along.Left().Mul(gap))
			alone := true
			for j, other := range pieces {
				if _, d, _ := other.CutLine.Nearest(outside); j != i && d < gap || other.CutLine.Contains(outside) {
					alone = false
				}
			}
			if alone {
				white++
				if v := tone(outside); v < 250 {
					t.Errorf("%s: %s is %.0f outside at %v", name, p.Name, v, outside)
				}
			}
			if v := tone(q.Sub(along.Left().Mul(gap))); v > 230 && v < 245 {
				cloth++
			}
		}
	}
	// on a small one a seam line is near
	if lines < 35*len(pieces) || white < 15*len(pieces) || pic.w >= DefaultPixels && cloth < lines/7 {
		t.Errorf("%s: %d places on lines, %d white, %d on cloth", name, lines, white, cloth)
	}
}

// Every piece has a caption with its number, its name and how it is cut, in letters
// large enough to read, on small pictures too: on the piece or clear under it, off
// every other piece and caption.
func TestPNGCaptions(t *testing.T) {
	t.Parallel()
	for _, g := range someGarments(t, 0) {
		for _, width := range []int{200, 400, 800, 1400} {
			c, pieces, err := layOutPNG(t.Context(), g.Pattern, PNGOptions{Width: width})
			if err != nil {
				t.Fatal(err)
			}
			data, _ := rendered(t, g.Pattern, "png", Options{Width: float64(width)})
			pic := parsePNG(t, data, c.scale*25.4)
			for i, p := range pieces {
				checkCaption(t, fmt.Sprintf("%s %d", g.name, width), pieces, i)
				for _, label := range p.Texts {
					if least := legiblePixels * weightOf(width); width >= 400 && label.Size*c.scale < 0.75*least ||
						width >= DefaultPixels && label.Size*c.scale < least*(1-1e-9) {
						t.Errorf("%s %d: %q is %.1f pixels high", g.name, width, label.Lines, label.Size*c.scale)
					}
					if dark := pic.darkIn(boxOf(label).Move(c.origin.Neg())); dark < 0.05 {
						t.Errorf("%s %d: %q leaves ink on %.1f %% of its place", g.name, width, label.Lines, 100*dark)
					}
				}
			}
		}
	}
}

// checkCaption checks what the caption of piece i says and that it meets no other
// piece or caption.
func checkCaption(t *testing.T, name string, pieces []finish.Piece, i int) {
	t.Helper()
	var says []string
	for _, label := range pieces[i].Texts {
		says = append(says, label.Lines...)
	}
	want := fmt.Sprintf("%d %s %s", i+1, pieces[i].Title, pieces[i].Cut)
	if got := strings.Join(says, " "); strings.ReplaceAll(got, " ", "") != strings.ReplaceAll(want, " ", "") {
		t.Errorf("%s: the caption is %q, want %q", name, got, want)
	}
	for _, label := range pieces[i].Texts {
		box := boxOf(label)
		for k, other := range pieces {
			if k == i {
				continue
			}
			if meets(other.CutLine, box) {
				t.Errorf("%s: the caption of %s meets %s", name, pieces[i].Title, other.Title)
			}
			for _, l := range other.Texts {
				if boxOf(l).Overlaps(box) {
					t.Errorf("%s: the captions of %s and %s overlap", name, pieces[i].Title, other.Title)
				}
			}
		}
	}
}

// meets reports whether a closed line crosses a box or holds it.
func meets(line geom.Path, box geom.Box) bool {
	for _, s := range line {
		if len(s.AppendClipped(nil, box)) > 0 {
			return true
		}
	}
	return line.Contains(box.Centre())
}

// Strokes are as wide as asked for, wherever they go: an open one, a closed one
// walked either way round, across corners and itself.
func TestPictureStrokes(t *testing.T) {
	t.Parallel()
	square := geom.Polyline(geom.Pt(20, 20), geom.Pt(80, 20), geom.Pt(80, 80), geom.Pt(20, 80), geom.Pt(20, 20))
	for name, c := range map[string]struct {
		path geom.Path
		ink  float64 // pixels
	}{
		"level":         {geom.Polyline(geom.Pt(10, 30), geom.Pt(90, 30)), 80 * 4},
		"steep":         {geom.Polyline(geom.Pt(10, 10), geom.Pt(40, 50)), 50 * 4},
		"backwards":     {geom.Polyline(geom.Pt(40, 50), geom.Pt(10, 10)), 50 * 4},
		"square":        {square, 4 * 60 * 4},
		"anticlockwise": {square.Reverse(), 4 * 60 * 4},
		"corner":        {geom.Polyline(geom.Pt(10, 10), geom.Pt(50, 10), geom.Pt(50, 50)), 80 * 4},
		"crossing": {geom.Polyline(geom.Pt(10, 40), geom.Pt(90, 40), geom.Pt(90, 70), geom.Pt(50, 70), geom.Pt(50, 10)),
			(80+30+40+60)*4 - 16},
		"doubled": {geom.Polyline(geom.Pt(10, 30), geom.Pt(50, 30), geom.Pt(50, 30), geom.Pt(90, 30)), 80 * 4},
		"a point": {geom.Polyline(geom.Pt(10, 30), geom.Pt(10, 30)), 0},
	} {
		p := newPicture(100, 100, geom.Point{}, 1)
		p.stroke(c.path, pictureStroke{width: 4})
		p.paint(0)
		var ink float64
		for _, v := range p.pix {
			ink += float64(255-v) / 255
		}
		if math.Abs(ink-c.ink) > 0.02*c.ink+0.5 {
			t.Errorf("%s: %.1f pixels of ink, want %.1f", name, ink, c.ink)
		}
	}
}

func TestPictureDashes(t *testing.T) {
	t.Parallel()
	got := dashes([]geom.Point{{}, {X: 7}, {X: 7, Y: 13}}, 4, 2)
	want := [][]geom.Point{{{}, {X: 4}}, {{X: 6}, {X: 7}, {X: 7, Y: 3}}, {{X: 7, Y: 5}, {X: 7, Y: 9}},
		{{X: 7, Y: 11}, {X: 7, Y: 13}}}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := dashes(nil, 4, 2); got != nil {
		t.Errorf("%v", got)
	}
}

// The same picture again, also of a pattern read back, on several cores at a time.
func TestPNGSameBytes(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	want, _ := rendered(t, p, "png", Options{})
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			var b bytes.Buffer
			if err := PNG(t.Context(), &b, p, PNGOptions{}); err != nil || !bytes.Equal(b.Bytes(), want) {
				t.Errorf("other bytes, %v", err)
			}
		})
	}
	wg.Wait()
	if len(want) > 60_000 {
		t.Errorf("%d bytes", len(want))
	}
}

// A picture that would be too high is refused, with the width that would do.
func TestPNGTooHigh(t *testing.T) {
	t.Parallel()
	for _, side := range []geom.Point{{X: 30, Y: 4000}, {X: 700, Y: 3000}} {
		tooHigh(t, geom.Polyline(geom.Pt(0, 0), geom.Pt(side.X, 0), side, geom.Pt(0, side.Y), geom.Pt(0, 0)))
	}
}

func tooHigh(t *testing.T, strip geom.Path) {
	t.Helper()
	p := finish.Pattern{Pieces: []finish.Piece{{Piece: pattern.Piece{Name: "tie", Title: "Tie",
		Edges: []pattern.Edge{{Name: "all", Path: strip}}}, Allowances: []float64{0}, CutLine: strip}}}
	err := PNG(t.Context(), failing{t}, p, PNGOptions{Width: 1500})
	list, ok := errors.AsType[fault.List](err)
	if !ok || len(list) != 1 || list[0].Field != "/width" {
		t.Fatalf("error %v", err)
	}
	var most int
	if _, err := fmt.Sscanf(list[0].Accepted, "at most %d pixels", &most); err != nil {
		t.Fatalf("%q: %v", list[0].Accepted, err)
	}
	data, _ := rendered(t, p, "png", Options{Width: float64(most)})
	if img, err := png.Decode(bytes.NewReader(data)); err != nil || img.Bounds().Dy() > 8192 ||
		img.Bounds().Dx()*img.Bounds().Dy() > 6_000_000 {
		t.Errorf("at %d pixels: %v", most, err)
	} else if _, ok := img.(*image.Paletted); !ok {
		t.Errorf("a %T", img)
	}
}
