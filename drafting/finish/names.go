package finish

import (
	"math"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// nameSizes are the ems of names on a piece, the preferred first, mm.
var nameSizes = [...]float64{2.8, 2.2}

// nameClear are the obstacles that names keep clear of.
const nameClear = obstacleOutside | obstacleDart | obstacleMark | obstacleLine | obstacleFold

// centred returns a line of lettering with its middle at a point, reading along an
// angle from the left or upwards.
func centred(word string, size, angle float64, middle geom.Point) Text {
	for angle > math.Pi/2-1e-9 {
		angle -= math.Pi
	}
	for angle <= -math.Pi/2-1e-9 {
		angle += math.Pi
	}
	l := Text{Angle: angle, Size: size, Lines: []string{word}, Fixed: true}
	l.At = middle.Sub(geom.Polar(l.Width()/2, angle)).Sub(geom.Polar(l.Height()/2, angle+math.Pi/2))
	return l
}

// markWord returns a name as it is lettered: capitals, without the number of one of
// several.
func markWord(name string) string {
	return clean(strings.ToUpper(strings.TrimRight(strings.ReplaceAll(name, "_", " "), " 0123456789")))
}

// nameMarks names bust points, drill holes and the points of darts.
func (q *Piece) nameMarks(r *room) {
	type named struct {
		word string
		at   geom.Point
	}
	var done []named
	for _, m := range q.Marks {
		word, reach := markWord(m.Name), drillInset
		if m.Kind == pattern.MarkBustPoint {
			word, reach = "BUST POINT", 4
		}
		if word == "" {
			continue
		}
		again := false // the corners of one pocket need one name
		for _, d := range done {
			again = again || d.word == word && d.at.Dist(m.At) < 40
		}
		if again || !q.nameAt(word, m.At, reach, r) {
			continue
		}
		done = append(done, named{word, m.At})
	}
}

// nameAt letters a word beside a point and reports whether there was room.
func (q *Piece) nameAt(word string, at geom.Point, reach float64, r *room) bool {
	for _, size := range nameSizes {
		l := centred(word, size, 0, at)
		w, h := l.Width()/2+reach+1, l.Height()/2+reach+0.5
		for _, off := range [...]geom.Point{
			{X: w}, {X: -w}, {Y: h}, {Y: -h}, {X: w, Y: h}, {X: -w, Y: h}, {X: w, Y: -h}, {X: -w, Y: -h},
		} {
			if l := centred(word, size, 0, at.Add(off)); r.free(l.Corners(), nameClear) {
				q.add([]Text{l}, r)
				return true
			}
		}
	}
	return false
}

// nameNotches letters the names of notches inside the seam line, from the notch
// inwards or beside it.
func (q *Piece) nameNotches(r *room) {
	last := -1
	for _, t := range q.Ticks {
		n := q.Notches[t.Notch]
		if n.Name == "" || t.Notch == last {
			continue
		}
		last = t.Notch
		q.nameNotch(markWord(n.Name), t.Stroke, r)
	}
}

func (q *Piece) nameNotch(word string, tick geom.Segment, r *room) {
	in := tick.P0.Sub(tick.P3).Unit()
	from := tick.P0
	if !r.inside(from.Add(in)) { // without an allowance the notch lies inside
		in = in.Neg()
		from = tick.P3
	}
	for _, size := range nameSizes {
		for _, side := range [...]float64{0, 1, -1} {
			l := centred(word, size, in.Angle(), from)
			middle := from.Add(in.Mul(1.2 + l.Width()/2)).Add(in.Left().Mul(side * l.Height()))
			if l = centred(word, size, in.Angle(), middle); r.free(l.Corners(), nameClear) {
				q.add([]Text{l}, r)
				return
			}
			along := in.Left()
			l = centred(word, size, along.Angle(), from)
			middle = from.Add(in.Mul(0.8 + l.Height()/2)).Add(along.Mul(side * l.Width() / 2))
			if l = centred(word, size, along.Angle(), middle); r.free(l.Corners(), nameClear) {
				q.add([]Text{l}, r)
				return
			}
		}
	}
}

// centres are the edges that are lettered.
var centres = map[string]string{"centre_front": "CENTRE FRONT", "centre_back": "CENTRE BACK"}

// nameCentres letters the centre front and back along seams; those on a fold have
// the word with that of the fold.
func (q *Piece) nameCentres(r *room) {
	named := map[string]bool{}
	for _, e := range q.Edges {
		word := centres[e.Run]
		if word == "" || named[e.Run] || e.Role == pattern.RoleFold || len(e.Path) == 0 {
			continue
		}
		n := e.Path.Length()
		s := geom.Line(e.Path.At(0.25*n), e.Path.At(0.75*n))
		if s.Length() < 1 {
			continue
		}
		if l := alongside(word, s, [2]geom.Point{s.Tangent(0).Right(), s.Tangent(0).Right()}, r); l != nil {
			q.add(l, r)
			named[e.Run] = true
		}
	}
}

// foldText returns what is lettered along a fold.
func (q *Piece) foldText(fold geom.Segment) string {
	for _, e := range q.Edges {
		if word := centres[e.Run]; word != "" && e.Role == pattern.RoleFold && len(e.Path) > 0 {
			middle := e.Path.At(e.Path.Length() / 2)
			if _, d, _ := (geom.Path{fold}).Nearest(middle); d < pattern.FoldTol {
				return word + foldEnding
			}
		}
	}
	return foldWord
}

// lineWord returns what is lettered along a line inside the piece.
func (q *Piece) lineWord(name string) string {
	if name == "centre" {
		for part, word := range map[string]string{"front": "CENTRE FRONT", "back": "CENTRE BACK"} {
			if strings.Contains(q.Name, part) {
				return word
			}
		}
	}
	return clean(strings.ToUpper(strings.ReplaceAll(name, "_", " ")))
}

// IsButtonhole reports whether a line is a buttonhole: a short straight line of that
// name.
func IsButtonhole(l pattern.Line) bool {
	return strings.HasPrefix(l.Name, "button") && len(l.Path) == 1 && l.Path[0].Straight
}

// IsArrow reports whether a line is an arrow, such as that of a pleat.
func IsArrow(l pattern.Line) bool { return strings.HasSuffix(l.Name, "_arrow") }

// isFold reports whether a line is one along which the piece is folded.
func isFold(l pattern.Line) bool {
	return strings.Contains(l.Name, "fold") || strings.HasPrefix(l.Name, "roll")
}

// nameLines letters the names of the lines inside the piece.
func (q *Piece) nameLines(r *room) {
	for _, l := range q.Lines {
		switch {
		case IsButtonhole(l):
			s := l.Path[0]
			word := clean(strings.ToUpper(strings.ReplaceAll(l.Name, "_", " ")))
			q.nameBeside(word, s, r)
		case len(l.Path) == 1 && l.Path[0].Straight && !IsArrow(l):
			s := l.Path[0]
			u := s.Tangent(0)
			q.add(alongside(q.lineWord(l.Name), s, [2]geom.Point{u.Left(), u.Right()}, r), r)
		}
	}
	for _, path := range q.Lengthen {
		u := path[0].Tangent(0)
		q.add(alongside("LENGTHEN OR SHORTEN", path[0], [2]geom.Point{u.Left(), u.Right()}, r), r)
	}
}

// nameBeside letters a word level beside a short line, in letters that are read at a
// glance.
func (q *Piece) nameBeside(word string, s geom.Segment, r *room) {
	middle := s.At(0.5)
	b := geom.BoxOf(s.P0, s.P3)
	for _, size := range [...]float64{3.5, 2.8, 2.2} {
		l := centred(word, size, 0, middle)
		w, h := l.Width()/2+b.Width()/2+holeBar, l.Height()/2+b.Height()/2+holeBar
		for _, off := range [...]geom.Point{{X: -w}, {X: w}, {Y: -h}, {Y: h}} {
			if l := centred(word, size, 0, middle.Add(off)); r.free(l.Corners(), nameClear) {
				q.add([]Text{l}, r)
				return
			}
		}
	}
}

// minLevels is the least distance of two levels between which there is a line to
// lengthen, mm.
const minLevels = 130.0

// lengthenLines returns the lines along which the piece is lengthened or shortened:
// square to the grain, half-way between two of its levels (bust, waist, hip, elbow,
// knee) and between the lowest one and the hem (common practice).
func (q *Piece) lengthenLines(outline []geom.Point) []geom.Path {
	if g := q.Grain; g.P0 == g.P3 || math.Abs(g.Tangent(0).X) > 0.05 {
		return nil
	}
	b := geom.BoxOf(outline...)
	var levels []float64
	for _, l := range q.Lines {
		if len(l.Path) == 1 && l.Path[0].Straight && math.Abs(l.Path[0].Tangent(0).Y) < 0.02 &&
			l.Path[0].Length() > 0.4*b.Width() {
			levels = append(levels, l.Path[0].At(0.5).Y)
		}
	}
	if len(levels) == 0 {
		return nil
	}
	var lines []geom.Path
	for _, y := range halfWays(append(levels, b.Max.Y)) {
		if s, ok := across(outline, y); ok {
			lines = append(lines, geom.Path{s})
		}
	}
	return lines
}

// across returns the level line of a closed outline at y, if it meets it twice.
func across(outline []geom.Point, y float64) (geom.Segment, bool) {
	var xs []float64
	for i, p := range outline {
		n := outline[(i+1)%len(outline)]
		if (p.Y <= y) != (n.Y <= y) {
			xs = append(xs, p.X+(y-p.Y)/(n.Y-p.Y)*(n.X-p.X))
		}
	}
	if len(xs) != 2 {
		return geom.Segment{}, false
	}
	return geom.Line(geom.Pt(min(xs[0], xs[1]), y), geom.Pt(max(xs[0], xs[1]), y)), true
}
