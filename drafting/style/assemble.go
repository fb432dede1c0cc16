package style

import (
	"fmt"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// assemble sews the garment together on paper and holds it to what holds for
// every draft.
func (s *Style) assemble(g *made, drafted pattern.Pattern, r *run) (pattern.Pattern, error) {
	p := pattern.Pattern{Warnings: drafted.Warnings, Allowances: s.Head.Allowances, Instructions: &pattern.Instructions{
		Cloths: s.Head.Fabrics, Sewing: g.sewing, Notions: g.notions, Cautions: s.Head.Cautions,
	}}
	for _, q := range r.requires {
		if !q.refuse {
			p.Warnings = append(p.Warnings, q.message)
		}
	}
	loose := make([]pattern.Piece, len(g.pieces))
	for i, q := range g.pieces {
		loose[i] = q.Piece
		if q.over {
			loose[i] = q.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
		}
		loose[i] = cutting.FitGrain(loose[i])
	}
	pairings := make([]cutting.Pairing, len(g.seams))
	for i, t := range g.seams {
		pairings[i] = t.pairing
		// A seam is stated as the script sees its first piece, before that is
		// turned over.
		for _, q := range g.pieces {
			if q.Name == t.pairing.A[0].Piece {
				pairings[i].Back = q.over
			}
		}
		if t.gather > 0 {
			pairings[i].Ease = (t.gather - 1) * chainLength(loose, t.pairing.B)
		}
	}
	if err := r.spend(20 * len(pairings) * len(loose)); err != nil {
		return p, s.fail(r.ctx, err)
	}
	pieces, seams, errs := cutting.Assemble(loose, pairings)
	if len(errs) > 0 {
		return p, s.pairingError(errs)
	}
	p.Pieces, p.Seams = pieces, seams
	if broken := p.Validate(); len(broken) > 0 {
		return p, s.brokenError(broken)
	}
	p.Checks = s.checks(p, drafted, r)
	return p, nil
}

// chainLength is how long a chain of edges is.
func chainLength(pieces []pattern.Piece, chain []pattern.EdgeRef) float64 {
	var sum float64
	for _, r := range chain {
		for _, p := range pieces {
			if p.Name == r.Piece {
				sum += p.RunLength(r.Edge)
			}
		}
	}
	return sum
}

func (s *Style) pairingError(errs []error) error {
	e := &Error{Style: s.Head.Slug, Why: errs[0].Error()}
	if pe, ok := errs[0].(*cutting.PairingError); ok {
		e.Line = pe.Pairing.Line
		if len(pe.Pairing.A) > 0 {
			e.Piece, e.Edge = pe.Pairing.A[0].Piece, pe.Pairing.A[0].Edge
		}
	}
	if n := len(errs) - 1; n > 0 {
		e.Why += fmt.Sprintf(" (and %d more)", n)
	}
	return e
}

func (s *Style) brokenError(broken []pattern.Violation) error {
	b := broken[0]
	e := &Error{Style: s.Head.Slug, Line: int(s.make.Position().Line), Piece: b.Piece, Edge: b.Edge, Why: b.Error()}
	if n := len(broken) - 1; n > 0 {
		e.Why += fmt.Sprintf(" (and %d more)", n)
	}
	return e
}

// checks are the block's measures of the body, read back from the block, and
// both sides of every seam of the garment.
func (s *Style) checks(p, drafted pattern.Pattern, r *run) []pattern.Check {
	var checks []pattern.Check
	for _, c := range drafted.Checks {
		if c.Body != 0 {
			c.Name = "block: " + c.Name
			checks = append(checks, c)
		}
	}
	checks = append(checks, r.checks...)
	for _, m := range p.Seams {
		if m.A == m.B {
			continue
		}
		a, b := edgeLength(p, m.A), edgeLength(p, m.B)
		checks = append(checks, pattern.Check{Name: fmt.Sprintf("seam %s to %s", m.A, m.B),
			Ease: m.Ease, Target: b + m.Ease, Drafted: a, Tolerance: pattern.SeamTol})
	}
	return checks
}

func edgeLength(p pattern.Pattern, r pattern.EdgeRef) float64 {
	q, _ := p.Piece(r.Piece)
	e, _ := q.Edge(r.Edge)
	return e.Path.Length()
}
