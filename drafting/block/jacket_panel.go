package block

import (
	"math"
	"slices"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// notchFree is how far a seam that starts in the armhole keeps below its notch, mm.
const notchFree = 14.0

// Where the panel's seams leave the armhole, as shares of its length from the shoulder, and how
// they run on (common practice: the back's seam at the height of the shoulder blades' lower half,
// the front's below the chest, in front of the arm).
const (
	backSeamAt     = 0.66
	frontSeamAt    = 0.74
	bustSeamAt     = 0.54
	backSeamTurn   = 45 * degree // from the armhole's direction
	frontSeamTurn  = 60 * degree
	bustSeamTurn   = 40 * degree
	besideBust     = 14.0 // of the seam below the bust point, to the side
	backSeamInside = 6.0  // of the seam below, from where it starts
	frontSeamInset = 4.0
)

// seamStart returns where a seam leaves an armhole, mm along it: at a share of its length, and
// clear below the point where the width across is measured and the notch.
func (f *figure) seamStart(p pattern.Piece, a armhole, share float64) float64 {
	at := math.Max(share*a.length(), a.upper.Length()+notchFree)
	for _, n := range p.Notches {
		if n.Edge == edgeArmhole && math.Abs(at-n.At) < notchFree {
			at = n.At + notchFree
		}
	}
	return at
}

// dartOnArmhole returns where a bust dart opens in the armhole, mm along it.
func (f *figure) dartOnArmhole(m *married) float64 {
	a := m.armholes[front]
	if f.jacket == nil {
		return a.upper.Length()
	}
	return math.Max(bustSeamAt*a.length(), a.upper.Length()+notchFree)
}

// cutPanel cuts back and front, and joins what lies under the arm to one panel. The front comes
// back turned over.
func (f *figure) cutPanel(m *married, b, fr pattern.Piece) (cutPieces, error) {
	c := cutPieces{panel: true}
	b, fr = withoutNotches(b, edgeSide), withoutNotches(fr, edgeSide)
	back, err := f.cutBack(m, b)
	if err != nil {
		return c, err
	}
	front, err := f.cutFront(m, fr)
	if err != nil {
		return c, err
	}
	c.back, c.front = back.middle, turnOver(front.middle)
	under := back.side.RunLength(edgeArmhole)
	flipped := front.side.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
	if c.side, err = cutting.Join(back.side, edgeSide, flipped, edgeSide); err != nil {
		return c, err
	}
	c.side.Name, c.side.Title, c.side.Cut = pieceSide, "Side panel", pattern.Cut{Count: 2, Pair: true}
	if c.side, err = cutting.SplitEdge(c.side, cutting.Position{Run: edgeArmhole, At: under}, edgeArmholeBack,
		edgeArmholeFront); err != nil {
		return c, err
	}
	if c.side, err = cutting.TrueUp(c.side, edgeHem); err != nil {
		return c, err
	}
	c.side = cutting.GrainAlong(c.side, geom.Pt(0, 1))
	return c, nil
}

func withoutNotches(p pattern.Piece, run string) pattern.Piece {
	var notches []pattern.Notch
	for _, n := range p.Notches {
		if n.Edge != run {
			notches = append(notches, n)
		}
	}
	p.Notches = notches
	return p
}

// halves are the parts of a back or front cut by a panel's seam.
type halves struct{ side, middle pattern.Piece }

// panelSeam is a seam from the armhole to the hem of a piece that lies with its centre on x = 0.
type panelSeam struct {
	name         string
	starts, over [2]geom.Point // of the middle's edge and the side's: at the armhole, and level with the bust
	along        [2]geom.Point // in which they leave the armhole
	x            float64       // of its middle below the bust
	waist, hip   float64       // taken in
	through      []string      // darts that it takes up
	bustLine     float64
	notch        pattern.NotchKind // at the waist
}

func (f *figure) cutBack(m *married, b pattern.Piece) (halves, error) {
	armhole := b.Run(edgeArmhole)
	from := f.seamStart(b, m.armholes[back], backSeamAt)
	start := armhole.At(from)
	j := f.jacket
	s := panelSeam{name: edgeBackSeam, notch: pattern.NotchDouble, starts: [2]geom.Point{start, start},
		x: start.X - backSeamInside, waist: j.waist.back - j.spring[back], hip: j.hip[back] - j.spring[back]}
	along := tangentAfter(armhole, from).Rotate(geom.Point{}, backSeamTurn)
	s.along = [2]geom.Point{along, along}
	s.bustLine = lineAt(b, lineBust, s.x+2)
	at := geom.Pt(s.x+2, s.bustLine)
	if j.spring[back] == 0 {
		at.Y = math.Max(at.Y, start.Y+leastToBust)
	}
	s.partAt(at, j.spring[back])
	return f.cutSeam(b, s)
}

func (f *figure) cutFront(m *married, fr pattern.Piece) (halves, error) {
	armhole := fr.Run(edgeArmhole)
	j := f.jacket
	s := panelSeam{name: edgeFrontSeam, notch: pattern.NotchSingle, bustLine: m.bustLine,
		waist: j.waist.front - j.spring[front], hip: j.hip[front] - j.spring[front]}
	if !f.hasBust() {
		at := f.seamStart(fr, m.armholes[front], frontSeamAt)
		start := armhole.At(at)
		s.starts, s.x = [2]geom.Point{start, start}, start.X-frontSeamInset
		along := tangentAfter(armhole, at).Rotate(geom.Point{}, frontSeamTurn)
		s.along = [2]geom.Point{along, along}
		s.partAt(geom.Pt(s.x, math.Max(s.bustLine, start.Y+leastToBust)), 0)
		return f.cutSeam(fr, s)
	}
	at := f.dartOnArmhole(m)
	point := m.dart.point
	s.x = point.X + besideBust
	s.through = []string{dartBust}
	s.starts = [2]geom.Point{armhole.At(at), armhole.At(at)}
	if i := fr.EdgeIndex(mouthOf(dartBust)); i >= 0 {
		s.starts = [2]geom.Point{fr.Edges[i].Path.Start(), fr.Edges[i].Path.End()}
	}
	// Both edges leave the armhole at one angle, so that it runs on over the sewn seam.
	turned := geom.AngleBetween(s.starts[0].Sub(point), s.starts[1].Sub(point))
	along := m.armholes[front].path()
	s.along[0] = tangentAfter(along, at).Rotate(geom.Point{}, bustSeamTurn)
	s.along[1] = s.along[0].Rotate(geom.Point{}, turned)
	s.partAt(point, j.spring[front])
	return f.cutSeam(fr, s)
}

// partAt has the edges of the seam run alike as far as a point, each beyond it by half of what they
// let out there.
func (s *panelSeam) partAt(point geom.Point, spring float64) {
	out := geom.Pt(spring/2, 0)
	s.over = [2]geom.Point{point.Add(out), point.Sub(out)}
}

// tangentAfter returns the direction in which a path runs on at mm along it.
func tangentAfter(path geom.Path, at float64) geom.Point {
	_, rest := path.SplitAt(at)
	return rest.StartTangent()
}

const (
	overBust    = 8.0         // most that the panel is eased into the front over the bust (from memory: 5 to 8)
	mostTension = 1.33        // of the panel's edge above the bust; the front's is as much slacker
	mostLean    = 14 * degree // of the seam over the bust from straight down
	leastToBust = 40.0        // from the armhole down to where a seam's edges part
	straightEnd = 15.0        // of a seam at a hem at or below the hips
)

// drawSeam draws both edges of a seam: the middle's and the side's. Over the bust a tension above it
// shortens the side's and lengthens the middle's, so that the side's is longer by no more than is
// eased in, where mostTension is enough for that.
func (f *figure) drawSeam(p pattern.Piece, s panelSeam) (edges [2]geom.Path, err error) {
	draw := func(tension float64) {
		for i, side := range [2]float64{-0.5, 0.5} {
			points, foot := f.below(p, s, side)
			if edges[i], err = s.edge(i, points, [2]float64{1 / tension, tension}[i]); err != nil {
				return
			}
			if end := edges[i].End(); end != foot {
				edges[i] = append(edges[i], geom.Line(end, foot))
			}
		}
	}
	over := func(tension float64) float64 {
		draw(tension)
		return edges[1].Length() - edges[0].Length() - overBust
	}
	tension := 1.0
	if s.through != nil && over(1) > 0 {
		var ok bool
		if tension, ok = root(1, mostTension, 1e-6, over); !ok {
			tension = mostTension
		}
	}
	draw(tension)
	return edges, err
}

// cutSeam cuts a piece along a seam from the armhole to the hem and makes it equally long on both
// sides, except what is eased in over the bust. It notches both at the waist.
func (f *figure) cutSeam(p pattern.Piece, s panelSeam) (halves, error) {
	edges, err := f.drawSeam(p, s)
	if err != nil {
		return halves{}, err
	}
	lines := p.Lines
	p.Lines = nil
	parts, err := cutting.CutApart(p, edges[1], edges[0], s.name, [2]string{"side_" + p.Name, p.Name}, s.through...)
	if err != nil {
		return halves{}, err
	}
	ease := 0.0
	if s.through != nil {
		ease = clamp(edges[1].Length()-edges[0].Length(), 0, overBust)
	}
	long := (edges[0].Length() + edges[1].Length() + ease) / 2
	for i := range parts {
		if parts[i], err = cutting.Level(parts[i], s.name, edgeHem, long-float64(i)*ease); err != nil {
			return halves{}, err
		}
		if parts[i], err = cutting.TrueUp(parts[i], edgeHem); err != nil {
			return halves{}, err
		}
	}
	for _, l := range lines {
		middle, _ := cutLine(l, edges[0], s.x)
		_, side := cutLine(l, edges[1], s.x)
		parts[0].Lines, parts[1].Lines = append(parts[0].Lines, side), append(parts[1].Lines, middle)
	}
	return s.notched(parts), nil
}

// notched returns the parts of a piece with a notch on each edge of the seam, equally far from the
// hem, where their waists lie on average: what one edge is longer it has above.
func (s panelSeam) notched(parts [2]pattern.Piece) halves {
	var tops, along, below [2]float64
	for i, part := range parts {
		run := part.Run(s.name)
		for _, l := range part.Lines {
			if l.Name == lineWaist {
				_, _, along[i] = run.Nearest([2]geom.Point{l.Path.Start(), l.Path.End()}[i])
			}
		}
		below[i] = along[i]
		if run.Start().Y < run.End().Y {
			tops[i], below[i] = run.Length(), run.Length()-along[i]
		}
	}
	mean := (below[0] + below[1]) / 2
	for i := range parts {
		parts[i].Notches = append(parts[i].Notches,
			pattern.Notch{Edge: s.name, At: math.Abs(tops[i] - mean), Kind: s.notch})
	}
	return halves{parts[0], parts[1]}
}

// cutLine cuts a level line from the centre to the side in two where a seam crosses it, near x.
func cutLine(l pattern.Line, seam geom.Path, x float64) (before, after pattern.Line) {
	for range 4 {
		x = xAtLevel(seam, crossing(l.Path, x).Y)
	}
	_, _, at := l.Path.Nearest(crossing(l.Path, x))
	before, after = l, l
	before.Path, after.Path = l.Path.SplitAt(at)
	return before, after
}

// alongBust returns the direction of both edges over the bust: between those from the armhole and on
// to the waist, and nearer to that of the shorter way.
func (s panelSeam) alongBust(waist geom.Point) geom.Point {
	before, after := s.over[0].Sub(s.starts[0]), geom.Pt(s.x, waist.Y).Sub(s.over[0])
	share := after.Norm() / (before.Norm() + after.Norm())
	return down(clamp(fromDown(after.Unit().Lerp(before.Unit(), share)), -mostLean, mostLean))
}

// edge returns one edge of the seam, from the armhole with a tension to the bust, and on through the
// points below it.
func (s panelSeam) edge(side int, below []geom.Point, tension float64) (geom.Path, error) {
	start, over := s.starts[side], s.over[side]
	// Both run alike down to the bust line, so that nothing is taken in there.
	along := s.alongBust(below[0])
	end := over.Add(along.Mul((s.bustLine - over.Y) / along.Y))
	upper, err := geom.Spline([]geom.Point{start, over}, s.along[side], along, tension)
	if err != nil {
		return nil, err
	}
	if end.Y-over.Y > geom.JoinTol {
		upper = append(upper, geom.Line(over, end))
	}
	lower, err := geom.Spline(append([]geom.Point{upper.End()}, below...), along, geom.Pt(0, 1), 1)
	return append(upper, lower...), err
}

// below returns the points of an edge of a seam at the waist, and at the hips or at a hem above
// them, a share of what is taken in beside its middle; and where it meets the hem.
func (f *figure) below(p pattern.Piece, s panelSeam, share float64) (points []geom.Point, foot geom.Point) {
	hem := p.Run(edgeHem)
	x := s.x + share*s.waist
	waist, hip := lineAt(p, lineWaist, x), lineAt(p, lineHip, s.x)
	points = []geom.Point{geom.Pt(x, waist)}
	taken := s.hip
	if hip == 0 {
		taken = s.waist + (s.hip-s.waist)*math.Min(1, (crossing(hem, s.x).Y-waist)/f.hipDepth())
	}
	foot = crossing(hem, s.x+share*taken)
	if hip == 0 {
		return append(points, foot), foot
	}
	return append(points, geom.Pt(foot.X, math.Min(lineAt(p, lineHip, foot.X), foot.Y-straightEnd))), foot
}

// lineAt returns the level of a line inside a piece at x, 0 if it has none.
func lineAt(p pattern.Piece, name string, x float64) float64 {
	for _, l := range p.Lines {
		if l.Name == name {
			return crossing(l.Path, x).Y
		}
	}
	return 0
}

// shapeCentre takes the seam at the centre back in at the waist, from the bust line to the hips.
func (f *figure) shapeCentre(b pattern.Piece, m *married) (pattern.Piece, error) {
	take := f.jacket.waist.centre
	if take == 0 {
		return b, nil
	}
	centre := b.Run(edgeBackCentre)
	foot, waist := centre.Start(), lineAt(b, lineWaist, 0)
	low := geom.Pt(0, foot.Y)
	if hip := lineAt(b, lineHip, 0); hip > 0 {
		low.Y = hip
	}
	path, err := geom.Spline([]geom.Point{low, geom.Pt(0.6*take, (low.Y+waist)/2), geom.Pt(take, waist),
		geom.Pt(0, m.bustLine)}, geom.Pt(0, -1), geom.Pt(0, -1), 1)
	if err != nil {
		return b, err
	}
	if foot.Y-low.Y > hair {
		path = append(geom.Path{geom.Line(foot, low)}, path...)
	} else {
		path = path.MoveStart(foot)
	}
	path = append(path, geom.Line(path.End(), centre.End()))
	b.Lines = slices.Clone(b.Lines)
	if b, err = cutting.Redraw(b, []string{edgeBackCentre}, []geom.Path{path}); err != nil {
		return b, err
	}
	notch, _, at := path.Nearest(geom.Pt(take, waist))
	b = withoutNotches(b, edgeBackCentre)
	b.Notches = append(b.Notches, pattern.Notch{Edge: edgeBackCentre, At: at, Kind: pattern.NotchDouble})
	for i, l := range b.Lines {
		_, b.Lines[i] = cutLine(l, path.Reverse(), 0)
		if l.Name == lineWaist { // which a sway back has lifted at the centre
			b.Lines[i].Path = b.Lines[i].Path.MoveStart(notch)
		}
	}
	return b, nil
}
