package geom

import (
	"encoding/json"
	"fmt"
)

// MarshalJSON writes a point as [x, y], mm, exactly.
func (p Point) MarshalJSON() ([]byte, error) { return json.Marshal([2]float64{p.X, p.Y}) }

// UnmarshalJSON reads [x, y].
func (p *Point) UnmarshalJSON(b []byte) error {
	var v [2]float64
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	*p = Point{v[0], v[1]}
	return nil
}

// MarshalJSON writes a straight segment as its two ends [x0, y0, x1, y1] and a
// cubic as its four points [x0, y0, … x3, y3].
func (s Segment) MarshalJSON() ([]byte, error) {
	if s.Straight {
		return json.Marshal([4]float64{s.P0.X, s.P0.Y, s.P3.X, s.P3.Y})
	}
	return json.Marshal([8]float64{s.P0.X, s.P0.Y, s.P1.X, s.P1.Y, s.P2.X, s.P2.Y, s.P3.X, s.P3.Y})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (s *Segment) UnmarshalJSON(b []byte) error {
	var v []float64
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	switch len(v) {
	case 4:
		*s = Line(Pt(v[0], v[1]), Pt(v[2], v[3]))
	case 8:
		*s = Cubic(Pt(v[0], v[1]), Pt(v[2], v[3]), Pt(v[4], v[5]), Pt(v[6], v[7]))
	default:
		return fmt.Errorf("segment of %d numbers: 4 for a line or 8 for a cubic", len(v))
	}
	return nil
}
