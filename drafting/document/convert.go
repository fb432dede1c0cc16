package document

import (
	"strings"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// New returns the document of a finished pattern, without its label.
func New(p finish.Pattern) Document {
	return Document{
		Version: Version, Unit: unit, Axes: axes, Style: p.Style,
		Pieces:       each(p.Pieces, pieceOf),
		Seams:        each(p.Seams, seamOf),
		Checks:       Checks(p.Checks),
		Warnings:     each(p.Warnings, func(s string) string { return s }),
		Instructions: instructionsOf(p.Instructions),
		Measurements: measurementsOf(p.Measurements),
		Alterations:  alterationsOf(p.Alterations),
	}
}

// Pattern returns the pattern that the document holds. Its lengths are those of
// the document, rounded, so that a pattern renders the same before it is stored
// and after.
func (d Document) Pattern() finish.Pattern {
	p := finish.Pattern{
		Style:  d.Style,
		Pieces: each(d.Pieces, Piece.finished),
		Seams:  each(d.Seams, Seam.pattern),
		Checks: each(d.Checks, Check.pattern),
	}
	p.Warnings = append(p.Warnings, d.Warnings...)
	for _, m := range d.Measurements {
		p.Measurements = append(p.Measurements, pattern.Measurement{Name: m.Name, Title: m.Title, Value: m.Value,
			Degrees: m.Unit == degree, Estimated: m.Estimated, Spread: m.Spread})
	}
	for _, a := range d.Alterations {
		p.Alterations = append(p.Alterations, pattern.Alteration(a))
	}
	if d.Label != nil {
		p.Label = finish.Label(*d.Label)
	}
	if i := d.Instructions; i != nil {
		p.Instructions = &pattern.Instructions{Cloths: i.Cloths, Sewing: i.Sewing, Notions: i.Notions, Cautions: i.Cautions,
			Built: i.Built}
	}
	return p
}

// each maps values, never to nil: an empty list is written as [].
func each[T, R any](values []T, f func(T) R) []R {
	r := make([]R, len(values))
	for i, v := range values {
		r[i] = f(v)
	}
	return r
}

func pieceOf(p finish.Piece) Piece {
	q := Piece{
		Name: p.Name, Title: p.Title, Cut: Cut(p.Cut), Cloth: p.Cloth, Interfacing: p.Interfacing, Notes: p.Notes,
		Grain: []Point{}, Edges: edgesOf(p), CutPath: NewPath(p.CutLine),
		Darts:   each(p.Darts, dartOf),
		Notches: notchesOf(p),
		Marks:   each(p.Marks, func(m pattern.Mark) Mark { return Mark{m.Name, m.Kind, NewPoint(m.At)} }),
		Drills:  each(p.Drills, NewPoint),
		Lines:   each(p.Lines, func(l pattern.Line) Line { return Line{Name: l.Name, Path: NewPath(l.Path)} }),
	}
	if p.Grain.P0 != p.Grain.P3 {
		q.Grain = []Point{NewPoint(p.Grain.P0), NewPoint(p.Grain.P3)}
	}
	return q
}

// edgesOf rounds the seam line as one closed line, so that every edge still
// starts where the one before it ends.
func edgesOf(p finish.Piece) []Edge {
	edges := make([]Edge, len(p.Edges))
	for i, e := range p.Edges {
		start := rounded(e.Path.Start())
		if i > 0 && len(edges[i-1].Path) > 0 && p.Edges[i-1].Path.End().Near(e.Path.Start(), geom.JoinTol) {
			start = edges[i-1].Path.end()
		}
		edges[i] = Edge{Name: e.Name, Role: e.Role, Path: pathFrom(start, e.Path), Allowance: Round(p.Allowances[i])}
		if e.Run != e.Name {
			edges[i].Run = e.Run
		}
	}
	if p.Outline().Closed() {
		edges[len(edges)-1].Path.endAt(edges[0].Path[0].P0)
	}
	for i := range edges {
		edges[i].Length = Round(edges[i].Path.geom().Length())
	}
	return edges
}

func dartOf(d pattern.Dart) Dart {
	return Dart{Name: d.Name, Mouth: d.Mouth, Legs: [2]Path{NewPath(d.Legs[0]), NewPath(d.Legs[1])},
		Apexes: each(d.Apexes, NewPoint), Pressed: d.Pressed}
}

func notchesOf(p finish.Piece) []Notch {
	notches := make([]Notch, len(p.Notches))
	for i, n := range p.Notches {
		notches[i] = Notch{Edge: n.Edge, At: Round(n.At), Kind: n.Kind, Name: n.Name, Strokes: [][2]Point{}}
		if e, ok := p.Edge(n.Edge); ok && len(e.Path) > 0 {
			notches[i].Point = NewPoint(e.Path.At(n.At))
		}
	}
	for _, t := range p.Ticks {
		n := &notches[t.Notch]
		n.Strokes = append(n.Strokes, [2]Point{NewPoint(t.Stroke.P0), NewPoint(t.Stroke.P3)})
	}
	return notches
}

func seamOf(s pattern.Seam) Seam {
	return Seam{A: s.A.String(), B: s.B.String(), Ease: Round(s.Ease), How: s.How}
}

// Checks returns checks as documents hold them.
func Checks(checks []pattern.Check) []Check {
	return each(checks, func(c pattern.Check) Check {
		return Check{Name: c.Name, Body: Round(c.Body), Alteration: Round(c.Alteration), Ease: Round(c.Ease),
			Target: Round(c.Target), Drafted: Round(c.Drafted), Difference: Round(c.Difference()),
			Tolerance: Round(c.Tolerance), Estimated: c.Estimated, Spread: Round(c.Spread), AtLeast: c.AtLeast, Where: c.Where}
	})
}

// degree is the unit of a measurement that is an angle.
const degree = "degree"

func measurementsOf(list []pattern.Measurement) []Measurement {
	var all []Measurement
	for _, m := range list {
		d := Measurement{Name: m.Name, Title: m.Title, Value: Round(m.Value), Unit: unit, Estimated: m.Estimated,
			Spread: Round(m.Spread)}
		if m.Degrees {
			d.Unit = degree
		}
		all = append(all, d)
	}
	return all
}

func alterationsOf(list []pattern.Alteration) []Alteration {
	var all []Alteration
	for _, a := range list {
		a.Value = Round(a.Value)
		all = append(all, Alteration(a))
	}
	return all
}

func instructionsOf(i *pattern.Instructions) *Instructions {
	if i == nil {
		return nil
	}
	return &Instructions{Cloths: i.Cloths, Sewing: i.Sewing, Notions: i.Notions, Cautions: i.Cautions, Built: i.Built}
}

func (p Piece) finished() finish.Piece {
	q := finish.Piece{
		Piece: pattern.Piece{
			Name: p.Name, Title: p.Title, Cut: pattern.Cut(p.Cut), Cloth: p.Cloth, Interfacing: p.Interfacing, Notes: p.Notes,
			Darts: each(p.Darts, Dart.pattern),
			Notches: each(p.Notches, func(n Notch) pattern.Notch {
				return pattern.Notch{Edge: n.Edge, At: n.At, Kind: n.Kind, Name: n.Name}
			}),
			Marks: each(p.Marks, func(m Mark) pattern.Mark {
				return pattern.Mark{Name: m.Name, Kind: m.Kind,
					At: m.Point.geom()}
			}),
			Lines: each(p.Lines, func(l Line) pattern.Line { return pattern.Line{Name: l.Name, Path: l.Path.geom()} }),
		},
		Allowances: each(p.Edges, func(e Edge) float64 { return e.Allowance }),
		CutLine:    p.CutPath.geom(),
		Drills:     each(p.Drills, Point.geom),
	}
	for _, e := range p.Edges {
		if e.Run == "" {
			e.Run = e.Name
		}
		q.Edges = append(q.Edges, pattern.Edge{Name: e.Name, Run: e.Run, Role: e.Role, Path: e.Path.geom()})
	}
	if len(p.Grain) == 2 {
		q.Grain = geom.Line(p.Grain[0].geom(), p.Grain[1].geom())
	}
	for i, n := range p.Notches {
		for _, s := range n.Strokes {
			q.Ticks = append(q.Ticks, finish.Tick{Notch: i, Stroke: geom.Line(s[0].geom(), s[1].geom())})
		}
	}
	return q
}

func (d Dart) pattern() pattern.Dart {
	return pattern.Dart{Name: d.Name, Mouth: d.Mouth, Legs: [2]geom.Path{d.Legs[0].geom(), d.Legs[1].geom()},
		Apexes: each(d.Apexes, Point.geom), Pressed: d.Pressed}
}

func (s Seam) pattern() pattern.Seam {
	return pattern.Seam{A: refOf(s.A), B: refOf(s.B), Ease: s.Ease, How: s.How}
}

func refOf(s string) pattern.EdgeRef {
	piece, edge, _ := strings.Cut(s, "/")
	return pattern.EdgeRef{Piece: piece, Edge: edge}
}

func (c Check) pattern() pattern.Check {
	return pattern.Check{Name: c.Name, Body: c.Body, Alteration: c.Alteration, Ease: c.Ease, Target: c.Target,
		Drafted: c.Drafted, Tolerance: c.Tolerance, Estimated: c.Estimated, Spread: c.Spread, AtLeast: c.AtLeast,
		Where: c.Where}
}
