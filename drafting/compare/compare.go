// Package compare tells what changed between two finished patterns of the same
// order: how far each piece's seam line moved, which seams and measures
// changed and by how much, which pieces came or went. Lengths are mm.
package compare

import (
	"context"
	"math"

	"tapeline/drafting/cost"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
)

// Difference lists the changes from one pattern to another.
type Difference struct {
	Pieces   []Piece  // those in both, in the new pattern's order
	Added    []string // pieces only in the new one
	Gone     []string // pieces only in the old one
	Edges    []Change // edges that changed their length, as piece/edge; of edges in parts the whole
	Measures []Change // checks that are drafted to something else
}

// Piece is how one piece's seam line moved.
type Piece struct {
	Name string
	Move Move
}

// Change is a length before and after; zero where there was or is none.
type Change struct {
	Name     string
	Was, Now float64
}

// noise is the change in mm below which nothing is said to have changed: far
// above what arithmetic leaves, far below what anybody cuts.
const noise = 0.005

// Patterns compares the old pattern with the new one. The error is that of ctx,
// which ends the work after a piece.
func Patterns(ctx context.Context, was, now finish.Pattern) (Difference, error) {
	var d Difference
	old := map[string]finish.Piece{}
	for _, p := range was.Pieces {
		old[p.Name] = p
	}
	kept := map[string]bool{}
	for _, p := range now.Pieces {
		if err := cost.Step(ctx); err != nil {
			return Difference{}, err
		}
		q, ok := old[p.Name]
		if !ok {
			d.Added = append(d.Added, p.Name)
			continue
		}
		kept[p.Name] = true
		d.Pieces = append(d.Pieces, Piece{p.Name, Outlines(q.Outline(), p.Outline())})
	}
	for _, p := range was.Pieces {
		if !kept[p.Name] {
			d.Gone = append(d.Gone, p.Name)
		}
	}
	d.Edges = changes(edgeLengths(was), edgeLengths(now))
	d.Measures = changes(measures(was), measures(now))
	return d, nil
}

// Largest is the largest move of any piece.
func (d Difference) Largest() float64 {
	largest := 0.0
	for _, p := range d.Pieces {
		largest = math.Max(largest, p.Move.Largest)
	}
	return largest
}

// Unchanged reports whether nothing changed at all.
func (d Difference) Unchanged() bool {
	return len(d.Added)+len(d.Gone)+len(d.Edges)+len(d.Measures) == 0 && d.Largest() <= noise
}

// lengths are named lengths in order.
type lengths struct {
	names []string
	by    map[string]float64
}

func (l *lengths) add(name string, v float64) {
	if _, ok := l.by[name]; !ok {
		l.names = append(l.names, name)
	}
	l.by[name] += v
}

func edgeLengths(p finish.Pattern) lengths {
	l := lengths{by: map[string]float64{}}
	for _, q := range p.Pieces {
		for _, e := range q.Edges {
			if e.Role != pattern.RoleDartMouth {
				l.add(q.Name+"/"+e.Run, e.Path.Length())
			}
		}
	}
	return l
}

func measures(p finish.Pattern) lengths {
	l := lengths{by: map[string]float64{}}
	for _, c := range p.Checks {
		l.add(c.Name, c.Drafted)
	}
	return l
}

// changes lists what differs, the new one's names first.
func changes(was, now lengths) []Change {
	var out []Change
	for _, name := range now.names {
		if math.Abs(now.by[name]-was.by[name]) > noise {
			out = append(out, Change{name, was.by[name], now.by[name]})
		}
	}
	for _, name := range was.names {
		if _, ok := now.by[name]; !ok {
			out = append(out, Change{name, was.by[name], 0})
		}
	}
	return out
}
