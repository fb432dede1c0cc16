package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A TwoPieceSleeve says how a sleeve is cut in two along the arm.
type TwoPieceSleeve struct {
	Elbow, Wrist float64 // girths of the sleeve, mm
	Bend         float64 // by how much the forearm turns forward, radians
	Front, Back  float64 // from the folds of the sleeve to its seams, mm
}

// Names of the edges of a two-piece sleeve, and of those of the sleeve that it is made of.
const (
	frontSeamRun     = "front_seam"
	backSeamRun      = "back_seam"
	capBackRun       = "cap_back"
	capFrontRun      = "cap_front"
	underarmFrontRun = "underarm_front"
	underarmBackRun  = "underarm_back"
	hemRun           = "hem"
	elbowLine        = "elbow"
)

// elbowHollow is by how much the front of the sleeve is hollowed at the elbow, mm (common
// practice: 10 to 15).
const elbowHollow = 10.0

// Limits of a two-piece sleeve.
const (
	mostBend = 15 * math.Pi / 180
	upright  = 1.5 * math.Pi / 180 // by which the underarm may lean
)

// CutTwoPiece cuts a one-piece sleeve with an upright underarm into top and under sleeve.
//
// The sleeve folded flat, its underarm in the middle, has its folds at a quarter of its
// width. The top sleeve reaches beyond them by Front and Back, and the under sleeve as
// much less, so that both seams lie under the arm (common practice: front 20 to 30 mm,
// back 10 to 25). The front is hollowed at the elbow, and the forearm turns forward by
// Bend. Both pieces have the same curves for a seam: each pairs to the length. The cap is
// that of the sleeve, whose top the top sleeve has; the rest meets under the arm.
func CutTwoPiece(p pattern.Piece, s TwoPieceSleeve) (top, under pattern.Piece, err error) {
	t, err := newTwoPiece(p, s)
	if err != nil {
		return top, under, err
	}
	if top, err = t.top(p); err != nil {
		return top, under, err
	}
	under, err = t.under(p)
	return top, under, err
}

// twoPiece is a sleeve folded flat.
type twoPiece struct {
	TwoPieceSleeve
	arms              [2]geom.Point // the underarm points of back and front
	folds             [2]float64    // x of the folds of back and front
	cuts              [2]geom.Point // where the seams meet the cap
	elbow, wrist      [2]geom.Point // of the folds
	forearm           geom.Point    // its direction
	width             float64       // of the whole sleeve at the underarm
	capBack, capFront geom.Path
}

func newTwoPiece(p pattern.Piece, s TwoPieceSleeve) (t twoPiece, err error) {
	t.TwoPieceSleeve = s
	for _, run := range []string{capBackRun, capFrontRun, underarmFrontRun, underarmBackRun, hemRun} {
		if _, err := wholeEdge(p, run); err != nil {
			return t, err
		}
	}
	i := slices.IndexFunc(p.Lines, func(l pattern.Line) bool { return l.Name == elbowLine })
	if i < 0 {
		return t, newError(p, underarmBackRun, "the sleeve does not reach below the elbow")
	}
	t.capBack, t.capFront = p.Run(capBackRun), p.Run(capFrontRun)
	t.arms = [2]geom.Point{t.capBack.Start(), t.capFront.End()}
	t.width = t.arms[1].X - t.arms[0].X
	level := p.Lines[i].Path.Start().Y
	length := p.Run(hemRun).At(p.RunLength(hemRun)/2).Y - level
	for _, run := range []string{underarmFrontRun, underarmBackRun} {
		path := p.Run(run)
		down := path.StartTangent()
		if run == underarmBackRun {
			down = path.EndTangent().Neg()
		}
		if lean := math.Abs(math.Atan2(down.X, down.Y)); lean > upright {
			return t, newError(p, run, "the underarm leans by %.1f degrees, at most %.1f: draft it with an upright elbow",
				lean*180/math.Pi, upright*180/math.Pi)
		}
	}
	if err := checkDimensions(p, dimension{"elbow", s.Elbow, 0.6 * t.width, t.width},
		dimension{"wrist", s.Wrist, 0.4 * t.width, s.Elbow}, dimension{"front", s.Front, 0, t.width / 8},
		dimension{"back", s.Back, 0, t.width / 8}, dimension{"length below the elbow", length, 80, 600}); err != nil {
		return t, err
	}
	if !(s.Bend >= 0 && s.Bend <= mostBend) {
		return t, newError(p, backSeamRun, "a bend of %.1f degrees; want 0 to %.0f", s.Bend*180/math.Pi, mostBend*180/math.Pi)
	}
	middle := (t.arms[0].X + t.arms[1].X) / 2
	t.folds = [2]float64{middle - t.width/4, middle + t.width/4}
	t.forearm = geom.Pt(math.Sin(s.Bend), math.Cos(s.Bend))
	t.elbow[1] = geom.Pt(t.folds[1]-elbowHollow, level)
	t.elbow[0] = geom.Pt(t.elbow[1].X-s.Elbow/2, level)
	across := geom.Pt(t.forearm.Y, -t.forearm.X).Mul(s.Wrist / 4)
	cuff := t.elbow[0].Lerp(t.elbow[1], 0.5).Add(t.forearm.Mul(length))
	t.wrist = [2]geom.Point{cuff.Sub(across), cuff.Add(across)}
	return t, t.meetCap(p)
}

