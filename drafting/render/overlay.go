package render

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/compare"
	"tapeline/drafting/cost"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// overlay is a picture of what moved from one pattern to another: the seam
// lines of every piece on the same grain, as package compare aligns them. It is
// laid out at true scale, mm; its writers scale it.
type overlay struct {
	head   []finish.Text
	keys   [2]geom.Segment // samples of the old line and the new one
	pieces []overlaid
	bounds geom.Box
}

// overlaid is one piece of an overlay.
type overlaid struct {
	name, title string
	was, now    []geom.Path // outline, then legs of darts; none where there is no such piece
	grain       geom.Segment
	mark        *moveMark // nil: nothing moved
	caption     finish.Text
	says        string // the caption in one line
}

// moveMark shows the largest move of a piece.
type moveMark struct {
	arrow  geom.Segment // from the old outline to the new one
	circle geom.Point
	radius float64
	label  finish.Text
	behind geom.Path // lightened behind the label
}

// Pens of an overlay, which differ in black and white.
var (
	formerLine = &drawing.Pen{Width: 0.35, Grey: 0.5, Dash: []float64{2.4, 1.4}}
	newLine    = &drawing.Pen{Width: 0.3}
	moveLine   = &drawing.Pen{Width: 0.6}
)

// Distances in an overlay, in ems of its letters.
const (
	overlayGap    = 2.0 // between pieces, and round the whole
	overlayAspect = math.Sqrt2
)

// newOverlay lays out the picture, its letters of an em of size mm.
func newOverlay(was, now finish.Pattern, d compare.Difference, em float64) overlay {
	var o overlay
	o.add(was, now, d, em)
	o.heading(was, now, em)
	below := 0.0
	for _, l := range o.head {
		below = max(below, l.At.Y+l.Height())
	}
	width := o.arrange(geom.Pt(0, below+overlayGap*em), em)
	for _, l := range o.head {
		width = max(width, l.At.X+l.Width())
	}
	o.bounds = geom.BoxOf(geom.Pt(0, 0), geom.Pt(width, below))
	for i := range o.pieces {
		o.bounds = o.bounds.Union(o.pieces[i].box()).Union(boxOfText(o.pieces[i].caption))
	}
	o.bounds = o.bounds.Grow(overlayGap / 2 * em)
	return o
}

// add takes up the pieces: those of the new pattern, then those that are gone.
func (o *overlay) add(was, now finish.Pattern, d compare.Difference, em float64) {
	moves := map[string]compare.Move{}
	for _, p := range d.Pieces {
		moves[p.Name] = p.Move
	}
	for _, p := range now.Pieces {
		q := overlaid{name: p.Name, title: p.Title, now: seamLines(p), grain: p.Grain}
		lines := []string{p.Title, "new"}
		if move, kept := moves[p.Name]; kept {
			old := slices.IndexFunc(was.Pieces, func(q finish.Piece) bool { return q.Name == p.Name })
			for _, path := range seamLines(was.Pieces[old]) {
				q.was = append(q.was, path.Move(geom.Shift(move.Shift)))
			}
			lines[1] = "does not move"
			if move.Largest > 0 {
				lines[1] = fmt.Sprintf("largest %s, mean %s", moved(move.Largest), moved(move.Mean))
				q.mark = markOf(move, slices.Concat(q.was, q.now, []geom.Path{{p.Grain}}), em)
			}
		}
		q.letter(lines, em)
		o.pieces = append(o.pieces, q)
	}
	for _, p := range was.Pieces {
		if slices.Contains(d.Gone, p.Name) {
			q := overlaid{name: p.Name, title: p.Title, was: seamLines(p), grain: p.Grain}
			q.letter([]string{p.Title, "gone"}, em)
			o.pieces = append(o.pieces, q)
		}
	}
}

func (q *overlaid) letter(lines []string, em float64) {
	q.caption = finish.Text{Size: em, Lines: lines}
	q.says = lines[0] + ": " + lines[1]
}

// seamLines are a piece's outline and the legs of its darts.
func seamLines(p finish.Piece) []geom.Path {
	paths := []geom.Path{p.Outline()}
	for _, d := range p.Darts {
		paths = append(paths, d.Legs[0], d.Legs[1])
	}
	return paths
}

// moved writes a distance as a cutter reads it.
func moved(mm float64) string {
	if mm < 0.995 {
		return fmt.Sprintf("%.2f mm", mm)
	}
	return fmt.Sprintf("%.1f mm", mm)
}

