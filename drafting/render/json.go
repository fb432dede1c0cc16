package render

import (
	"encoding/json"
	"math"

	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// ChordError is how far a polyline of the JSON may lie from the curve that it
// stands for, mm. Points are rounded to 0.001 mm besides.
const ChordError = 0.05

// JSON writes the pattern's geometry for other programs to read, every length
// in mm. It is the only format in which curves are flattened for good; a
// closed line repeats its first point at its end.
func JSON(p finish.Pattern) ([]byte, error) {
	doc := patternJSON{
		Unit:      "mm",
		Axes:      "x right, y down; outlines run clockwise as seen",
		Reference: p.Info.Reference,
		Customer:  p.Info.Customer,
		Style:     p.Info.Style,
		Date:      p.Info.Date,
		Revision:  p.Info.Revision,
		Pieces:    list(p.Pieces, pieceOf),
		Seams: list(p.Seams, func(s pattern.Seam) seamJSON {
			return seamJSON{s.A.String(), s.B.String(), round(s.Ease)}
		}),
		Checks: list(p.Checks, func(c pattern.Check) checkJSON {
			return checkJSON{c.Name, round(c.Body), round(c.Alteration), round(c.Ease), round(c.Target), round(c.Drafted), round(c.Difference()),
				c.Estimated, round(c.Spread)}
		}),
		Warnings: list(p.Warnings, func(s string) string { return s }),
	}
	return json.Marshal(doc)
}

type patternJSON struct {
	Unit      string      `json:"unit"`
	Axes      string      `json:"axes"`
	Reference string      `json:"reference"`
	Customer  string      `json:"customer,omitempty"`
	Style     string      `json:"style"`
	Date      string      `json:"date,omitempty"`
	Revision  int         `json:"revision"`
	Pieces    []pieceJSON `json:"pieces"`
	Seams     []seamJSON  `json:"seams"`
	Checks    []checkJSON `json:"checks"`
	Warnings  []string    `json:"warnings"`
}

type pieceJSON struct {
	Name     string      `json:"name"`
	Title    string      `json:"title"`
	Cut      pattern.Cut `json:"cut"`
	Grain    []point     `json:"grain"`
	SeamLine []point     `json:"seam_line"`
	CutLine  []point     `json:"cut_line"`
	Edges    []edgeJSON  `json:"edges"`
	Darts    []dartJSON  `json:"darts"`
	Notches  []notchJSON `json:"notches"`
	Marks    []markJSON  `json:"marks"`
	Lines    []lineJSON  `json:"lines"`
}

type edgeJSON struct {
	Name      string       `json:"name"`
	Role      pattern.Role `json:"role"`
	Points    []point      `json:"points"`
	Length    float64      `json:"length_mm"`
	Allowance float64      `json:"allowance_mm"`
}

type dartJSON struct {
	Name    string     `json:"name"`
	Mouth   string     `json:"mouth,omitempty"` // the edge at which it opens
	Legs    [2][]point `json:"legs"`
	Apexes  []point    `json:"apexes"`
	Pressed int        `json:"pressed"` // index of the leg over which the cloth is folded
}

type notchJSON struct {
	Edge  string            `json:"edge"`
	At    float64           `json:"at_mm"` // along the edge from its start
	Point point             `json:"point"`
	Kind  pattern.NotchKind `json:"kind"`
}

type markJSON struct {
	Name  string           `json:"name"`
	Kind  pattern.MarkKind `json:"kind"`
	Point point            `json:"point"`
}

type lineJSON struct {
	Name   string  `json:"name"`
	Points []point `json:"points"`
}

type seamJSON struct {
	A    string  `json:"a"`
	B    string  `json:"b"`
	Ease float64 `json:"ease_mm"`
}

type checkJSON struct {
	Name       string  `json:"name"`
	Body       float64 `json:"body_mm"`
	Alteration float64 `json:"alteration_mm,omitempty"`
	Ease       float64 `json:"ease_mm"`
	Target     float64 `json:"target_mm"`
	Drafted    float64 `json:"drafted_mm"`
	Difference float64 `json:"difference_mm"`
	Estimated  bool    `json:"estimated"`
	Spread     float64 `json:"spread_mm,omitempty"` // of an estimate
}

// point is [x, y].
type point [2]float64

func pieceOf(p finish.Piece) pieceJSON {
	return pieceJSON{
		Name:     p.Name,
		Title:    p.Title,
		Cut:      p.Cut,
		Grain:    []point{pointOf(p.Grain.P0), pointOf(p.Grain.P3)},
		SeamLine: closed(p.Outline()),
		CutLine:  closed(p.CutLine),
		Edges:    edgesOf(p),
		Darts: list(p.Darts, func(d pattern.Dart) dartJSON {
			return dartJSON{d.Name, d.Mouth, [2][]point{polyline(d.Legs[0]), polyline(d.Legs[1])}, list(d.Apexes, pointOf), d.Pressed}
		}),
		Notches: list(p.Notches, func(n pattern.Notch) notchJSON {
			j := notchJSON{Edge: n.Edge, At: round(n.At), Kind: n.Kind}
			if e, ok := p.Edge(n.Edge); ok && len(e.Path) > 0 {
				j.Point = pointOf(e.Path.At(n.At))
			}
			return j
		}),
		Marks: list(p.Marks, func(m pattern.Mark) markJSON { return markJSON{m.Name, m.Kind, pointOf(m.At)} }),
		Lines: list(p.Lines, func(l pattern.Line) lineJSON { return lineJSON{l.Name, polyline(l.Path)} }),
	}
}

func edgesOf(p finish.Piece) []edgeJSON {
	edges := make([]edgeJSON, len(p.Edges))
	for i, e := range p.Edges {
		edges[i] = edgeJSON{Name: e.Name, Role: e.Role, Points: polyline(e.Path), Length: round(e.Path.Length())}
		if i < len(p.Allowances) {
			edges[i].Allowance = round(p.Allowances[i])
		}
	}
	return edges
}

// list is f of every value, never nil: an empty list is written as [].
func list[T, R any](values []T, f func(T) R) []R {
	r := make([]R, len(values))
	for i, v := range values {
		r[i] = f(v)
	}
	return r
}

// polyline is a path within the chord error, rounding included.
func polyline(p geom.Path) []point { return list(p.Flatten(ChordError-0.001), pointOf) }

// closed is a closed path as a polyline that ends on the very point it starts from.
func closed(p geom.Path) []point {
	points := polyline(p)
	if len(points) > 0 {
		points[len(points)-1] = points[0]
	}
	return points
}

func pointOf(p geom.Point) point { return point{round(p.X), round(p.Y)} }

// round is to 0.001 mm; minus zero becomes zero.
func round(mm float64) float64 { return math.Round(mm*1000)/1000 + 0 }