// notchClear is how far a seam moves under the arm, or back, if it would meet the cap at one of
// its notches, mm.
const notchClear = 8.0

// meetCap sets where the seams of the top sleeve meet the cap, clear of its notches.
func (t *twoPiece) meetCap(p pattern.Piece) error {
	for side, half := range []geom.Path{t.capBack, t.capFront} {
		run := [2]string{capBackRun, capFrontRun}[side]
		under := [2]*float64{&t.Back, &t.Front}[side]
		asked := *under
		for _, more := range []float64{0, notchClear, -notchClear, 2 * notchClear} {
			*under = max(0, asked+more)
			x := t.folds[side] + [2]float64{-*under, *under}[side]
			box := half.Bounds()
			crossings := half.Crossings(geom.Polyline(geom.Pt(x, box.Min.Y-1), geom.Pt(x, box.Max.Y+1)))
			if len(crossings) != 1 {
				return newError(p, run, "the seam does not meet the cap once, at %.1f mm from the middle of the sleeve", x)
			}
			t.cuts[side] = crossings[0].At
			if !slices.ContainsFunc(p.Notches, func(n pattern.Notch) bool {
				return n.Edge == run && half.At(n.At).Dist(t.cuts[side]) < notchClear-1
			}) {
				break
			}
		}
	}
	return nil
}

// seam returns the seam of a side from the cap down, as on the sleeve folded flat, moved
// aside by mm.
func (t *twoPiece) seam(side int, by float64) geom.Path {
	start := geom.Pt(t.folds[side], t.cuts[side].Y)
	elbow, wrist := t.elbow[side], t.wrist[side]
	upper, lower := elbow.Sub(start), wrist.Sub(elbow)
	along := upper.Unit().Add(lower.Unit()).Unit()
	u, l := upper.Norm()/3, lower.Norm()/3
	curve := geom.Path{
		geom.Cubic(start, start.Add(geom.Pt(0, u)), elbow.Sub(along.Mul(u)), elbow),
		geom.Cubic(elbow, elbow.Add(along.Mul(l)), wrist.Sub(t.forearm.Mul(l)), wrist),
	}
	return curve.Move(geom.Shift(geom.Pt(by, 0)))
}

