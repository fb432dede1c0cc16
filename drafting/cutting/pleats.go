package cutting

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A PleatKind says how the folds of a run of pleats lie.
type PleatKind string

const (
	KnifePleats    PleatKind = "knife"    // all folds to one side
	BoxPleats      PleatKind = "box"      // two folds away from each other, that meet behind
	InvertedPleats PleatKind = "inverted" // two folds towards each other, that meet in front
)

// Limits of a run of pleats.
const (
	mostPleats = 40  // of one run
	leastSeen  = 1.0 // mm of the edge between two folds that do not touch
)

// A PleatRun is a number of equal pleats at equal distances in an edge.
type PleatRun struct {
	Name  string // of the pleats, numbered
	Run   string
	Kind  PleatKind
	Count int // half pleats included

	// From and To are the ends of the pleated part, mm along the edge. It begins and ends
	// between two pleats or, if halved, in the middle of one; a knife pleat has no halves.
	From, To               float64
	HalvedStart, HalvedEnd bool

	// Width is what a pleat takes of the edge, mm; 0 for closed pleats, of which each takes twice
	// as much as is seen of it. Foot is the same at the ends of the lines, 0 for the width.
	Width, Foot float64

	Depth   float64 // length of the lines, mm
	DownTo  string  // the run to which they go on, "" for none
	ToStart bool    // the direction of knife pleats
}

// Fitting returns the number of pleats with which what is seen of one, at its foot, is nearest
// to a distance.
func (s *PleatRun) Fitting(seen float64) int {
	taken := s.Foot
	if taken == 0 {
		taken = s.Width
	}
	if taken == 0 {
		taken = 2 * seen // closed
	}
	n, least := (s.To-s.From)/(seen+taken), 1
	for _, halved := range [...]bool{s.HalvedStart, s.HalvedEnd} {
		if halved {
			n += 0.5
			least = 2
		}
	}
	if !(n < mostPleats+1) {
		return mostPleats + 1
	}
	return max(least, int(math.Round(n)))
}

// fold is one of the folds of a run of pleats: a knife pleat from a distance along the edge.
type fold struct {
	name    string
	from    float64
	width   float64
	foot    float64
	toStart bool
}

// AddPleats lays a run of pleats in an edge. A knife pleat lies in the middle of its distance.
// A box pleat is two knife pleats, half as wide, with as much between them as they take
// behind it; an inverted pleat is two that touch. Pleats of cloth of three times the
// finished width close: each fold ends where the next begins (common practice). A pleat
// deeper than that would lie on the next one, and is refused.
//
// If the pleats are narrower or wider at the foot, both lines of a knife pleat run aslant, and
// of the others the lines that are laid on the others: what meets stays square to the edge.
func AddPleats(p pattern.Piece, s PleatRun) (pattern.Piece, error) {
	if err := checkRun(p, s.Run); err != nil {
		return pattern.Piece{}, err
	}
	distance, err := s.complete(p)
	if err != nil {
		return pattern.Piece{}, err
	}
	folds := s.folds(distance)
	for i := len(folds) - 1; i >= 0; i-- { // from the end, so that the others keep their places
		f := folds[i]
		slant := SlantBoth
		if s.Kind != KnifePleats {
			slant = SlantLaid
		}
		p, err = AddPleat(p, Pleat{Name: f.name, At: Position{s.Run, f.from}, Width: f.width, Depth: s.Depth,
			Foot: f.foot, ToStart: f.toStart, Run: s.DownTo, Slant: slant})
		if err != nil {
			return pattern.Piece{}, err
		}
	}
	return p, nil
}

