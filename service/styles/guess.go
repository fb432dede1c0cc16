package styles

import (
	"context"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/render"
	"tapeline/service"
	"tapeline/service/work"
)

// Guessed holds the changes that an edit would make in the picture.
type Guessed struct {
	Pieces  []GuessedPiece // those that it would change
	Problem *Problem       // why nothing would be drafted, nil if something would
}

// GuessedPiece is a piece as an edit would make it.
type GuessedPiece struct {
	Name string `json:"piece"`
	New  bool   `json:"new"`  // not there without the edit
	Path string `json:"path"` // its seam line, darts and lines: data of a path of SVG, mm, where the piece is drafted
}

// Guess drafts a script with an edit, and returns the pieces that differ from those
// without it.
func (s *Service) Guess(ctx context.Context, caller service.Caller, t Trial, e Edit) (Guessed, error) {
	read, p := ReadSentences(t.Script, t.unit())
	if p != nil {
		return Guessed{Problem: p}, nil
	}
	var guessed Guessed
	p, err := s.onCore(ctx, caller, func(ctx context.Context) error {
		text, err := e.apply(read)
		if err != nil {
			return err
		}
		after, err := s.draftScript(ctx, t, text)
		if err != nil {
			return err
		}
		before, _ := s.draftScript(ctx, t, t.Script) // without one every piece is changed
		guessed.Pieces = changedPieces(before, after)
		return ctx.Err()
	})
	guessed.Problem = p
	return guessed, err
}

// onCore runs work on a trial of a shop. What is wrong with the script is a Problem.
func (s *Service) onCore(ctx context.Context, caller service.Caller, do func(context.Context) error) (*Problem, error) {
	leave, err := s.trials.Enter(caller.Owner())
	if err != nil {
		return nil, err
	}
	defer leave()
	var p *Problem
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
		err := do(ctx)
		if ended := ctx.Err(); ended != nil && cost.Of(ctx, err) == nil {
			return ended
		}
		if err != nil {
			p = problem(ctx, err)
		}
		return nil
	})
	return p, err
}

// draftScript drafts a script to the body of a trial.
func (s *Service) draftScript(ctx context.Context, t Trial, script string) (finish.Pattern, error) {
	garment, err := s.compile(script)
	if err != nil {
		return finish.Pattern{}, err
	}
	return s.planOf(garment, t).draft(ctx, nil)
}

// changedPieces returns the pieces of a pattern that differ from those of another.
func changedPieces(before, after finish.Pattern) []GuessedPiece {
	var changed []GuessedPiece
	for _, p := range after.Pieces {
		i := slices.IndexFunc(before.Pieces, func(q finish.Piece) bool { return q.Name == p.Name })
		if i >= 0 && slices.EqualFunc(strokes(before.Pieces[i].Piece), strokes(p.Piece), samePath) {
			continue
		}
		changed = append(changed, GuessedPiece{Name: p.Name, New: i < 0, Path: render.PathData(strokes(p.Piece)...)})
	}
	return changed
}

// strokes returns the seam line, darts and lines of a piece.
func strokes(p pattern.Piece) []geom.Path {
	var paths []geom.Path
	for _, e := range p.Edges {
		paths = append(paths, e.Path)
	}
	for _, d := range p.Darts {
		paths = append(paths, d.Legs[0], d.Legs[1])
	}
	for _, l := range p.Lines {
		paths = append(paths, l.Path)
	}
	return paths
}

// samePath reports whether two paths look the same.
func samePath(a, b geom.Path) bool {
	const tol = 0.05 // mm, thinner than a line
	return slices.EqualFunc(a, b, func(s, u geom.Segment) bool {
		return s.Straight == u.Straight && s.P0.Near(u.P0, tol) && s.P1.Near(u.P1, tol) && s.P2.Near(u.P2, tol) &&
			s.P3.Near(u.P3, tol)
	})
}
