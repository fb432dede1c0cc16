package pattern

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// A Broken is a rule that a finished pattern does not keep.
type Broken struct {
	Rule  string // outline, grain, cut, label, notch, dart, seam
	Piece string
	Edge  string // "" where it is the whole piece
	Why   string
}

func (b Broken) Error() string {
	if b.Edge == "" {
		return fmt.Sprintf("piece %s: %s", b.Piece, b.Why)
	}
	return fmt.Sprintf("piece %s, edge %s: %s", b.Piece, b.Edge, b.Why)
}

// Check lists what a numbered pattern does not keep of what holds for every
// draft: outlines closed, clockwise and simple, darts inside them with equal
// legs, grain, cut count and title on every piece, both sides of every seam as
// long as stated, and a mate for every notch on an edge that is sewn.
func (p Pattern) Check() []Broken {
	var broken []Broken
	names := map[string]bool{}
	for _, q := range p.Pieces {
		if names[q.Name] {
			broken = append(broken, Broken{"label", q.Name, "", "two pieces have this name"})
		}
		names[q.Name] = true
		broken = append(broken, q.check()...)
	}
	broken = append(broken, p.checkSeams()...)
	return append(broken, p.checkNotches()...)
}

func (p Piece) check() []Broken {
	var broken []Broken
	say := func(rule, edge, format string, args ...any) {
		broken = append(broken, Broken{rule, p.Name, edge, fmt.Sprintf(format, args...)})
	}
	names := map[string]bool{}
	for _, e := range p.Edges {
		if err := CheckPath(e.Path); err != nil {
			say("outline", e.Name, "its path %v", err)
			return broken
		}
		if names[e.Name] {
			say("outline", e.Name, "two edges have this name")
		}
		names[e.Name] = true
		if e.Role == RoleFold && !e.Path.IsStraight(FoldTol) {
			say("outline", e.Name, "it lies on the fold but is not straight")
		}
	}
	outline := p.Outline()
	switch {
	case len(p.Edges) < 2:
		say("outline", "", "%d edges", len(p.Edges))
		return broken
	case outline.Check() != nil || !outline.Closed():
		say("outline", "", "the outline is not closed")
		return broken
	case !(outline.Area() > 0):
		say("outline", "", "the outline runs the wrong way round")
	}
	if c := outline.SelfCrossings(); len(c) > 0 {
		say("outline", p.edgeAt(c[0].A), "the outline crosses itself near (%.0f, %.0f), with edge %s", c[0].At.X, c[0].At.Y, p.edgeAt(c[0].B))
	}
	for _, d := range p.Darts {
		if !p.HoldsDart(d) {
			say("dart", d.Mouth, "the %s does not lie in the piece", d.Name)
		}
		if a, b := d.Legs[0].Length(), d.Legs[1].Length(); math.Abs(a-b) > SeamTol {
			say("dart", d.Mouth, "the legs of the %s are %.2f and %.2f mm long", d.Name, a, b)
		}
	}
	switch g := p.Grain; {
	case g.P0 == g.P3:
		say("grain", "", "no grain line")
	case !outline.Contains(g.P0) || !outline.Contains(g.P3):
		say("grain", "", "the grain line does not lie in the piece")
	}
	fold := p.HasFold()
	switch {
	case p.Cut.Count < 1:
		say("cut", "", "it is cut %d times", p.Cut.Count)
	case fold != p.Cut.OnFold:
		say("cut", "", "cut on the fold: %t, but an edge on the fold: %t", p.Cut.OnFold, fold)
	case p.Cut.Pair && p.Cut.Count%2 != 0:
		say("cut", "", "cut in pairs, but %d times", p.Cut.Count)
	}
	if p.Title == "" {
		say("label", "", "no title")
	}
	return broken
}

// edgeAt is the name of the edge that lies so far along the outline.
func (p Piece) edgeAt(d float64) string {
	for _, e := range p.Edges {
		if d -= e.Path.Length(); d <= 0 {
			return e.Name
		}
	}
	return ""
}

