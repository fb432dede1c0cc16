package styles

import (
	"context"
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/sentence"
	"tapeline/service"
)

// Handle is a point of the picture that moves with the length in a blank.
type Handle struct {
	Piece  string
	At     geom.Point // where the piece is drafted, mm
	Per    geom.Point // mm by which it moves for each mm of the length
	Length float64    // mm
}

// handleSteps are the changes of a length, mm, by which the point that moves most is
// found. The others are for lengths that end before.
var handleSteps = []float64{10, -10, 1, -1}

// leastHandle is how far a point moves at least for each mm of the length.
const leastHandle = 0.02

// Handle returns the point that moves most with the length in the blank at a place: nil if
// there is no length, or nothing moves.
func (s *Service) Handle(ctx context.Context, caller service.Caller, t Trial, at Span) (*Handle, *Problem, error) {
	read, p := ReadSentences(t.Script, t.unit())
	if p != nil {
		return nil, p, nil
	}
	blank, ok := BlankAt(read, at)
	if !ok || !isPlainLength(blank) {
		return nil, nil, nil
	}
	var handle *Handle
	p, err := s.onCore(ctx, caller, func(ctx context.Context) error {
		now, err := s.draftScript(ctx, t, t.Script)
		if err != nil {
			return err
		}
		for _, step := range handleSteps {
			text, err := read.Set(at, Value{Form: sentence.Number, Number: blank.Value.Number + step})
			if err != nil {
				continue
			}
			moved, err := s.draftScript(ctx, t, text)
			if err != nil {
				continue
			}
			handle = mover(now, moved, step)
			break
		}
		if handle != nil {
			handle.Length = blank.Value.Number
		}
		return ctx.Err()
	})
	return handle, p, err
}

// mover returns the point that moves most between two drafts, nil if none does.
func mover(from, to finish.Pattern, step float64) *Handle {
	var found *Handle
	far := leastHandle * math.Abs(step)
	for _, p := range from.Pieces {
		for _, q := range to.Pieces {
			if q.Name != p.Name {
				continue
			}
			eachPoint(p.Piece, q.Piece, func(a, b geom.Point) {
				if d := a.Dist(b); d > far+0.01 { // of points that move alike the first
					far, found = d, &Handle{Piece: p.Name, At: a, Per: b.Sub(a).Mul(1 / step)}
				}
			})
		}
	}
	return found
}

// eachPoint calls f for the points of a piece and where they are in another draft of it:
// the apexes of darts, marks, points along edges and lines, the middle first.
func eachPoint(p, q pattern.Piece, f func(a, b geom.Point)) {
	along := func(a, b geom.Path) {
		if len(a) == 0 || len(b) == 0 {
			return
		}
		for _, share := range []float64{0.5, 0, 1, 0.25, 0.75} {
			f(a.At(share*a.Length()), b.At(share*b.Length()))
		}
	}
	for _, run := range p.Runs() {
		along(p.Run(run), q.Run(run))
	}
	for _, d := range p.Darts {
		if e := q.Dart(d.Name); e != nil && len(e.Apexes) == len(d.Apexes) {
			for i := range d.Apexes {
				f(d.Apexes[i], e.Apexes[i])
			}
			along(d.Legs[0], e.Legs[0])
			along(d.Legs[1], e.Legs[1])
		}
	}
	for _, l := range p.Lines {
		for _, m := range q.Lines {
			if m.Name == l.Name {
				along(l.Path, m.Path)
			}
		}
	}
	for _, m := range p.Marks {
		for _, n := range q.Marks {
			if n.Name == m.Name {
				f(m.At, n.At)
			}
		}
	}
}
