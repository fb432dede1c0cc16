package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A GrownSleeve is a sleeve in one with front and back.
type GrownSleeve struct {
	Length   float64 // mm from the shoulder point along the overarm to the end
	Width    float64 // mm round its end
	Underarm float64 // mm at least from the armhole down the side to the corner of underarm and side
}

// Names of the edges of a piece with a grown-on sleeve.
const (
	overarmRun    = "overarm"
	sleeveHemRun  = "sleeve_hem"
	shoulderRun   = "shoulder"
	armholeRun    = "armhole"
	sideRun       = "side"
	shoulderPoint = "shoulder point"
)

// underarmRound is the distance from the corner of underarm and side over which it is
// rounded, mm: a tighter curve tears when the arm is lifted (common practice: 60 to 80).
const underarmRound = 70.0

// taper is by how much the sleeve is deeper at the underarm than at its end, mm.
const taper = 10.0

// mostTurned is the most by which the front's sleeve is turned about the neck point so
// that its underarm is as long as the back's, radians.
const mostTurned = 25 * math.Pi / 180

// GrowSleeves returns a front and a back with a sleeve cut in one: the overarm goes on
// from the neck point along the shoulder, and the underarm runs from the sleeve's end to
// the side in a curve. The front's sleeve is turned about the neck point until its side
// is as long as the back's. The underarm lies lower than asked for where the sleeve would
// otherwise be narrower there than at its end. Shoulder, armhole and side become overarm, sleeve_hem and
// side. No dart may open in them.
func GrowSleeves(front, back pattern.Piece, s GrownSleeve) (pattern.Piece, pattern.Piece, error) {
	if err := checkDimensions(back, dimension{"length", s.Length, 60, 1200}, dimension{"width", s.Width, 160, 1000},
		dimension{"underarm", s.Underarm, 0, 300}); err != nil {
		return front, back, err
	}
	b, err := newGrown(back, s)
	if err != nil {
		return front, back, err
	}
	f, err := newGrown(front, s)
	if err != nil {
		return front, back, err
	}
	b.Underarm = max(b.lowest(), f.lowest())
	f.Underarm = b.Underarm
	for _, g := range []grown{b, f} {
		if err := g.check(); err != nil {
			return front, back, err
		}
	}
	aim := b.side(0).Length()
	lo, hi := -mostTurned, mostTurned // a sleeve turned down has a shorter underarm
	if f.side(lo).Length() < aim || f.side(hi).Length() > aim {
		return front, back, newError(front, sideRun, "with a sleeve of this length and width it cannot be as long as the "+
			"side of %s, %.1f mm", back.Name, aim)
	}
	for range 50 {
		mid := 0.5 * (lo + hi)
		if f.side(mid).Length() > aim {
			lo = mid
		} else {
			hi = mid
		}
	}
	if front, err = f.piece(0.5 * (lo + hi)); err != nil {
		return front, back, err
	}
	back, err = b.piece(0)
	if err != nil {
		return front, back, err
	}
	back.Notches = append(back.Notches, pattern.Notch{Edge: overarmRun, At: b.shoulder.Length(),
		Kind: pattern.NotchSingle, Name: shoulderPoint})
	return front, back, nil
}

// A grown is a piece on which a sleeve is grown.
type grown struct {
	GrownSleeve
	of       pattern.Piece
	shoulder geom.Path
	edge     pattern.Edge // the side
}

func newGrown(p pattern.Piece, s GrownSleeve) (grown, error) {
	g := grown{GrownSleeve: s, of: p}
	for _, run := range []string{shoulderRun, armholeRun, sideRun} {
		e, err := wholeEdge(p, run)
		if err != nil {
			return g, err
		}
		switch run {
		case shoulderRun:
			g.shoulder = e.Path
		case sideRun:
			g.edge = e
		}
	}
	return g, nil
}

// lowest returns the distance down the side from which on the sleeve is deeper at the
// underarm than at its end.
func (g grown) lowest() float64 {
	end, low := g.end(0)
	down := low.Sub(end).Unit()
	for at := g.Underarm; at < g.edge.Path.Length(); at += 2 {
		if g.edge.Path.At(at).Sub(end).Dot(down) >= g.Width/2+taper {
			return at
		}
	}
	return g.edge.Path.Length()
}

// check returns an error if there is no room for the sleeve's underarm.
func (g grown) check() error {
	if n := g.edge.Path.Length() - 2*underarmRound; g.Underarm > n {
		return newError(g.of, sideRun, "the underarm lies %.1f mm down it; at most %.1f mm: make the sleeve narrower, or "+
			"its underarm higher", g.Underarm, n)
	}
	_, low := g.end(0)
	if room := low.X - g.edge.Path.At(g.Underarm).X; room < 2*underarmRound {
		return newError(g.of, sideRun, "the sleeve ends %.1f mm beyond it; at least %g mm: make the sleeve longer", room,
			2*underarmRound)
	}
	return nil
}

// end returns the ends of overarm and underarm, the sleeve turned down by an angle.
func (g grown) end(turned float64) (over, under geom.Point) {
	neck, point := g.shoulder.Start(), g.shoulder.End()
	along := point.Sub(neck).Unit().Rotate(geom.Point{}, turned)
	over = neck.Add(along.Mul(point.Dist(neck) + g.Length))
	return over, over.Add(along.Right().Mul(g.Width / 2))
}

// side returns underarm and side, from the sleeve's end to the hem.
func (g grown) side(turned float64) geom.Path {
	over, low := g.end(turned)
	pit := g.edge.Path.At(g.Underarm)
	arm := pit.Sub(low)
	back := min(underarmRound, 0.4*arm.Norm())
	a, b := pit.Sub(arm.Unit().Mul(back)), g.edge.Path.At(g.Underarm+back)
	u, v := arm.Unit(), g.edge.Path.TangentAt(g.Underarm+back)
	angle := math.Abs(geom.AngleBetween(u, v))
	handle := back
	if angle > 0.1 { // the handles of an arc that turns by the angle within back of its corner
		handle = 4. / 3 * math.Tan(angle/4) * back / math.Tan(angle/2)
	}
	square := low.Sub(over).Unit().Right().Mul(0.25 * low.Dist(a)) // to the sleeve's end
	return geom.Join(geom.Path{
		geom.Cubic(low, low.Add(square), a.Sub(u.Mul(0.4*low.Dist(a))), a),
		geom.Cubic(a, a.Add(u.Mul(handle)), b.Sub(v.Mul(handle)), b),
	},
		g.edge.Path.Part(g.Underarm+back, g.edge.Path.Length()))
}

// piece returns the piece with its sleeve.
func (g grown) piece(turned float64) (pattern.Piece, error) {
	over, under := g.end(turned)
	neck := g.shoulder.Start()
	side := g.edge
	side.Path = g.side(turned)
	p := g.of
	edges := rotated(p.Edges, p.EdgeIndex(shoulderRun))
	p.Edges = append([]pattern.Edge{newEdge(overarmRun, pattern.RoleSeam, geom.Polyline(neck, over)),
		newEdge(sleeveHemRun, pattern.RoleHem, geom.Polyline(over, under)), side}, edges[3:]...)
	p.Notches = nil
	for _, n := range g.of.Notches {
		if n.Edge != shoulderRun && n.Edge != armholeRun && n.Edge != sideRun {
			p.Notches = append(p.Notches, n)
		}
	}
	if !p.Outline().Simple() {
		return p, newError(g.of, sideRun, "its outline would cross itself")
	}
	return p, nil
}
