package refits

import (
	"context"
	"fmt"
	"math"

	"tapeline/db"
	"tapeline/drafting/compare"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
	"tapeline/service/patterns"
	"tapeline/service/work"
)

// Comparison is the difference between two drafts of an order. Lengths are in mm,
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

// PagesChange is the number of pages of a pattern before and after.
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

// comparison compares an order's draft with another, and their pages on a paper;
// it returns nil if they are the same. It takes a core for each step, so that
// requests wait for a step at most.
func (s *Service) comparison(
	ctx context.Context, in db.RefitInput, draft patterns.Record, paper string,
) (*Comparison, error) {
	step := func(do func(context.Context) error) error { return s.Cores.Do(ctx, work.Bulk, in.ShopID, do) }
	var c *Comparison
	var was finish.Pattern
	same := false
	err := step(func(ctx context.Context) error {
		var err error
		if was, err = patterns.Decode(in.Document); err != nil {
			return err
		}
		difference, err := compare.Patterns(ctx, was, draft.Pattern)
		if err != nil {
			return err
		}
		c = comparisonOf(difference)
		same = difference.Unchanged() && draft.Equals(in.Hash, in.Label)
		return nil
	})
	if err != nil || same {
		return nil, err
	}
	found, err := sheets.ParsePaper(paper)
	if err != nil {
		return nil, fmt.Errorf("paper %s: %w", paper, err)
	}
	count := func(p finish.Pattern) (n int, err error) {
		err = step(func(ctx context.Context) (err error) {
			n, err = sheets.PageCount(ctx, p, sheets.On(found))
			return err
		})
		return n, err
	}
	c.Pages = &PagesChange{Paper: paper}
	if c.Pages.Was, err = count(was); err == nil {
		c.Pages.Now, err = count(draft.Pattern)
	}
	if err != nil {
		return nil, fmt.Errorf("count pages: %w", err)
	}
	return c, nil
}

func comparisonOf(d compare.Difference) *Comparison {
	c := &Comparison{Largest: thousandth(d.Largest()), Pieces: []PieceMove{}, Added: d.Added, Gone: d.Gone,
		Seams: lengthChanges(d.Edges), Girths: lengthChanges(d.Measures)}
	for _, p := range d.Pieces {
		c.Pieces = append(c.Pieces, PieceMove{Name: p.Name, Largest: thousandth(p.Move.Largest),
			Mean: thousandth(p.Move.Mean), Was: rounded(p.Move.Was), Now: rounded(p.Move.Now), Shift: rounded(p.Move.Shift)})
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

func rounded(p geom.Point) [2]float64 { return [2]float64{thousandth(p.X), thousandth(p.Y)} }

func thousandth(mm float64) float64 { return math.Round(mm*1000) / 1000 }
