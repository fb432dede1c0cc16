package render

import (
	"math"
	"strconv"

	"tapeline/drafting/geom"
)

// dxfWriter writes groups, each a code and a value on lines of their own.
// Lengths are given in mm with y down and written in the file's unit, y up.
type dxfWriter struct {
	b        []byte
	origin   geom.Point // what becomes 0,0 in the file, mm
	unit     float64    // mm in a unit
	decimals int
	broken   bool // something is nowhere
}

func (d *dxfWriter) group(code int, value string) {
	d.b = strconv.AppendInt(d.b, int64(code), 10)
	d.b = append(d.b, '\r', '\n')
	d.b = append(d.b, value...)
	d.b = append(d.b, '\r', '\n')
}

func (d *dxfWriter) integer(code, value int) { d.group(code, strconv.Itoa(value)) }

// number writes a length in the file's unit.
func (d *dxfWriter) number(code int, mm float64) {
	var buf [32]byte
	d.group(code, string(appendFixed(buf[:0], mm/d.unit, d.decimals)))
}

// point writes the three coordinates of a place.
func (d *dxfWriter) point(p geom.Point) { d.pointAt(10, p) }

// pointAt writes the three coordinates under a code and the two 10 and 20 above.
func (d *dxfWriter) pointAt(code int, p geom.Point) {
	p = p.Sub(d.origin)
	d.broken = d.broken || !p.Finite()
	d.number(code, p.X)
	d.number(code+10, -p.Y)
	d.number(code+20, 0)
}

// entity starts an entity on a layer.
func (d *dxfWriter) entity(kind string, l dxfLayer) {
	d.group(0, kind)
	d.integer(8, int(l))
}

func (d *dxfWriter) line(l dxfLayer, s geom.Segment) {
	d.entity("LINE", l)
	d.pointAt(10, s.P0)
	d.pointAt(11, s.P3)
}

func (d *dxfWriter) dot(l dxfLayer, p geom.Point) {
	d.entity("POINT", l)
	d.point(p)
}

func (d *dxfWriter) polyline(l dxfLayer, vertices []dxfVertex, closed bool) {
	d.entity("POLYLINE", l)
	d.integer(66, 1) // vertices follow
	d.point(d.origin)
	flags := 0
	if closed {
		flags = 1
	}
	d.integer(70, flags)
	for _, v := range vertices {
		d.entity("VERTEX", l)
		d.point(v.at)
	}
	d.entity("SEQEND", l)
}

// text writes a line of text on its baseline, turned clockwise by an angle;
// the height is that of a capital, mm.
func (d *dxfWriter) text(l dxfLayer, at geom.Point, height, angle float64, s string) {
	d.entity("TEXT", l)
	d.point(at)
	d.number(40, height)
	d.group(1, s)
	if turn := -angle * 180 / math.Pi; turn != 0 {
		var buf [32]byte
		d.group(50, string(appendFixed(buf[:0], turn, 3)))
	}
}

// appendFixed writes v with the given decimals, never as minus zero.
func appendFixed(b []byte, v float64, decimals int) []byte {
	start := len(b)
	b = strconv.AppendFloat(b, v, 'f', decimals, 64)
	if b[start] != '-' {
		return b
	}
	for _, c := range b[start+1:] {
		if c != '0' && c != '.' {
			return b
		}
	}
	return append(b[:start], b[start+1:]...)
}