// top returns the top sleeve.
func (t *twoPiece) top(p pattern.Piece) (pattern.Piece, error) {
	front, back := t.seam(1, t.Front), t.seam(0, -t.Back)
	_, capBack := splitNear(t.capBack, t.cuts[0])
	capFront, _ := splitNear(t.capFront, t.cuts[1])
	return t.piece(p, "top_sleeve", "Top sleeve", pinsOf(p), []pattern.Edge{
		newEdge(capBackRun, pattern.RoleCap, capBack), newEdge(capFrontRun, pattern.RoleCap, capFront),
		newEdge(frontSeamRun, pattern.RoleSeam, front), newEdge(hemRun, pattern.RoleHem, hemBetween(front, back)),
		newEdge(backSeamRun, pattern.RoleSeam, back.Reverse())})
}

// under returns the under sleeve, the front's part of it laid beside the back's. On the
// sleeve folded flat it lies under the top sleeve, so that it is turned over here.
func (t *twoPiece) under(p pattern.Piece) (pattern.Piece, error) {
	shift := geom.Shift(geom.Pt(-t.width, 0))
	over := geom.Reflect(t.arms[0], geom.Pt(0, 1))
	// The folded sleeve's middle, x, lies at the underarm of the piece.
	middle := (t.arms[0].X + t.arms[1].X) / 2
	place := geom.Shift(geom.Pt(t.arms[0].X-middle, 0)).Then(over)
	front, back := t.seam(1, -t.Front).Move(place), t.seam(0, t.Back).Move(place)
	capBack, _ := splitNear(t.capBack, t.cuts[0])
	_, capFront := splitNear(t.capFront, t.cuts[1])
	pins := pinsOf(p)
	for i := range pins {
		if pins[i].run == capFrontRun {
			pins[i].at = shift.Apply(pins[i].at)
		}
	}
	return t.piece(p, "under_sleeve", "Under sleeve", pins, []pattern.Edge{
		newEdge(capFrontRun, pattern.RoleCap, capFront.Move(shift)), newEdge(capBackRun, pattern.RoleCap, capBack),
		newEdge(backSeamRun, pattern.RoleSeam, back), newEdge(hemRun, pattern.RoleHem, hemBetween(back, front)),
		newEdge(frontSeamRun, pattern.RoleSeam, front.Reverse())})
}

// piece returns a piece of the sleeve with its elbow marked, and the notches of the cap
// that lie on it.
func (t *twoPiece) piece(p pattern.Piece, name, title string, pins []pin, edges []pattern.Edge) (pattern.Piece, error) {
	q := pattern.Piece{Name: name, Title: title, Cut: p.Cut, Edges: edges}
	for i := range edges {
		next := &edges[(i+1)%len(edges)]
		next.Path = next.Path.MoveStart(edges[i].Path.End())
	}
	q = repin(q, pins)
	var elbows []geom.Point
	for _, run := range []string{frontSeamRun, backSeamRun} {
		path := q.Run(run)
		at := path[0].Length()
		elbows = append(elbows, path.At(at))
		q.Notches = append(q.Notches, pattern.Notch{Edge: run, At: at, Kind: pattern.NotchSingle})
	}
	q.Lines = append(q.Lines, pattern.Line{Name: elbowLine, Path: geom.Polyline(elbows...)})
	if broken := q.ValidateOutline(); len(broken) > 0 {
		return q, newError(q, backSeamRun, "the sleeve cannot be cut so: %v", broken[0])
	}
	return GrainThrough(q, geom.Pt(0, 1), elbows[0].Lerp(elbows[1], 0.5)), nil
}

// hemBetween returns the hem from the end of one seam to that of another, square to both.
func hemBetween(from, to geom.Path) geom.Path {
	a, b := from.End(), to.End()
	out, in := from.EndTangent().Right(), to.EndTangent().Left()
	if out.Dot(b.Sub(a)) < 0 {
		out, in = out.Neg(), in.Neg()
	}
	h := a.Dist(b) / 3
	return geom.Path{geom.Cubic(a, a.Add(out.Mul(h)), b.Add(in.Mul(h)), b)}
}

// splitNear splits a path at its point nearest to another.
func splitNear(path geom.Path, at geom.Point) (before, after geom.Path) {
	_, _, along := path.Nearest(at)
	return path.SplitAt(along)
}
