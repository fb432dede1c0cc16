package pattern

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting/geom"
)

// A Violation is a rule that a drafted pattern breaks.
type Violation struct {
	Rule   string // outline, grain, cut, label, notch, dart, seam
	Piece  string
	Edge   string // "" for the whole piece
	Reason string
}

// Error returns the violation as "piece NAME, edge NAME: REASON".
func (v Violation) Error() string {
	switch {
	case v.Piece == "":
		return v.Reason
	case v.Edge == "":
		return fmt.Sprintf("piece %s: %s", v.Piece, v.Reason)
	}
	return fmt.Sprintf("piece %s, edge %s: %s", v.Piece, v.Edge, v.Reason)
}

// violations collects what is wrong with one piece.
type violations struct {
	piece string
	list  []Violation
}

func (v *violations) add(rule, edge, format string, args ...any) {
	v.list = append(v.list, Violation{rule, v.piece, edge, fmt.Sprintf(format, args...)})
}

// Validate returns the rules that a numbered pattern breaks of those that hold
// for every draft: outlines are closed, clockwise and simple; darts lie inside
// them and have equal legs; every piece has a grain line, a cut count and a
// title; both sides of a seam have the stated lengths; and every notch on a
// sewn edge has a mate.
func (p Pattern) Validate() []Violation {
	var all []Violation
	names := map[string]bool{}
	for _, q := range p.Pieces {
		if names[q.Name] {
			all = append(all, Violation{"label", q.Name, "", "two pieces have this name"})
		}
		names[q.Name] = true
		all = append(all, q.validate()...)
	}
	all = append(all, p.validateSeams()...)
	return append(all, p.validateNotches()...)
}

func (p Piece) validate() []Violation {
	v := violations{piece: p.Name, list: p.ValidateOutline()}
	if slices.ContainsFunc(v.list, func(k Violation) bool { return k.Rule == "outline" }) {
		return v.list
	}
	for _, d := range p.Darts {
		if !p.HoldsDart(d) {
			v.add("dart", d.Mouth, "the %s lies outside the piece", d.Name)
		}
		if a, b := d.Legs[0].Length(), d.Legs[1].Length(); math.Abs(a-b) > SeamTol {
			v.add("dart", d.Mouth, "the legs of the %s are %.2f and %.2f mm long; they must be equal within %g mm", d.Name, a,
				b, SeamTol)
		}
	}
	outline := p.Outline()
	switch g := p.Grain; {
	case g.P0 == g.P3:
		v.add("grain", "", "no grain line")
	case !outline.Contains(g.P0) || !outline.Contains(g.P3):
		v.add("grain", "", "the grain line lies outside the piece")
	}
	switch fold := p.HasFold(); {
	case p.Cut.Count < 1:
		v.add("cut", "", "cut %d times; the count must be at least 1", p.Cut.Count)
	case fold && !p.Cut.OnFold:
		v.add("cut", "", "an edge lies on the fold, but the piece is not cut on the fold")
	case !fold && p.Cut.OnFold:
		v.add("cut", "", "the piece is cut on the fold, but no edge lies on it")
	case p.Cut.Pair && p.Cut.Count%2 != 0:
		v.add("cut", "", "cut in pairs, but %d times; the count must be even", p.Cut.Count)
	}
	if p.Title == "" {
		v.add("label", "", "no title")
	}
	return v.list
}

// ValidateOutline returns the rules that the piece's outline breaks: its edges
// have names of their own and join to one closed, clockwise, simple line; folds
// are straight; every dart mouth belongs to a dart and every notch to an edge.
func (p Piece) ValidateOutline() []Violation {
	v := violations{piece: p.Name}
	p.validateEdges(&v)
	if len(v.list) > 0 {
		return v.list
	}
	outline := p.Outline()
	if !(outline.Area() > 0) {
		v.add("outline", "", "the outline runs counter-clockwise or encloses nothing")
	}
	if c := outline.SelfCrossings(); len(c) > 0 {
		v.add("outline", p.edgeAt(c[0].A), "the outline crosses itself near (%.0f, %.0f), with edge %s",
			c[0].At.X, c[0].At.Y, p.edgeAt(c[0].B))
	}
	for _, n := range p.Notches {
		if p.EdgeIndex(n.Edge) < 0 {
			v.add("notch", n.Edge, "a notch lies on this edge, which the piece does not have")
		}
	}
	return v.list
}

