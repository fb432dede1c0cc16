package sheets

import (
	"strconv"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
)

const (
	joinHalf  = 4.0 // half the width of a join mark, mm
	joinText  = 3.0 // em of its number, mm
	nameSize  = 5.0 // em of the page's name, mm
	nameInset = 4.0 // distance of the name from the page's edge, mm
)

// Join is a mark at the edge where two pages meet: half of a lozenge on each page,
// or the whole lozenge on both if the pages overlap.
type Join struct {
	Number int
	Shape  geom.Path   // closed, on the sheet, clipped at the page's edge
	Label  finish.Text // the number, on the page's side
}

// join marks every edge between two pages with the same number on both.
func (k *ink) join(pages []Page, tiles []tile) {
	at := make(map[tile]int, len(tiles))
	for i, t := range tiles {
		at[t] = i
	}
	number := 0
	for i, t := range tiles {
		for _, next := range []tile{{t.col + 1, t.row}, {t.col, t.row + 1}} {
			j, ok := at[next]
			if !ok {
				continue
			}
			number++
			c := k.joinSpot(pages[i].Window, pages[j].Window, next.row == t.row)
			pages[i].Joins = append(pages[i].Joins, newJoin(number, c, pages[i].Window, next.row == t.row))
			pages[j].Joins = append(pages[j].Joins, newJoin(number, c, pages[j].Window, next.row == t.row))
		}
	}
}

// joinSpot returns the position of the mark on a common edge: the middle, or
// another position where it meets no line. beside says that the second page lies
// to the right.
func (k *ink) joinSpot(a, b geom.Box, beside bool) geom.Point {
	strip := geom.Box{
		Min: geom.Pt(max(a.Min.X, b.Min.X), max(a.Min.Y, b.Min.Y)),
		Max: geom.Pt(min(a.Max.X, b.Max.X), min(a.Max.Y, b.Max.Y)),
	}
	room := geom.Pt(joinHalf+joinText*1.5, joinHalf)
	if !beside {
		room = geom.Pt(joinHalf, joinHalf+joinText*1.5)
	}
	var spot geom.Point
	for i, f := range []float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.5} {
		spot = geom.Pt(strip.Centre().X, strip.Min.Y+f*strip.Height())
		if !beside {
			spot = geom.Pt(strip.Min.X+f*strip.Width(), strip.Centre().Y)
		}
		if box := (geom.Box{Min: spot.Sub(room), Max: spot.Add(room)}); k.clear(box) || i == 7 {
			k.SetBox(box)
			break
		}
	}
	return spot
}

// newJoin returns the mark at c as a page shows it.
func newJoin(number int, c geom.Point, window geom.Box, beside bool) Join {
	j := Join{Number: number}
	d := geom.Pt(joinHalf, joinHalf)
	corners := []geom.Point{
		{X: c.X, Y: c.Y - d.Y}, {X: c.X + d.X, Y: c.Y}, {X: c.X, Y: c.Y + d.Y}, {X: c.X - d.X, Y: c.Y},
	}
	j.Shape = geom.Polyline(clip(corners, window)...)
	l := finish.Text{Size: joinText, Lines: []string{strconv.Itoa(number)}}
	w, h := l.Width(), l.Height()
	in := window.Centre().Sub(c)
	switch {
	case beside && in.X > 0:
		l.At = geom.Pt(c.X+joinHalf+1, c.Y-h/2)
	case beside:
		l.At = geom.Pt(c.X-joinHalf-1-w, c.Y-h/2)
	case in.Y > 0:
		l.At = geom.Pt(c.X-w/2, c.Y+joinHalf+0.5)
	default:
		l.At = geom.Pt(c.X-w/2, c.Y-joinHalf-0.5-h)
	}
	j.Label = l
	return j
}

// clip returns the part of a convex polygon inside a box (Sutherland and Hodgman,
// Reentrant polygon clipping, 1974). Its last point repeats the first.
func clip(points []geom.Point, b geom.Box) []geom.Point {
	for _, side := range []struct{ at, in geom.Point }{
		{b.Min, geom.Pt(1, 0)}, {b.Min, geom.Pt(0, 1)}, {b.Max, geom.Pt(-1, 0)}, {b.Max, geom.Pt(0, -1)},
	} {
		var inside []geom.Point
		prev := points[len(points)-1]
		for _, p := range points {
			dp, dq := prev.Sub(side.at).Dot(side.in), p.Sub(side.at).Dot(side.in)
			if dp > 0 != (dq > 0) {
				inside = append(inside, prev.Lerp(p, dp/(dp-dq)))
			}
			if dq > 0 {
				inside = append(inside, p)
			}
			prev = p
		}
		if points = inside; len(points) == 0 {
			return nil
		}
	}
	return append(points, points[0])
}

// namePages letters the name of each page where nothing is drawn.
func (k *ink) namePages(pages []Page, info finish.Label) {
	for i := range pages {
		p := &pages[i]
		if p.Cover {
			continue
		}
		name := finish.Text{Size: nameSize, Lines: []string{p.Name}}
		line := info.Reference
		if line != "" {
			line += " · "
		}
		line += "page " + strconv.Itoa(i+1) + " of " + strconv.Itoa(len(pages))
		rest := finish.Text{Size: nameSize / 2}
		rest.Lines = lettering.Regular().Wrap(line, rest.Size, p.Window.Width()/2, 1)
		size := geom.Pt(max(name.Width(), rest.Width()), name.Height()+rest.Height())
		at := k.corner(p.Window, size)
		name.At = at
		rest.At = at.Add(geom.Pt(0, name.Height()))
		p.Texts = []finish.Text{name, rest}
	}
}

// corner returns the position of a box of a size in a window where nothing is
// drawn: a corner if possible, otherwise one along the edges. If there is none, it
// returns the top left corner.
func (k *ink) corner(w geom.Box, size geom.Point) geom.Point {
	room := w.Grow(-nameInset)
	span := room.Max.Sub(size).Sub(room.Min)
	for _, f := range [...]geom.Point{ // fractions of the span
		{X: 0, Y: 0}, {X: 1, Y: 0}, {X: 0, Y: 1}, {X: 1, Y: 1},
		{X: 0.25, Y: 0}, {X: 0.75, Y: 0}, {X: 0.25, Y: 1}, {X: 0.75, Y: 1},
		{X: 0, Y: 0.3}, {X: 1, Y: 0.3}, {X: 0, Y: 0.7}, {X: 1, Y: 0.7},
	} {
		at := room.Min.Add(geom.Pt(f.X*span.X, f.Y*span.Y))
		if box := (geom.Box{Min: at, Max: at.Add(size)}); k.clear(box) {
			k.SetBox(box)
			return at
		}
	}
	return room.Min
}
