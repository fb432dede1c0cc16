package style

import (
	"errors"
	"fmt"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// assemble pairs the seams of a garment, numbers its edges and checks that it
// keeps the rules of every draft.
func (s *Style) assemble(r *run, g *garment, drafted pattern.Pattern) (pattern.Pattern, error) {
	p := pattern.Pattern{Warnings: drafted.Warnings, Allowances: s.Head.Allowances, Instructions: &pattern.Instructions{
		Cloths: s.Head.Cloths, Sewing: g.sewing, Notions: g.notions, Cautions: s.Head.Cautions,
	}}
	for _, q := range r.requires {
		if !q.refuse {
			p.Warnings = append(p.Warnings, q.message)
		}
	}
	loose := loosePieces(g.pieces)
	if over := (pattern.Pattern{Pieces: loose, Instructions: p.Instructions}).OverLimits(); len(over) > 0 {
		return p, s.violationError(over)
	}
	pairings := g.pairings(loose)
	if err := r.spend(20 * len(pairings) * len(loose)); err != nil {
		return p, asError(s.Head.Slug, err)
	}
	pieces, seams, errs := cutting.Assemble(loose, pairings)
	if len(errs) > 0 {
		return p, s.pairingError(errs)
	}
	p.Pieces, p.Seams = pieces, seams
	if violations := broken(p); len(violations) > 0 {
		return p, s.violationError(violations)
	}
	p.Checks = checks(p, drafted, r)
	worn, err := s.readOpenings(r, p)
	if err != nil {
		return p, err
	}
	for _, c := range worn {
		if !c.Holds() {
			p.Warnings = append(p.Warnings, c.Finding())
		}
	}
	p.Checks = append(p.Checks, worn...)
	return p, nil
}

// loosePieces returns pieces as they are cut, before they are sewn together.
func loosePieces(pieces []*piece) []pattern.Piece {
	loose := make([]pattern.Piece, len(pieces))
	for i, q := range pieces {
		loose[i] = q.Piece
		if q.over {
			loose[i] = q.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
		}
		loose[i] = cutting.FitGrain(cutting.TrueDarts(loose[i]))
	}
	return loose
}

// pairings returns the pairings of the garment's seams on its pieces as they
// are cut.
func (g *garment) pairings(pieces []pattern.Piece) []cutting.Pairing {
	pairings := make([]cutting.Pairing, len(g.seams))
	for i, seam := range g.seams {
		pairings[i] = seam.pairing
		// A script declares a seam as it sees its first piece, before that is
		// turned over.
		for _, q := range g.pieces {
			if q.Name == seam.pairing.A[0].Piece {
				pairings[i].Back = q.over
			}
		}
		if seam.gather > 0 {
			pairings[i].Ease = (seam.gather - 1) * pattern.ChainLength(pieces, seam.pairing.B)
		}
	}
	return pairings
}

// broken returns the limits that a garment exceeds, otherwise the rules that it
// breaks.
func broken(p pattern.Pattern) []pattern.Violation {
	if over := p.OverLimits(); len(over) > 0 {
		return over
	}
	return p.Validate()
}

func (s *Style) pairingError(errs []error) error {
	e := &Error{Style: s.Head.Slug, Reason: errs[0].Error()}
	if pe, ok := errors.AsType[*cutting.PairingError](errs[0]); ok {
		e.Line = pe.Pairing.Line
		if len(pe.Pairing.A) > 0 {
			e.Piece, e.Edge = pe.Pairing.A[0].Piece, pe.Pairing.A[0].Edge
		}
	}
	return e.addCount(len(errs) - 1)
}

func (s *Style) violationError(violations []pattern.Violation) error {
	v := violations[0]
	e := &Error{Style: s.Head.Slug, Line: int(s.make.Position().Line), Piece: v.Piece, Edge: v.Edge, Reason: v.Error()}
	return e.addCount(len(violations) - 1)
}

// checks returns the block's checks of the body, those of the script, and one
// for each seam of the garment.
func checks(p, drafted pattern.Pattern, r *run) []pattern.Check {
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