func (p Pattern) edge(r EdgeRef) (Piece, Edge, bool) {
	q, ok := p.Piece(r.Piece)
	if !ok {
		return q, Edge{}, false
	}
	e, ok := q.Edge(r.Edge)
	return q, e, ok
}

func (p Pattern) checkSeams() []Broken {
	var broken []Broken
	for _, s := range p.Seams {
		_, a, okA := p.edge(s.A)
		_, b, okB := p.edge(s.B)
		if !okA || !okB {
			broken = append(broken, Broken{"seam", s.A.Piece, s.A.Edge, fmt.Sprintf("sewn to %s: one of the two is not there", s.B)})
			continue
		}
		if off := a.Path.Length() - b.Path.Length() - s.Ease; s.A != s.B && math.Abs(off) > SeamTol {
			broken = append(broken, Broken{"seam", s.A.Piece, s.A.Edge, fmt.Sprintf("%.2f mm long, sewn to %s of %.2f mm with %.2f mm of ease", a.Path.Length(), s.B, b.Path.Length(), s.Ease)})
		}
	}
	return broken
}

// checkNotches holds every notch on a sewn edge to have a mate: as many
// notches of a kind on the other side, the same distances apart but for ease.
// A notch at a joint of edges marks a corner of the partner and needs none.
func (p Pattern) checkNotches() []Broken {
	var broken []Broken
	for _, s := range p.Seams {
		if s.A == s.B {
			continue
		}
		pa, a, okA := p.edge(s.A)
		pb, b, okB := p.edge(s.B)
		if !okA || !okB {
			continue
		}
		na, nb := pa.notchesOn(a), pb.notchesOn(b)
		if len(na) != len(nb) {
			broken = append(broken, Broken{"notch", s.A.Piece, s.A.Edge, fmt.Sprintf("%d notches, but %d on %s", len(na), len(nb), s.B)})
			continue
		}
		same := matched(na, nb, false, a.Path.Length(), b.Path.Length(), s.Ease) ||
			matched(na, nb, true, a.Path.Length(), b.Path.Length(), s.Ease)
		if !same {
			broken = append(broken, Broken{"notch", s.A.Piece, s.A.Edge, fmt.Sprintf("its notches do not meet those of %s", s.B)})
		}
	}
	return broken
}

// notchesOn are the notches along an edge, without those at its ends.
func (p Piece) notchesOn(e Edge) []Notch {
	n := e.Path.Length()
	var found []Notch
	for _, k := range p.Notches {
		if k.Edge == e.Name && k.At > MinPart/2 && k.At < n-MinPart/2 {
			found = append(found, k)
		}
	}
	slices.SortFunc(found, func(x, y Notch) int {
		if x.At < y.At {
			return -1
		}
		return 1
	})
	return found
}

// matched reports whether the notches of two edges meet when they are sewn,
// the second walked backwards or not.
func matched(a, b []Notch, back bool, la, lb, ease float64) bool {
	allowed := math.Abs(ease) + NotchTol
	for i, n := range a {
		m := b[i]
		at := m.At
		if back {
			m = b[len(b)-1-i]
			at = lb - m.At
		}
		if n.Kind != m.Kind || math.Abs(n.At-at) > allowed || math.Abs((la-n.At)-(lb-at)) > allowed {
			return false
		}
	}
	return true
}

// CheckPath returns an error that says why a path can't be an edge, to be read
// after the words "the path".
func CheckPath(path geom.Path) error {
	if len(path) == 0 {
		return errors.New("is empty")
	}
	if path.Check() != nil {
		return errors.New("is broken")
	}
	for _, s := range path {
		for _, q := range [...]geom.Point{s.P0, s.P1, s.P2, s.P3} {
			if !q.Finite() || math.Abs(q.X) > MaxReach || math.Abs(q.Y) > MaxReach {
				return fmt.Errorf("leaves the paper, more than %g mm from the origin", MaxReach)
			}
		}
	}
	if path.Length() < geom.JoinTol {
		return errors.New("has no length")
	}
	return nil
}
