package geom

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
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
	var v [9]float64
	n, err := numbers(b, v[:])
	if err != nil {
		return err
	}
	switch n {
	case 4:
		*s = Line(Pt(v[0], v[1]), Pt(v[2], v[3]))
	case 8:
		*s = Cubic(Pt(v[0], v[1]), Pt(v[2], v[3]), Pt(v[4], v[5]), Pt(v[6], v[7]))
	default:
		return fmt.Errorf("segment of %d numbers: 4 for a line or 8 for a cubic", n)
	}
	return nil
}

// numbers reads an array of numbers into a slice, as many as it holds, and tells
// how many there are, that it doesn't hold counted as one. Nearly all of a stored
// pattern are such arrays.
func numbers(b []byte, into []float64) (n int, err error) {
	inner, ok := bytes.CutPrefix(b, []byte("["))
	inner, closed := bytes.CutSuffix(inner, []byte("]"))
	for more := true; ok && closed && more && n < len(into); n++ {
		var item []byte
		item, inner, more = bytes.Cut(inner, []byte(","))
		if into[n], err = strconv.ParseFloat(string(bytes.TrimSpace(item)), 64); err != nil {
			ok = false
		}
	}
	if ok && closed {
		return n, nil
	}
	var any []float64 // odd, or wrong: as JSON has it
	if err := json.Unmarshal(b, &any); err != nil {
		return 0, err
	}
	return copy(into, any), nil
}