// markOf rings the largest move, its mm beside the ring where they cover no
// line, or else where they cover fewest.
func markOf(move compare.Move, lines []geom.Path, em float64) *moveMark {
	m := &moveMark{arrow: geom.Line(move.Was, move.Now), circle: move.Was.Lerp(move.Now, 0.5)}
	m.radius = max(0.6*em, 0.7*move.Largest)
	m.label = finish.Text{Size: em, Lines: []string{moved(move.Largest)}}
	var on []geom.Point
	for _, path := range lines {
		flat := path.Flatten(1)
		for i := range len(flat) - 1 {
			for n, k := int(flat[i].Dist(flat[i+1])/(em/3))+1, 0; k < n; k++ {
				on = append(on, flat[i].Lerp(flat[i+1], float64(k)/float64(n)))
			}
		}
	}
	half := geom.Pt(m.label.Width(), m.label.Height()).Mul(0.5)
	fewest := math.MaxInt
	for turn := range 16 {
		angle := float64(turn) * math.Pi / 8
		way := geom.Polar(1, angle)
		// As far out that the box, however it lies, is clear of the ring.
		out := m.radius + 0.3*em + min(half.X/max(math.Abs(way.X), 1e-9), half.Y/max(math.Abs(way.Y), 1e-9))
		middle := m.circle.Add(way.Mul(out))
		box := geom.BoxOf(middle.Sub(half), middle.Add(half)).Grow(0.1 * em)
		covered := 0
		for _, p := range on {
			if box.Contains(p) {
				covered++
			}
		}
		if covered < fewest {
			fewest, m.label.At = covered, middle.Sub(half)
			m.behind = drawing.BoxPath(box)
		}
	}
	return m
}

// heading says what the picture is and which line is which.
func (o *overlay) heading(was, now finish.Pattern, em float64) {
	y := 0.0
	line := func(x, size float64, text string) finish.Text {
		l := finish.Text{At: geom.Pt(x, y), Size: size, Lines: []string{text}}
		o.head = append(o.head, l)
		y += l.Height()
		return l
	}
	line(0, 1.25*em, titleOf(now.Style, now.Label))
	line(0, em, "What moved, each piece laid on itself with the grain upright. Not to scale: not for cutting.")
	for i, text := range [...]string{fmt.Sprintf("revision %d, before", was.Label.Revision),
		fmt.Sprintf("revision %d, after", now.Label.Revision)} {
		l := line(6.5*em, em, text)
		middle := l.At.Y + l.Height()/2
		o.keys[i] = geom.Line(geom.Pt(0, middle), geom.Pt(5.5*em, middle))
	}
}

// box is the smallest upright box that holds all that is drawn of the piece,
// except for the caption.
func (q *overlaid) box() geom.Box {
	b := geom.EmptyBox()
	for _, p := range slices.Concat(q.was, q.now) {
		b = b.Union(p.Bounds())
	}
	if m := q.mark; m != nil {
		b = b.Union(m.behind.Bounds()).Union(geom.BoxOf(m.circle).Grow(m.radius))
	}
	return b
}

func boxOfText(l finish.Text) geom.Box {
	corners := l.Corners()
	return geom.BoxOf(corners[:]...)
}

// arrange lays the pieces in rows below a point, each under its caption, so
// many to a row that the whole is about as wide as a sheet of paper; it gives
// the width.
func (o *overlay) arrange(from geom.Point, em float64) float64 {
	gap, captions := overlayGap*em, 0.0
	cells := make([]geom.Point, len(o.pieces))
	for i := range o.pieces {
		b := o.pieces[i].box()
		captions = max(captions, o.pieces[i].caption.Height())
		cells[i] = geom.Pt(max(b.Width(), o.pieces[i].caption.Width()), b.Height())
	}
	captions += em / 2
	// rows fills rows up to a width and gives each piece's corner and the size of all.
	rows := func(limit float64) (corners []geom.Point, size geom.Point) {
		at, tall := from, 0.0
		for _, c := range cells {
			if at.X > 0 && at.X+c.X > limit {
				at, tall = geom.Pt(0, at.Y+tall+captions+gap), 0
			}
			corners = append(corners, at)
			size = geom.Pt(max(size.X, at.X+c.X), max(size.Y, at.Y+captions+max(tall, c.Y)))
			at.X += c.X + gap
			tall = max(tall, c.Y)
		}
		return corners, size
	}
	var best []geom.Point
	var size geom.Point
	limit := 0.0
	for _, c := range cells {
		limit += c.X + gap
		corners, s := rows(limit)
		if best == nil || max(s.X, s.Y*overlayAspect) < max(size.X, size.Y*overlayAspect) {
			best, size = corners, s
		}
	}
	for i := range o.pieces {
		o.pieces[i].caption.At = best[i]
		o.pieces[i].shift(best[i].Add(geom.Pt(0, captions)).Sub(o.pieces[i].box().Min))
	}
	return size.X
}

