package document

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"tapeline/drafting/geom"
)

// Point is [x, y], mm.
type Point [2]float64

// Path is an unbroken line. In JSON it is a list that starts with a point
// [x, y]; each [x, y] after it is a straight line to that point, and each
// [x1, y1, x2, y2, x, y] a cubic Bézier with two control points.
type Path []geom.Segment

// Round rounds a length to 0.001 mm; minus zero becomes zero.
func Round(mm float64) float64 { return math.Round(mm*1000)/1000 + 0 }

func rounded(p geom.Point) geom.Point { return geom.Pt(Round(p.X), Round(p.Y)) }

// NewPoint rounds a point.
func NewPoint(p geom.Point) Point { return Point{Round(p.X), Round(p.Y)} }

func (p Point) geom() geom.Point { return geom.Pt(p[0], p[1]) }

// pathFrom rounds a path that starts at a point, which is rounded already.
// Every segment starts where the one before it ends: points that differ by
// noise would otherwise round apart. Segments that vanish are left out.
func pathFrom(start geom.Point, p geom.Path) Path {
	q := make(Path, 0, len(p))
	for _, s := range p {
		end := rounded(s.P3)
		if s.Straight {
			if end == start {
				continue
			}
			q = append(q, geom.Line(start, end))
		} else {
			q = append(q, geom.Cubic(start, rounded(s.P1), rounded(s.P2), end))
		}
		start = end
	}
	if len(q) == 0 && len(p) > 0 {
		q = append(q, geom.Line(start, start))
	}
	return q
}

// NewPath rounds a path. A closed path still ends exactly where it starts.
func NewPath(p geom.Path) Path {
	q := pathFrom(rounded(p.Start()), p)
	if p.Closed() {
		q.endAt(q[0].P0)
	}
	return q
}

// endAt moves the end of a path.
func (p Path) endAt(end geom.Point) {
	if s := &p[len(p)-1]; s.Straight {
		*s = geom.Line(s.P0, end)
	} else {
		s.P3 = end
	}
}

func (p Path) end() geom.Point { return p[len(p)-1].P3 }

func (p Path) geom() geom.Path {
	if len(p) == 0 {
		return nil
	}
	return geom.Path(p)
}

// MarshalJSON writes the path as described at Path.
func (p Path) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 16+48*len(p))
	b = append(b, '[')
	for i, s := range p {
		if i == 0 {
			b = appendPoints(b, s.P0)
		}
		b = append(b, ',')
		if s.Straight {
			b = appendPoints(b, s.P3)
		} else {
			b = appendPoints(b, s.P1, s.P2, s.P3)
		}
		if !(s.P0.Finite() && s.P1.Finite() && s.P2.Finite() && s.P3.Finite()) {
			return nil, fmt.Errorf("segment %d of a path is not finite", i)
		}
	}
	return append(b, ']'), nil
}

func appendPoints(b []byte, points ...geom.Point) []byte {
	for i, p := range points {
		b = append(b, "[,"[min(i, 1)])
		b = strconv.AppendFloat(b, p.X, 'f', -1, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, p.Y, 'f', -1, 64)
	}
	return append(b, ']')
}

// UnmarshalJSON reads what MarshalJSON writes. Nearly all of a document are
// paths, so that it does without reflection.
func (p *Path) UnmarshalJSON(data []byte) error {
	inner := bytes.TrimSpace(data)
	if string(inner) == "null" {
		return nil
	}
	if len(inner) < 2 || inner[0] != '[' {
		return fmt.Errorf("a path is a list of points, not %.20s", data)
	}
	inner = bytes.TrimSpace(inner[1 : len(inner)-1])
	*p = (*p)[:0]
	var at geom.Point
	for i := 0; len(inner) > 0; i++ {
		step, rest, found := bytes.Cut(inner, []byte("]"))
		step, opened := bytes.CutPrefix(bytes.TrimSpace(step), []byte("["))
		if !found || !opened {
			return fmt.Errorf("item %d of a path is not a list of numbers", i)
		}
		var v [6]float64
		n, err := numbers(step, &v)
		if err != nil {
			return fmt.Errorf("item %d of a path: %w", i, err)
		}
		switch {
		case n == 2 && i == 0:
			at = geom.Pt(v[0], v[1])
		case n == 2:
			*p = append(*p, geom.Line(at, geom.Pt(v[0], v[1])))
		case n == 6 && i > 0:
			*p = append(*p, geom.Cubic(at, geom.Pt(v[0], v[1]), geom.Pt(v[2], v[3]), geom.Pt(v[4], v[5])))
		default:
			return fmt.Errorf("item %d of a path has %d numbers; the first has 2, others 2 or 6", i, n)
		}
		if len(*p) > 0 {
			at = p.end()
		}
		inner = bytes.TrimSpace(rest)
		inner = bytes.TrimSpace(bytes.TrimPrefix(inner, []byte(",")))
	}
	return nil
}

// numbers reads numbers separated by commas and returns how many there are.
func numbers(list []byte, into *[6]float64) (n int, err error) {
	for more := true; more; n++ {
		var item []byte
		item, list, more = bytes.Cut(list, []byte(","))
		if n == len(into) {
			return n + 1, nil
		}
		if into[n], err = strconv.ParseFloat(string(bytes.TrimSpace(item)), 64); err != nil {
			return n, fmt.Errorf("%.20q is not a number", item)
		}
	}
	return n, nil
}