// complete checks the run, sets the widths that it leaves out, and returns the distance
// from pleat to pleat, mm of the flat edge.
func (s *PleatRun) complete(p pattern.Piece) (float64, error) {
	if err := s.check(p); err != nil {
		return 0, err
	}
	distance := (s.To - s.From) / s.distances()
	if s.Width == 0 {
		s.Width = distance * 2 / 3
	}
	if s.Foot == 0 {
		s.Foot = s.Width
	}
	if most := distance * 2 / 3; !(s.Foot > 0 && s.Foot <= most+nearBreak) {
		return 0, newError(p, s.Run, "pleats that take %.1f mm of each %.1f mm of the edge, at their foot, would lie on "+
			"each other; must be more than 0, at most %.1f: twice what is seen of a pleat", s.Foot, distance, most)
	}
	if most := distance - leastSeen; !(s.Width > 0 && s.Width <= most) {
		return 0, newError(p, s.Run, "pleats that take %.1f mm of each %.1f mm of the edge; must be more than 0, at most "+
			"%.1f", s.Width, distance, most)
	}
	if s.Kind != BoxPleats {
		return distance, nil
	}
	if gap := distance - 1.5*s.Foot; gap > nearBreak && gap < leastSeen {
		return 0, newError(p, s.Run, "box pleats of %.1f mm leave %.1f mm between two of them; they must touch, or lie at "+
			"least %g mm apart", s.Foot/2, gap, leastSeen)
	}
	if seen := s.box(); seen < leastSeen {
		return 0, newError(p, s.Run, "box pleats of %.1f mm at their foot that take %.1f mm more at the edge leave %.1f mm "+
			"between their folds there; must be at least %g", s.Foot/2, s.Width-s.Foot, seen, leastSeen)
	}
	return distance, nil
}

// check checks what of the run does not depend on its widths.
func (s *PleatRun) check(p pattern.Piece) error {
	length := p.RunLength(s.Run)
	switch {
	case s.Kind != KnifePleats && s.Kind != BoxPleats && s.Kind != InvertedPleats:
		return newError(p, s.Run, "%q pleats; must be knife, box or inverted", s.Kind)
	case s.Count < 1 || s.Count > mostPleats:
		return newError(p, s.Run, "%d pleats; must be from 1 to %d", s.Count, mostPleats)
	case !(s.From >= 0 && s.To <= length+nearBreak && s.To-s.From > leastSeen):
		return newError(p, s.Run, "pleats from %.1f to %.1f mm along it; must lie between 0 and %.1f mm", s.From, s.To,
			length)
	case s.Kind == KnifePleats && (s.HalvedStart || s.HalvedEnd):
		return newError(p, s.Run, "half a knife pleat; only box and inverted pleats have halves")
	case s.Kind != KnifePleats && s.ToStart:
		return newError(p, s.Run, "%s pleats lie to both sides; only knife pleats have a direction", s.Kind)
	case s.distances() <= 0:
		return newError(p, s.Run, "%d pleats, of which both ends are halves; must be at least 2", s.Count)
	}
	return nil
}

// box returns the width of a box pleat as it is seen at the edge, mm.
func (s *PleatRun) box() float64 { return s.Foot/2 - (s.Width - s.Foot) }

// distances returns into how many distances from pleat to pleat the edge is divided.
func (s *PleatRun) distances() float64 {
	n := float64(s.Count)
	for _, halved := range [...]bool{s.HalvedStart, s.HalvedEnd} {
		if halved {
			n -= 0.5
		}
	}
	return n
}

// folds returns the folds of the run in their order along the edge.
func (s *PleatRun) folds(distance float64) []fold {
	var all []fold
	for i := range s.Count {
		middle := s.From + (float64(i)+0.5)*distance
		if s.HalvedStart {
			middle -= distance / 2
		}
		name := fmt.Sprintf("%s_%d", s.Name, i+1)
		if s.Kind == KnifePleats {
			all = append(all, fold{name, middle - s.Width/2, s.Width, s.Foot, s.ToStart})
			continue
		}
		// The two folds of the pleat, and what lies between them.
		width, foot, between := s.Width/2, s.Foot/2, 0.0
		if s.Kind == BoxPleats {
			between = s.box()
		}
		box := s.Kind == BoxPleats
		if i > 0 || !s.HalvedStart {
			all = append(all, fold{name + "_start", middle - between/2 - width, width, foot, box})
		}
		if i < s.Count-1 || !s.HalvedEnd {
			all = append(all, fold{name + "_end", middle + between/2, width, foot, !box})
		}
	}
	return all
}

