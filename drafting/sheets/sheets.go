// Package sheets lays out a finished pattern on paper. It places all pieces on one
// sheet with the grain upright, and divides the sheet into tiles, one a page, if
// the paper is smaller.
//
// Lengths are mm in the axes of package geom. The sheet's corner is the origin. A
// page shows the part of the sheet in its Window.
package sheets

import (
	"context"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// Layout is a pattern laid out on paper, with everything that a format draws.
type Layout struct {
	Label      finish.Label
	Style      string // of the pattern
	Paper      Paper
	PageWidth  float64 // mm, as the page lies
	PageHeight float64
	Margin     float64
	Pieces     []finish.Piece // on the sheet: turned and shifted, labels upright
	Motions    []geom.Motion  // that brought the pieces there
	Pages      []Page         // in the order of printing; the first bears the legend
	Legend     Legend
}

// Page is a tile of the sheet, or a cover with only the legend.
type Page struct {
	Cover  bool
	Name   string        // column and row, such as B3; "" for a single page
	Window geom.Box      // the part of the sheet in the page's printed area; of a cover, its own axes
	Texts  []finish.Text // what names the page, on the sheet
	Joins  []Join
}

// Plan lays out the pattern. If a single page cannot hold it, Plan searches for
// placements that need few pages, and moves texts that a page's edge would cut to
// where one page shows all of them, if there is room in the piece. The error is a
// fault.List if the options are wrong, and the context's error once it is
// cancelled.
func Plan(ctx context.Context, p finish.Pattern, o Options) (Layout, error) {
	if err := o.Check(); err != nil {
		return Layout{}, err
	}
	p = p.Lettered()
	notes := newNotes(p, o)
	q, err := newPlan(ctx, p, o, notes.sizes())
	if err != nil {
		return Layout{}, err
	}
	l := Layout{Label: p.Label, Style: p.Style, Paper: o.Paper, PageWidth: q.page.X, PageHeight: q.page.Y,
		Margin: o.Margin}
	for i, piece := range p.Pieces {
		l.Pieces = append(l.Pieces, place(piece, q.places[i]))
		l.Motions = append(l.Motions, q.places[i].motion())
	}
	if q.cover {
		l.Pages = append(l.Pages, Page{Cover: true, Window: geom.Box{Max: q.window}})
	}
	for _, t := range q.tiles {
		page := Page{Window: q.windowOf(t)}
		if len(q.tiles) > 1 {
			page.Name = t.name()
		}
		l.Pages = append(l.Pages, page)
	}
	if len(q.tiles) > 1 {
		ink := newInk(l.Pieces, q)
		ink.moveLabels(l.Pieces)
		if !q.cover {
			ink.SetBox(q.legend)
		}
		ink.join(l.tiles(), q.tiles)
		ink.namePages(l.Pages, p.Label)
	}
	l.Legend = notes.compose(&l, q)
	return l, nil
}

// tiles returns the pages without the cover.
func (l *Layout) tiles() []Page {
	if l.Pages[0].Cover {
		return l.Pages[1:]
	}
	return l.Pages
}

// PageCount returns the number of pages of the layout that Plan returns, the cover
// included.
func PageCount(ctx context.Context, p finish.Pattern, o Options) (int, error) {
	if err := o.Check(); err != nil {
		return 0, err
	}
	q, err := newPlan(ctx, p, o, newNotes(p, o).sizes())
	return q.pages(), err
}
