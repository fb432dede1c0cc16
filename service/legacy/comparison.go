package legacy

import (
	"context"
	"fmt"
	"math"
	"runtime/debug"

	"tapeline/db"
	"tapeline/drafting/compare"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
	"tapeline/service/patterns"
)

// Comparison is what changes from an order's draft to another. Lengths are mm,
// to a thousandth.
type Comparison struct {
	Largest float64        `json:"largest"` // the largest move of any piece
	Pieces  []PieceMove    `json:"pieces"`
	Added   []string       `json:"added,omitempty"`
	Gone    []string       `json:"gone,omitempty"`
	Seams   []LengthChange `json:"seams,omitempty"`  // as piece/edge, those that change
	Girths  []LengthChange `json:"girths,omitempty"` // measures of the garment that change
	Pages   *PagesChange   `json:"pages,omitempty"`
	Engine  *EngineStep    `json:"engine,omitempty"` // where another release drafts
}

// PieceMove is how far a piece's seam line moves once the old one is laid on the
// new with its grain upright.
type PieceMove struct {
	Name    string     `json:"name"`
	Largest float64    `json:"largest"` // the Hausdorff distance
	Mean    float64    `json:"mean"`
	Was     [2]float64 `json:"was"` // where the largest move is, on the old seam line as laid
	Now     [2]float64 `json:"now"` // and on the new one
	Shift   [2]float64 `json:"shift"`
}

// LengthChange is a length before and after; 0 where there was or is none.
type LengthChange struct {
	Name string  `json:"name"`
	Was  float64 `json:"was"`
	Now  float64 `json:"now"`
}

// PagesChange is how many pages a pattern takes before and after.
type PagesChange struct {
	Paper string `json:"paper"`
	Was   int    `json:"was"`
	Now   int    `json:"now"`
}

// EngineStep names the releases that made two drafts.
type EngineStep struct {
	Was string `json:"was"`
	Now string `json:"now"`
}

// comparison compares an order's draft with another of the same revision's
// number, and their pages on a paper; nil says that they are the same.
func (s *Service) comparison(ctx context.Context, in db.RefitInput, draft patterns.Record, paper string) (c *Comparison, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic of type %T while comparing: %s", v, debug.Stack())
		}
	}()
	var was finish.Pattern
	same := false
	err = s.onIdleCore(ctx, func() error {
		if was, err = patterns.Decode(in.Geometry); err != nil {
			return err
		}
		d := compare.Patterns(was, draft.Pattern)
		c = comparisonOf(d)
		if d.Unchanged() { // in what is compared; the rest is in the document
			same = draft.Equals(in.HasHash, in.HasLabel)
		}
		return nil
	})
	if err != nil || same {
		return nil, err
	}
	found, err := sheets.ParsePaper(paper)
	if err != nil {
		return nil, fmt.Errorf("paper %s: %w", paper, err)
	}
	c.Pages = &PagesChange{Paper: paper}
	for _, count := range [...]struct {
		p finish.Pattern
		n *int
	}{{was, &c.Pages.Was}, {draft.Pattern, &c.Pages.Now}} {
		err := s.onIdleCore(ctx, func() (err error) {
			*count.n, err = sheets.PageCount(ctx, count.p, sheets.On(found))
			return err
		})
		if err != nil {
			return nil, fmt.Errorf("count pages: %w", err)
		}
	}
	return c, nil
}

func comparisonOf(d compare.Difference) *Comparison {
	c := &Comparison{Largest: thousandth(d.Largest()), Pieces: []PieceMove{}, Added: d.Added, Gone: d.Gone, Seams: lengthChanges(d.Edges), Girths: lengthChanges(d.Measures)}
	for _, p := range d.Pieces {
		c.Pieces = append(c.Pieces, PieceMove{Name: p.Name, Largest: thousandth(p.Move.Largest), Mean: thousandth(p.Move.Mean),
			Was: place(p.Move.Was), Now: place(p.Move.Now), Shift: place(p.Move.Shift)})
	}
	return c
}

func lengthChanges(changes []compare.Change) []LengthChange {
	var out []LengthChange
	for _, c := range changes {
		out = append(out, LengthChange{c.Name, thousandth(c.Was), thousandth(c.Now)})
	}
	return out
}

func place(p geom.Point) [2]float64 { return [2]float64{thousandth(p.X), thousandth(p.Y)} }

func thousandth(mm float64) float64 { return math.Round(mm*1000) / 1000 }
