package render

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/sheets"
)

// DXFUnit is the unit of length of a DXF file.
type DXFUnit string

const (
	Metric  DXFUnit = "mm"   // mm
	English DXFUnit = "inch" // inches
)

// DXFFolds says how pieces that are cut on the fold are written.
type DXFFolds string

const (
	FoldsHalf     DXFFolds = "half"     // as drafted, with a mirror line along the fold
	FoldsUnfolded DXFFolds = "unfolded" // opened out, as they come off the cloth
)

// The chord errors that can be asked for, mm.
const (
	DefaultChordError = 0.1
	minChordError     = 0.01
	maxChordError     = 1.0
)

// DXFOptions say how a DXF file is written; the zero value writes mm, halves
// with mirror lines and the default chord error.
type DXFOptions struct {
	Unit       DXFUnit
	Folds      DXFFolds
	ChordError float64 // how far the straight lines of the file may lie from the curves, mm
}

// filled returns the options with the defaults filled in. The error is a
// fault.List of everything wrong with them.
func (o DXFOptions) filled() (DXFOptions, error) {
	o.Unit, o.Folds = cmp.Or(o.Unit, Metric), cmp.Or(o.Folds, FoldsHalf)
	o.ChordError = cmp.Or(o.ChordError, DefaultChordError)
	faults := slices.Concat(fault.OneOf("/unit", o.Unit, Metric, English),
		fault.OneOf("/folds", o.Folds, FoldsHalf, FoldsUnfolded))
	if !(o.ChordError >= minChordError && o.ChordError <= maxChordError) {
		faults = append(faults, fault.Fault{Code: fault.Range, Field: "/flatten", Value: fmt.Sprintf("%g mm", o.ChordError),
			Accepted: fmt.Sprintf("%g to %g mm", minChordError, maxChordError)})
	}
	return o, faults.Err()
}

// DXF writes the pattern for plotters and cutters as ASTM D6673-10 lays down,
// in DXF of release 12: one style, one block a piece and one INSERT of it, the
// pieces in a row. Outlines are polylines within the chord error of the
// curves; lengths have three decimals of a mm or five of an inch. Text is
// 7-bit. Nothing is written if an error is returned, but by w itself; the
// error is a fault.List where the options are at fault.
//
// The standard's creation time and grade rule table are left out: an order has
// a date but no time, and a pattern made to measure is not graded.
func DXF(w io.Writer, p finish.Pattern, o DXFOptions) error {
	o, err := o.filled()
	if err != nil {
		return err
	}
	pieces, err := dxfPieces(p.Lettered(), o)
	if err != nil {
		return err
	}
	return writeDXFPieces(w, p.Style, p.Label, pieces, o)
}

// writeDXFPieces writes one style with its pieces.
func writeDXFPieces(w io.Writer, style string, label finish.Label, pieces []dxfPiece, o DXFOptions) error {
	d := dxfWriter{unit: 1, decimals: 3}
	if o.Unit == English {
		d.unit, d.decimals = inch, 5
	}
	d.b = make([]byte, 0, 1<<18)
	d.header(pieces)
	d.tables()
	d.group(0, "SECTION")
	d.group(2, "BLOCKS")
	for i := range pieces {
		d.block(&pieces[i], o.ChordError)
	}
	d.group(0, "ENDSEC")
	d.group(0, "SECTION")
	d.group(2, "ENTITIES")
	d.origin = geom.Point{}
	d.style(style, label, o.Unit)
	for _, q := range pieces {
		d.entity("INSERT", dxfBoundary)
		d.group(2, q.block)
		d.point(q.insert)
	}
	d.group(0, "ENDSEC")
	d.group(0, "EOF")
	if d.broken {
		return sheets.ErrNowhere
	}
	_, err := w.Write(d.b)
	return err
}

const inch = 25.4 // mm, exactly

// dxfLayer is a layer by its number in ASTM D6673-10.
type dxfLayer int

const (
	dxfBoundary   dxfLayer = 1 // the cut line; also system text
	dxfTurn       dxfLayer = 2
	dxfCurve      dxfLayer = 3
	dxfNotch      dxfLayer = 4
	dxfMirror     dxfLayer = 6
	dxfGrain      dxfLayer = 7
	dxfInternal   dxfLayer = 8 // drawn, not cut
	dxfDrill      dxfLayer = 13
	dxfSew        dxfLayer = 14
	dxfAnnotation dxfLayer = 15
)

// dxfColours are the layers with the colours of DXF that they are shown in.
var dxfColours = []struct {
	layer  dxfLayer
	colour int
}{
	{0, 7}, {dxfBoundary, 7}, {dxfTurn, 1}, {dxfCurve, 3}, {dxfNotch, 6}, {dxfMirror, 4},
	{dxfGrain, 5}, {dxfInternal, 2}, {dxfDrill, 6}, {dxfSew, 5}, {dxfAnnotation, 8},
}

func (d *dxfWriter) header(pieces []dxfPiece) {
	all := geom.EmptyBox()
	for _, q := range pieces {
		all = all.With(q.insert).With(q.insert.Add(geom.Pt(q.size.X, -q.size.Y)))
	}
	d.group(0, "SECTION")
	d.group(2, "HEADER")
	d.group(9, "$ACADVER")
	d.group(1, "AC1009")
	d.group(9, "$EXTMIN")
	d.pointAt(10, geom.Pt(all.Min.X, all.Max.Y))
	d.group(9, "$EXTMAX")
	d.pointAt(10, geom.Pt(all.Max.X, all.Min.Y))
	d.group(0, "ENDSEC")
}

// tables declare the line type, the layers and the text style that are used.
func (d *dxfWriter) tables() {
	table := func(name string, entries int) {
		d.group(0, "TABLE")
		d.group(2, name)
		d.integer(70, entries)
	}
	d.group(0, "SECTION")
	d.group(2, "TABLES")
	table("LTYPE", 1)
	d.group(0, "LTYPE")
	d.group(2, "CONTINUOUS")
	d.integer(70, 0)
	d.group(3, "Solid line")
	d.integer(72, 65)
	d.integer(73, 0)
	d.number(40, 0)
	d.group(0, "ENDTAB")
	table("LAYER", len(dxfColours))
	for _, l := range dxfColours {
		d.group(0, "LAYER")
		d.integer(2, int(l.layer))
		d.integer(70, 0)
		d.integer(62, l.colour)
		d.group(6, "CONTINUOUS")
	}
	d.group(0, "ENDTAB")
	table("STYLE", 1)
	d.group(0, "STYLE")
	d.group(2, "STANDARD")
	d.integer(70, 0)
	d.group(40, "0.0") // no height of its own
	d.group(41, "1.0")
	d.group(50, "0.0")
	d.integer(71, 0)
	d.group(42, "1.0")
	d.group(3, "txt")
	d.group(4, "")
	d.group(0, "ENDTAB")
	d.group(0, "ENDSEC")
}