// shift moves all that is drawn of the piece but its caption.
func (q *overlaid) shift(by geom.Point) {
	m := geom.Shift(by)
	for _, paths := range [...][]geom.Path{q.was, q.now} {
		for i := range paths {
			paths[i] = paths[i].Move(m)
		}
	}
	q.grain = q.grain.Move(m)
	if q.mark != nil {
		q.mark.arrow, q.mark.circle = q.mark.arrow.Move(m), q.mark.circle.Add(by)
		q.mark.label.At, q.mark.behind = q.mark.label.At.Add(by), q.mark.behind.Move(m)
	}
}

// picture returns the overlay as figures.
func (o *overlay) picture(now finish.Pattern) drawing.Picture {
	p := drawing.Picture{Style: now.Style, Label: now.Label, Title: titleOf(now.Style, now.Label), Bounds: o.bounds}
	p.Figures = append(p.Figures, drawing.Figure{Name: []string{"heading"}, Parts: []drawing.Part{
		{Name: "before", Pen: formerLine, Shapes: drawing.Lines(geom.Path{o.keys[0]})},
		{Name: "after", Pen: newLine, Shapes: drawing.Lines(geom.Path{o.keys[1]})},
		{Name: "text", Texts: o.head},
	}})
	var says []string
	for _, q := range o.pieces {
		says = append(says, q.says)
		p.Figures = append(p.Figures, q.figure())
	}
	p.Description = "What moved, not to scale. " + strings.Join(says, "; ") + "."
	return p
}

// figure returns a piece of an overlay.
func (q *overlaid) figure() drawing.Figure {
	f := drawing.Figure{Name: []string{"piece", q.name}, Title: q.says, Parts: []drawing.Part{
		{Name: "before", Pen: formerLine, Shapes: drawing.Lines(q.was...)},
		{Name: "after", Pen: newLine, Shapes: drawing.Lines(q.now...)},
		{Name: "grain", Pen: drawing.Guide, Shapes: drawing.Lines(geom.Path{q.grain})},
	}}
	if m := q.mark; m != nil {
		f.Parts = append(f.Parts,
			drawing.Part{Name: "behind", Pen: drawing.White, Shapes: []drawing.Shape{{Path: m.behind, Filled: true}}},
			drawing.Part{Name: "move", Pen: moveLine, Shapes: drawing.Lines(geom.Path{m.arrow})},
			drawing.Part{Name: "ring", Pen: drawing.Fine, Shapes: []drawing.Shape{drawing.Circle(m.circle, m.radius)}},
			drawing.Part{Name: "largest", Texts: []finish.Text{m.label}})
	}
	f.Parts = append(f.Parts, drawing.Part{Name: "caption", Texts: []finish.Text{q.caption}})
	return f
}

// newOverlayPicture lays the picture out with letters that are as large as a
// scale asks for: em returns the em, mm, in a picture of some bounds. The size of
// the letters changes the bounds little, so that two steps find it.
func newOverlayPicture(
	ctx context.Context, was, now finish.Pattern, em func(geom.Box) float64,
) (drawing.Picture, error) {
	for _, p := range slices.Concat(was.Pieces, now.Pieces) {
		if b := p.Outline().Bounds(); !(b.Min.Finite() && b.Max.Finite()) {
			return drawing.Picture{}, sheets.ErrNowhere
		}
	}
	d, err := compare.Patterns(ctx, was, now)
	if err != nil {
		return drawing.Picture{}, cost.Named(ctx, err, "comparing the patterns")
	}
	o := newOverlay(was, now, d, 20)
	for range 2 {
		o = newOverlay(was, now, d, em(o.bounds))
	}
	return o.picture(now), nil
}

// OverlaySVG writes a picture of what moved from one pattern to another of the
// same order, as wide as its window: the seam line of every piece before, dashed
// and grey, and after, solid, on the same grain, and the largest move of each,
// ringed, in mm. If it returns an error other than that of w, it has written
// nothing.
func OverlaySVG(ctx context.Context, w io.Writer, was, now finish.Pattern) error {
	p, err := newOverlayPicture(ctx, was, now, screenEm)
	if err != nil {
		return err
	}
	return PictureSVG(w, p)
}

// OverlayPDF writes the picture of OverlaySVG on one page of A4, upright or level,
// whichever shows it larger.
func OverlayPDF(ctx context.Context, w io.Writer, was, now finish.Pattern) error {
	em := func(b geom.Box) float64 { return pageEm / max(fit(b, upright), fit(b, level)) }
	p, err := newOverlayPicture(ctx, was, now, em)
	if err != nil {
		return err
	}
	return writePicturePDF(w, p)
}
