package finish

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Finish makes a pattern ready to cut: it trues the dart mouths, draws the cut
// line by the rules, and marks every piece. It changes only the mouths, in a
// copy of p. Lettered letters the result.
//
// Rules that name nothing in the pattern or are out of range give a fault.List.
// Any other error means that a piece can't be finished: its outline is invalid,
// or an allowance is too wide for its shape; or it is that of ctx, which ends the
// work after a piece.
func Finish(ctx context.Context, p pattern.Pattern, r Rules) (Pattern, error) {
	if faults := r.check(p); len(faults) > 0 {
		return Pattern{}, faults
	}
	out := Pattern{
		Pieces:       make([]Piece, 0, len(p.Pieces)),
		Seams:        p.Seams,
		Checks:       p.Checks,
		Warnings:     slices.Clone(p.Warnings),
		Instructions: p.Instructions,
	}
	r.style = p.Allowances
	var errs []error
	for _, piece := range p.Pieces {
		if err := cost.Step(ctx); err != nil {
			return Pattern{}, cost.Named(ctx, err, "finishing piece "+piece.Name)
		}
		if broken := piece.ValidateOutline(); len(broken) > 0 {
			for _, v := range broken {
				errs = append(errs, v)
			}
			continue
		}
		q, err := finishPiece(piece, r)
		if err != nil {
			errs = append(errs, fmt.Errorf("piece %s: %w", piece.Name, err))
			continue
		}
		if !q.takesTitle() {
			out.Warnings = append(out.Warnings, fmt.Sprintf("%s is too small to be lettered: mark it by hand", piece.Name))
		}
		out.Pieces = append(out.Pieces, q)
	}
	if err := errors.Join(errs...); err != nil {
		return Pattern{}, err
	}
	return out, nil
}

// finishPiece returns the piece with everything except its lettering.
func finishPiece(p pattern.Piece, r Rules) (Piece, error) {
	mouths, err := mouthsOf(p)
	if err != nil {
		return Piece{}, err
	}
	p = trueMouths(p, mouths)
	p.Darts = slices.DeleteFunc(slices.Clone(p.Darts), pattern.Dart.Empty)
	q := Piece{Piece: p, Allowances: r.allowances(p, mouths)}
	if q.CutLine, err = cutLine(p.Edges, q.Allowances); err != nil {
		return Piece{}, err
	}
	if err := checkCutLine(p, q.CutLine); err != nil {
		return Piece{}, err
	}
	q.Notches = legNotches(p, mouths)
	q.Ticks = q.ticks(mouths)
	q.Drills = append(drills(p.Darts), drillMarks(p)...)
	q.Marks = dartPoints(p)
	return q, nil
}

// allowances returns the edges' allowances, mm. A mouth has that of the edge
// beside its pressed leg, which its cut line mirrors.
func (r Rules) allowances(p pattern.Piece, mouths []mouth) []float64 {
	all := make([]float64, len(p.Edges))
	for i, e := range p.Edges {
		if takesAllowance(e.Role) {
			all[i] = r.allowance(p.Name, e)
		}
	}
	for _, m := range mouths {
		all[m.edge] = all[m.beside(m.pressed, len(all))]
	}
	return all
}

// checkCutLine returns an error if the cut line can't be cut. Allowances wider
// than the shape has room for make the line cross itself.
func checkCutLine(p pattern.Piece, cut geom.Path) error {
	if err := cut.Check(); err != nil {
		return fmt.Errorf("the cut line is broken: %w", err)
	}
	if !cut.Closed() {
		return errors.New("the cut line is open")
	}
	if c := cut.SelfCrossings(); len(c) > 0 {
		return fmt.Errorf("the cut line crosses itself near (%.0f, %.0f): the allowances are too wide there", c[0].At.X,
			c[0].At.Y)
	}
	if cut.Area() < p.Outline().Area()-geom.OffsetTol*cut.Length() {
		return errors.New("the cut line does not go round the seam line")
	}
	return nil
}
