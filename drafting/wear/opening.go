package wear

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// An Opening is a ring of edges through which a part of the body enters or
// leaves a garment.
type Opening struct {
	Edges   []pattern.EdgeRef // by run
	Passes  Part              // Head or Hips for the body; Hand, Foot or Arm for a limb
	Closing []pattern.EdgeRef // the edges that a zip, buttons or a slit open, from the ring on
	Opens   float64           // how far they open from the ring, mm
	Stretch float64           // share by which the cloth stretches
	Reach   float64           // of a limb: from the shoulder point to the ring, mm; 0 to read it from the piece
	Ease    float64           // of a limb: the least ease along it, mm; 0 for the usual one
	Trunk   []string          // the pieces around the body below a neck or a waist
	Line    int               // of the script that declares it
}

// wide reports whether the closing opens the garment from end to end.
func (o Opening) wide() bool { return len(o.Closing) > 0 && o.Opens == 0 }

// limb reports whether an arm or a leg lies in the garment above the opening.
func (o Opening) limb() bool { return o.Passes == Hand || o.Passes == Foot }

// name lists the edges: "front/neckline + back/neckline".
func (o Opening) name() string { return join(o.Edges) }

func join(refs []pattern.EdgeRef) string {
	names := make([]string, len(refs))
	for i, r := range refs {
		names[i] = r.String()
	}
	return strings.Join(names, " + ")
}

// An OpeningError says that an opening is not one of the garment.
type OpeningError struct {
	Opening Opening
	Reason  string
}

func (e *OpeningError) Error() string {
	return fmt.Sprintf("opening %s: %s", e.Opening.name(), e.Reason)
}

// validate returns an error if the opening names what the garment does not have.
func (o Opening) validate(p pattern.Pattern) error {
	if !o.Passes.Valid() {
		return &OpeningError{o, fmt.Sprintf("unknown part %q; want one of %v", o.Passes, Parts())}
	}
	for _, refs := range [...][]pattern.EdgeRef{o.Edges, o.Closing} {
		for _, r := range refs {
			q, ok := p.Piece(r.Piece)
			if !ok {
				return &OpeningError{o, fmt.Sprintf("no piece %q", r.Piece)}
			}
			if len(q.Run(r.Edge)) == 0 {
				return &OpeningError{o, fmt.Sprintf("piece %s: no edge %q; it has %v", r.Piece, r.Edge, q.Runs())}
			}
		}
	}
	for _, name := range o.Trunk {
		if _, ok := p.Piece(name); !ok {
			return &OpeningError{o, fmt.Sprintf("no piece %q", name)}
		}
	}
	return nil
}

// copies returns how often the drawn piece lies around the whole body: twice if
// it is cut on the fold or for both sides.
func copies(p pattern.Piece) float64 {
	if p.Cut.OnFold || p.Cut.Count > 1 {
		return 2
	}
	return 1
}

// ring returns the girth of the edges in mm, around the body or one limb.
func (o Opening) ring(p pattern.Pattern) float64 {
	var sum float64
	for _, r := range o.Edges {
		q, _ := p.Piece(r.Piece)
		n := q.RunLength(r.Edge)
		if !slices.Contains([]Part{Hand, Foot, Arm, Thigh}, o.Passes) {
			n *= copies(q)
		}
		sum += n
	}
	return sum
}

// closingTop returns the level at which the closing starts, its upper end.
func (o Opening) closingTop(p pattern.Pattern) float64 {
	q, _ := p.Piece(o.Closing[0].Piece)
	path := q.Run(o.Closing[0].Edge)
	return min(path.Start().Y, path.End().Y)
}

// placeOfClosing checks that a notch marks how far the closing opens.
func (o Opening) placeOfClosing(p pattern.Pattern) (pattern.Check, bool) {
	if len(o.Closing) == 0 || o.Opens == 0 {
		return pattern.Check{}, false
	}
	left := o.Opens
	for i, r := range o.Closing {
		q, _ := p.Piece(r.Piece)
		n := q.RunLength(r.Edge)
		if left > n+pattern.NotchTol && i < len(o.Closing)-1 {
			left -= n
			continue
		}
		at, ok := nearestNotch(q, r.Edge, left)
		if !ok {
			at = n
		}
		return pattern.Check{Name: "foot of the closing along " + join(o.Closing), Target: o.Opens,
			Drafted: o.Opens - left + at, Tolerance: pattern.NotchTol}, true
	}
	return pattern.Check{}, false
}

// nearestNotch returns the position of the notch of a run nearest to a distance
// from the run's upper end, mm from that end. The corner at the run's end marks
// it too.
func nearestNotch(p pattern.Piece, run string, want float64) (float64, bool) {
	path := p.Run(run)
	down := path.Start().Y <= path.End().Y
	found, best := false, 0.0
	try := func(at float64) {
		if !down {
			at = path.Length() - at
		}
		if d := at - want; !found || d*d < (best-want)*(best-want) {
			found, best = true, at
		}
	}
	var before float64
	for _, e := range p.Edges {
		if e.Run != run || e.Role == pattern.RoleDartMouth {
			continue
		}
		for _, n := range p.Notches {
			if n.Edge == e.Name {
				try(before + n.At)
			}
		}
		before += e.Path.Length()
	}
	try(0)
	try(path.Length())
	return best, found
}

// A frame is where a limb's piece ends: the chord of the ring's edges.
type frame struct {
	origin, up  geom.Point
	left, right string // the runs beside it
	ends        map[string]bool
}

// frameOf returns the frame of the piece's edges in the ring.
func (o Opening) frameOf(p pattern.Piece) (frame, bool) {
	ends := map[string]bool{}
	for _, r := range o.Edges {
		if r.Piece == p.Name {
			ends[r.Edge] = true
		}
	}
	n := len(p.Edges)
	first := -1
	for i, e := range p.Edges {
		if ends[e.Run] && !ends[p.Edges[(i+n-1)%n].Run] {
			first = i
		}
	}
	if first < 0 {
		return frame{}, false
	}
	last := first
	for ends[p.Edges[(last+1)%n].Run] {
		last = (last + 1) % n
	}
	a, b := p.Edges[first].Path.Start(), p.Edges[last].Path.End()
	// The outline runs clockwise: its inside lies to the right of the edge.
	return frame{a.Lerp(b, 0.5), b.Sub(a).Unit().Right(), p.Edges[(first+n-1)%n].Run, p.Edges[(last+1)%n].Run, ends}, true
}