// validateEdges validates every edge and its join to the next.
func (p Piece) validateEdges(v *violations) {
	if len(p.Edges) < 2 {
		v.add("outline", "", "the piece has %d edges; at least 2 are required", len(p.Edges))
		return
	}
	for i, e := range p.Edges {
		if p.EdgeIndex(e.Name) != i {
			v.add("outline", e.Name, "two edges have this name")
		}
		if err := CheckPath(e.Path); err != nil {
			v.add("outline", e.Name, "its path %v", err)
			continue
		}
		next := p.Edges[(i+1)%len(p.Edges)]
		if gap := e.Path.End().Dist(next.Path.Start()); len(next.Path) > 0 && !(gap <= geom.JoinTol) {
			v.add("outline", e.Name, "the outline is not closed: the edge ends %.2g mm from the start of %s", gap, next.Name)
		}
		if e.Role == RoleFold && !e.Path.IsStraight(FoldTol) {
			v.add("outline", e.Name, "it lies on the fold but is not straight within %g mm", FoldTol)
		}
		if e.Role == RoleDartMouth && !slices.ContainsFunc(p.Darts, func(d Dart) bool { return d.Mouth == e.Name }) {
			v.add("outline", e.Name, "it is a dart mouth, but no dart opens at it")
		}
	}
}

// edgeAt returns the name of the edge d mm along the outline.
func (p Piece) edgeAt(d float64) string {
	for _, e := range p.Edges {
		if d -= e.Path.Length(); d <= 0 {
			return e.Name
		}
	}
	return ""
}

// edge returns a referenced edge and its piece.
func (p Pattern) edge(r EdgeRef) (Piece, Edge, bool) {
	q, ok := p.Piece(r.Piece)
	if !ok {
		return q, Edge{}, false
	}
	e, ok := q.Edge(r.Edge)
	return q, e, ok
}

func (p Pattern) validateSeams() []Violation {
	var all []Violation
	for _, s := range p.Seams {
		v := violations{piece: s.A.Piece}
		_, a, okA := p.edge(s.A)
		_, b, okB := p.edge(s.B)
		if !okA || !okB {
			v.add("seam", s.A.Edge, "it is sewn to %s, but the pattern lacks one of the two", s.B)
		} else if la, lb := a.Path.Length(), b.Path.Length(); s.A != s.B && math.Abs(la-lb-s.Ease) > SeamTol {
			v.add("seam", s.A.Edge, "%.2f mm long; sewn to %s of %.2f mm with %.2f mm of ease it must be %.2f mm long",
				la, s.B, lb, s.Ease, lb+s.Ease)
		}
		all = append(all, v.list...)
	}
	return all
}

// validateNotches requires a mate for every notch on a sewn edge: as many
// notches of a kind on the other side, the same distances apart, less the ease.
// A notch at a joint of edges marks a corner of the partner and needs no mate.
func (p Pattern) validateNotches() []Violation {
	var all []Violation
	for _, s := range p.Seams {
		pa, a, okA := p.edge(s.A)
		pb, b, okB := p.edge(s.B)
		if s.A == s.B || !okA || !okB {
			continue
		}
		v := violations{piece: s.A.Piece}
		na, nb := pa.notchesOn(a), pb.notchesOn(b)
		if len(na) != len(nb) {
			v.add("notch", s.A.Edge, "%d notches, but %d on %s", len(na), len(nb), s.B)
		} else if la, lb := a.Path.Length(), b.Path.Length(); !match(na, nb, la, lb, s.Ease) {
			slices.Reverse(nb)
			for i := range nb {
				nb[i].At = lb - nb[i].At
			}
			if !match(na, nb, la, lb, s.Ease) {
				v.add("notch", s.A.Edge, "its notches do not meet those of %s", s.B)
			}
		}
		all = append(all, v.list...)
	}
	return all
}

// notchesOn returns the notches along an edge in order, without those at its
// ends.
func (p Piece) notchesOn(e Edge) []Notch {
	n := e.Path.Length()
	var found []Notch
	for _, k := range p.Notches {
		if k.Edge == e.Name && k.At > MinPart/2 && k.At < n-MinPart/2 {
			found = append(found, k)
		}
	}
	slices.SortFunc(found, func(a, b Notch) int { return cmp.Compare(a.At, b.At) })
	return found
}

// match reports whether the notches of two edges, la and lb mm long, meet in
// order when they are sewn.
func match(a, b []Notch, la, lb, ease float64) bool {
	allowed := math.Abs(ease) + NotchTol
	for i, n := range a {
		m := b[i]
		if n.Kind != m.Kind || math.Abs(n.At-m.At) > allowed || math.Abs((la-n.At)-(lb-m.At)) > allowed {
			return false
		}
	}
	return true
}

// CheckPath returns an error that says why a path can't be an edge, worded to
// follow "the path".
func CheckPath(path geom.Path) error {
	if len(path) == 0 {
		return errors.New("is empty")
	}
	if err := path.Check(); err != nil {
		return fmt.Errorf("has a gap: %w", err)
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
