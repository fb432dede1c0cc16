// Package sheets lays the pieces of a finished pattern on paper: all of them
// on one sheet with the grain upright, and the sheet cut into tiles, one a
// page, for paper smaller than it.
//
// Lengths are mm in the axes of package geom. The sheet's corner is the origin;
// a page shows the part of the sheet in its Window.
package sheets

import (
	"context"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// Layout is a pattern laid out on paper: everything that a format draws.
type Layout struct {
	Label      finish.Label
	Style      string // of the pattern
	Paper      Paper
	PageWidth  float64 // mm, as the page lies
	PageHeight float64
	Margin     float64
	Pieces     []finish.Piece // on the sheet: turned and shifted, labels upright
	Pages      []Page         // in the order of printing; the first bears the legend
	Legend     Legend
}

// Page is one page: a tile of the sheet, or a cover with nothing but the legend.
type Page struct {
	Cover  bool
	Name   string        // column and row, such as B3; "" where there is one page only
	Window geom.Box      // the part of the sheet in the page's printed area; of a cover, its own axes
	Texts  []finish.Text // what names the page, on the sheet
	Joins  []Join
}

// Plan lays the pattern out. Where no single page holds it, it tries where to
// put the pieces so that few pages bear any of it, and moves lettering that a
// page's edge would cut to where one page has it whole, if there is room in
// the piece. The error is a fault.List where the options are at fault, and the
// context's error once it is cancelled.
func Plan(ctx context.Context, p finish.Pattern, o Options) (Layout, error) {
	if err := o.Check(); err != nil {
		return Layout{}, err
	}
	p = p.Lettered()
	notes := newNotes(p, o.Overlap)
	q, err := newPlan(ctx, p, o, notes.sizes())
	if err != nil {
		return Layout{}, err
	}
	l := Layout{Label: p.Label, Style: p.Style, Paper: o.Paper, PageWidth: q.page.X, PageHeight: q.page.Y, Margin: o.Margin}
	for i, piece := range p.Pieces {
		l.Pieces = append(l.Pieces, place(piece, q.places[i]))
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

// tiles are the pages without the cover.
func (l *Layout) tiles() []Page {
	if l.Pages[0].Cover {
		return l.Pages[1:]
	}
	return l.Pages
}

// PageCount is the number of pages that Plan comes to, cover included.
func PageCount(ctx context.Context, p finish.Pattern, o Options) (int, error) {
	if err := o.Check(); err != nil {
		return 0, err
	}
	q, err := newPlan(ctx, p, o, newNotes(p, o.Overlap).sizes())
	return q.pages(), err
}