// mostSunray is how far in mm the points of an edge may lie from the circle on which
// sunray pleats are laid.
const mostSunray = 0.2

// A SunrayRun is a number of pleats on the lines from the centre of a circle, in a piece
// whose edge is an arc of it.
type SunrayRun struct {
	Name, Run, DownTo string
	Count             int
	Sewn              float64 // length of the edge as sewn, mm
	Depth             float64 // mm that are tacked down from the edge
}

// AddSunray lays sunray pleats in an edge that is an arc of a circle, on down to another
// edge. All turn by equal angles about the circle's centre, so that a pleat is the deeper
// the farther down, in proportion to its distance from the centre; between them half is
// left at both ends.
func AddSunray(p pattern.Piece, s SunrayRun) (pattern.Piece, error) {
	e, err := wholeEdge(p, s.Run)
	if err != nil {
		return pattern.Piece{}, err
	}
	length := e.Path.Length()
	if s.Count < 1 || s.Count > mostPleats {
		return pattern.Piece{}, newError(p, s.Run, "%d pleats; must be from 1 to %d", s.Count, mostPleats)
	}
	distance := length / float64(s.Count)
	least := max(length/3, leastSeen*float64(s.Count))
	if most := length - leastSeen; !(s.Sewn >= least-nearBreak && s.Sewn <= most) {
		return pattern.Piece{}, newError(p, s.Run, "sewn to %.1f mm; must be from %.1f mm, where the pleats close and are "+
			"%g mm apart, to %.1f mm", s.Sewn, least, leastSeen, most)
	}
	radius, err := radiusOf(p, e)
	if err != nil {
		return pattern.Piece{}, err
	}
	width := (length - s.Sewn) / float64(s.Count)
	// The chord between the feet of the lines is to that at the edge as their radii.
	chord := 2 * radius * math.Sin(width/(2*radius))
	depth := s.Depth * math.Cos(width/(2*radius))
	foot := chord * (radius + s.Depth) / radius
	for i := s.Count - 1; i >= 0; i-- {
		at := (float64(i)+0.5)*distance - width/2
		p, err = AddPleat(p, Pleat{Name: fmt.Sprintf("%s_%d", s.Name, i+1), At: Position{s.Run, at}, Width: width,
			Depth: depth, Foot: foot, Run: s.DownTo, Slant: SlantAlong})
		if err != nil {
			return pattern.Piece{}, err
		}
	}
	return p, nil
}

// radiusOf returns the radius of the circle of which an edge is an arc; the piece lies
// outside it.
func radiusOf(p pattern.Piece, e pattern.Edge) (float64, error) {
	a, b := e.Path.Start(), e.Path.End()
	u, v := e.Path.StartTangent(), e.Path.EndTangent()
	turn := geom.AngleBetween(u, v)
	if math.Abs(turn) < 0.01 {
		return 0, newError(p, e.Name, "it is straight; sunray pleats are laid in an arc of a circle")
	}
	radius := a.Dist(b) / (2 * math.Sin(math.Abs(turn)/2))
	centre := a.Add(u.Right().Mul(math.Copysign(radius, turn)))
	worst := 0.0
	for _, q := range e.Path.Flatten(geom.OffsetTol) {
		worst = max(worst, math.Abs(q.Dist(centre)-radius))
	}
	switch {
	case worst > mostSunray:
		return 0, newError(p, e.Name, "it lies up to %.1f mm off a circle; sunray pleats are laid in an arc of one", worst)
	case turn > 0:
		return 0, newError(p, e.Name, "the piece lies inside the circle of which it is an arc; sunray pleats run outwards")
	}
	return radius, nil
}
