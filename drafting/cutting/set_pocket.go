package cutting

import (
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A PocketKind says how the opening of a pocket that is cut into a piece is finished.
type PocketKind string

// The kinds of pockets that are cut into a piece.
const (
	PocketWelt  PocketKind = "welt"  // a folded strip that stands up from the lower edge
	PocketJets  PocketKind = "jets"  // a narrow piping on both edges
	PocketFlaps PocketKind = "flaps" // jets, and a flap over them
)

// PocketKinds returns all kinds of pockets that are cut into a piece.
func PocketKinds() []PocketKind { return []PocketKind{PocketWelt, PocketJets, PocketFlaps} }

// A SetPocket holds the dimensions of a pocket cut into a piece, mm.
type SetPocket struct {
	Kind  PocketKind
	At    geom.Point // the end of the opening nearer to the centre
	Width float64    // of the opening
	Slope float64    // of the opening, down to the side, radians
	Depth float64    // finished depth of the welt or the flap; of jets their length beyond the opening
	Bag   float64    // depth of the bag below the opening
}

// Dimensions of the parts of a set-in pocket, mm (common practice).
const (
	jetBeyond = 20 // of jets and bags beyond each end of the opening
	jetWidth  = 40
	flapRound = 15 // radius of a flap's corners
)

// steepest is the steepest slope of an opening, radians.
const steepest = 75 * math.Pi / 180

// CutPocket marks a pocket's opening on a piece, by a line and a drill hole at each end,
// and returns the piece and the parts of the pocket: the welt, or two jets as one piece cut
// twice, the flap, and the side of the bag. Their names begin with name.
func CutPocket(p pattern.Piece, name, title string, s SetPocket) (pattern.Piece, []pattern.Piece, error) {
	if err := s.check(p); err != nil {
		return p, nil, err
	}
	end := s.At.Add(geom.Polar(s.Width, s.Slope))
	for _, at := range [...]geom.Point{s.At, end} {
		if err := opensOn(p, name, at); err != nil {
			return p, nil, err
		}
	}
	q := withOpening(p, name, s.At, end)
	q = withHole(withHole(q, name+"_start", s.At), name+"_end", end)
	parts, err := s.parts(name, title)
	if err != nil {
		return p, nil, err
	}
	return q, parts, nil
}

// CutPocketOver marks a pocket whose opening starts on a piece p and crosses its seam with another,
// run on both, as CutPocket does. The opening goes on straight over the sewn seam, which both pieces
// meet as far from its lower end: what is eased lies above. It returns both pieces and the parts.
func CutPocketOver(p, over pattern.Piece, run, name, title string, s SetPocket) (first, second pattern.Piece,
	parts []pattern.Piece, err error) {
	if err := s.check(p); err != nil {
		return p, over, nil, err
	}
	for _, q := range [...]pattern.Piece{p, over} {
		if err := checkRun(q, run); err != nil {
			return p, over, nil, err
		}
	}
	if err := opensOn(p, name, s.At); err != nil {
		return p, over, nil, err
	}
	along := geom.Polar(1, s.Slope)
	here, there := p.Run(run), over.Run(run)
	met := here.Crossings(geom.Polyline(s.At, s.At.Add(along.Mul(s.Width))))
	if len(met) == 0 {
		return p, over, nil, newError(p, run, "the opening of the %s does not cross it", name)
	}
	across := met[0].At
	_, _, at := here.Nearest(across)
	// Edges that both run down, or both up, mirror each other; otherwise they lie as sewn.
	up := func(path geom.Path) bool { return path.End().Y < path.Start().Y }
	turn := geom.AngleBetween(here.TangentAt(at), along)
	other := there
	if up(here) != up(there) {
		other = there.Reverse()
	} else {
		turn = -turn
	}
	if !up(here) {
		at += other.Length() - here.Length()
	}
	start := other.At(at)
	end := start.Add(other.TangentAt(at).Rotate(geom.Point{}, turn).Mul(s.Width - s.At.Dist(across)))
	if err := opensOn(over, name, end); err != nil {
		return p, over, nil, err
	}
	if parts, err = s.parts(name, title); err != nil {
		return p, over, nil, err
	}
	return withHole(withOpening(p, name, s.At, across), name+"_start", s.At),
		withHole(withOpening(over, name, start, end), name+"_end", end), parts, nil
}

// check returns an error for dimensions out of range.
func (s SetPocket) check(p pattern.Piece) error {
	limits := []dimension{{"width", s.Width, 60, 250}, {"bag", s.Bag, 60, 350}}
	if s.Kind != PocketJets {
		limits = append(limits, dimension{"depth", s.Depth, 10, 90})
	}
	if err := checkDimensions(p, limits...); err != nil {
		return err
	}
	if !(math.Abs(s.Slope) <= steepest) {
		return newError(p, "", "the pocket slopes by %.0f degrees; must be from -75 to 75", s.Slope*180/math.Pi)
	}
	return nil
}

// opensOn returns an error if the end of a pocket's opening lies outside a piece.
func opensOn(p pattern.Piece, name string, at geom.Point) error {
	outline := p.Outline()
	if outline.Contains(at) {
		return nil
	}
	_, off, _ := outline.Nearest(at)
	return newError(p, "", "the opening of the %s ends %.1f mm outside the piece", name, off)
}

func withOpening(p pattern.Piece, name string, from, to geom.Point) pattern.Piece {
	p.Lines = append(slices.Clip(p.Lines), pattern.Line{Name: name + "_opening", Path: geom.Polyline(from, to)})
	return p
}

func withHole(p pattern.Piece, name string, at geom.Point) pattern.Piece {
	p.Marks = append(slices.Clip(p.Marks), pattern.Mark{Name: name, Kind: pattern.MarkDrill, At: at})
	return p
}

// parts returns the parts of a pocket.
func (s SetPocket) parts(name, title string) ([]pattern.Piece, error) {
	var parts []pattern.Piece
	add := func(part pattern.Piece, err error, cut int, change func(*pattern.Piece)) error {
		if err != nil {
			return err
		}
		part.Cut = pattern.Cut{Count: cut, Pair: true}
		change(&part)
		parts = append(parts, part)
		return nil
	}
	var err error
	switch s.Kind {
	case PocketWelt:
		welt, e := Band(name+"_welt", title+", welt", s.Width, s.Depth, true)
		err = add(welt, e, 2, func(p *pattern.Piece) {
			p.Interfacing, p.Notes = 2, []string{"Fold along the middle."}
			p.Edges[p.EdgeIndex("top")].Role, p.Edges[p.EdgeIndex("bottom")].Role = pattern.RoleEdge, pattern.RoleEdge
		})
	case PocketJets, PocketFlaps:
		jet, e := Rectangle(name+"_jet", title+", jet", s.Width+2*jetBeyond, jetWidth)
		err = add(jet, e, 4, func(p *pattern.Piece) { *p = edged(*p) })
	default:
		err = newError(pattern.Piece{Name: name}, "", "unknown kind of pocket %q", s.Kind)
	}
	if err != nil {
		return nil, err
	}
	if s.Kind == PocketFlaps {
		if err := add(flap(name+"_flap", title+", flap", s.Width, s.Depth), nil, 4, func(p *pattern.Piece) {
			p.Interfacing, p.Notes = 2, []string{"One pair outside, one inside."}
		}); err != nil {
			return nil, err
		}
	}
	bag, err := PatchPocket(name+"_bag", title+", bag", s.Width+2*jetBeyond, s.Bag+jetBeyond, 0)
	err = add(bag, err, 4, func(p *pattern.Piece) {
		*p = edged(*p)
		for i := range p.Edges {
			p.Edges[i].Role = pattern.RoleSeam
		}
		p.Edges[p.EdgeIndex("top")].Role = pattern.RoleEdge
		p.Cloth = "lining"
	})
	if err != nil {
		return nil, err
	}
	return parts, nil
}

// edged returns a piece whose edges are finished by themselves.
func edged(p pattern.Piece) pattern.Piece {
	for i := range p.Edges {
		p.Edges[i].Role = pattern.RoleEdge
	}
	return p
}

// flap returns a rectangle with its lower corners rounded. Its edges are top, sewn to the
// opening, and outer.
func flap(name, title string, width, depth float64) pattern.Piece {
	r := math.Min(flapRound, depth/2)
	right, left := geom.Pt(width-r, depth-r), geom.Pt(r, depth-r)
	outer := geom.Join(geom.Polyline(geom.Pt(width, 0), geom.Pt(width, depth-r)), geom.Arc(right, r, 0, math.Pi/2),
		geom.Polyline(geom.Pt(width-r, depth), geom.Pt(r, depth)), geom.Arc(left, r, math.Pi/2, math.Pi),
		geom.Polyline(geom.Pt(0, depth-r), geom.Pt(0, 0)))
	p := pattern.Piece{Name: name, Title: title, Edges: []pattern.Edge{
		newEdge("top", pattern.RoleEdge, geom.Polyline(geom.Pt(0, 0), geom.Pt(width, 0))),
		newEdge("outer", pattern.RoleSeam, outer),
	}}
	return GrainAlong(p, geom.Pt(0, 1))
}

// A ButtonRow says where buttonholes lie, mm.
type ButtonRow struct {
	First, Last float64 // along the line, of the first and the last button
	Count       int
	Size        float64 // of a buttonhole
	Along       bool    // on the line, rather than across it
}

// holeBeyond is how far a buttonhole across the line begins beyond the button (common practice:
// the shank's width, 2 to 4 mm).
const holeBeyond = 3.0

// Buttonholes draws buttonholes at even distances along a line of the piece, such as the centre,
// each as the line button_1, button_2 and so on. It returns the distance from one to the next,
// 0 for a single one. A hole across the line begins 3 mm to its left, beyond the button.
func Buttonholes(p pattern.Piece, path geom.Path, row ButtonRow) (pattern.Piece, float64, error) {
	long := path.Length()
	if err := checkDimensions(p, dimension{"first", row.First, 0, long}, dimension{"last", row.Last, 0, long},
		dimension{"size", row.Size, 5, 60}, dimension{"buttons", float64(row.Count), 1, 40}); err != nil {
		return p, 0, err
	}
	apart := 0.0
	if row.Count > 1 {
		apart = (row.Last - row.First) / float64(row.Count-1)
		if math.Abs(apart) < row.Size/2+5 {
			return p, 0, newError(p, "", "%d buttons from %.1f to %.1f mm lie %.1f mm apart; at least %.1f mm", row.Count,
				row.First, row.Last, math.Abs(apart), row.Size/2+5)
		}
	}
	p.Lines = slices.Clip(p.Lines)
	for i := range row.Count {
		d := row.First + apart*float64(i)
		at, u := path.At(d), path.TangentAt(d)
		hole := geom.Polyline(at.Sub(u.Mul(row.Size/2)), at.Add(u.Mul(row.Size/2)))
		if !row.Along {
			across := u.Right()
			if across.X < 0 {
				across = across.Neg()
			}
			from := at.Sub(across.Mul(holeBeyond))
			hole = geom.Polyline(from, from.Add(across.Mul(row.Size)))
		}
		p.Lines = append(p.Lines, pattern.Line{Name: fmt.Sprintf("button_%d", i+1), Path: hole})
	}
	return p, math.Abs(apart), nil
}
