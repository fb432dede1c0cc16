// Package document defines the drafted pattern as it is stored and published:
// one versioned JSON document.
//
// Lengths are mm, rounded to 0.001 mm, in the axes of package geom (y down);
// outlines run clockwise. A curve is a cubic Bézier with its control points, so
// nothing is lost but the rounding. Flatten adds polylines for readers that
// draw straight lines only.
package document

import "tapeline/drafting/pattern"

// Version is the version of the document that this package writes, and the only
// one that it reads. It changes whenever a reader of the former version would
// misread the document.
const Version = 1

const (
	unit = "mm"
	axes = "x right, y down; outlines run clockwise as seen"
)

// Document is a drafted pattern. What is stored has no Label: the label is
// lettered when a file is rendered, and a published document bears it.
type Document struct {
	Version int    `json:"version"`
	Unit    string `json:"unit"`
	Axes    string `json:"axes"`
	*Label
	Style        string        `json:"style"` // the block or garment, with its fit
	Pieces       []Piece       `json:"pieces"`
	Seams        []Seam        `json:"seams"`
	Checks       []Check       `json:"checks"`
	Warnings     []string      `json:"warnings"`
	Instructions *Instructions `json:"instructions,omitempty"` // of a garment; none of a bare block

	Measurements []Measurement `json:"measurements,omitempty"` // of the body, as the draft used them
	Alterations  []Alteration  `json:"alterations,omitempty"`  // after a fitting
}

// Label is the order's lettering on every piece.
type Label struct {
	Reference string   `json:"reference"`
	Customer  string   `json:"customer,omitempty"`
	Date      string   `json:"date,omitempty"` // ISO 8601, as given in the order
	Revision  int      `json:"revision"`
	Measures  []string `json:"measures,omitempty"`   // key measurements as lettered
	OrderUnit string   `json:"order_unit,omitempty"` // of lengths on the making sheet: cm or inch
}

// Piece is one part to cut, half of it where it is cut on the fold.
type Piece struct {
	Name        string   `json:"name"`
	Title       string   `json:"title"`
	Cut         Cut      `json:"cut"`
	Cloth       string   `json:"cloth,omitempty"`       // where it is not the main cloth
	Interfacing int      `json:"interfacing,omitempty"` // how often it is cut from interfacing too
	Notes       []string `json:"notes,omitempty"`
	Grain       []Point  `json:"grain"` // top and bottom of the grain line; empty where there is none
	Edges       []Edge   `json:"edges"` // in order round the seam line
	CutPath     Path     `json:"cut_path"`
	Darts       []Dart   `json:"darts"`
	Notches     []Notch  `json:"notches"`
	Marks       []Mark   `json:"marks"`
	Drills      []Point  `json:"drills"` // holes as drawn
	Lines       []Line   `json:"lines"`

	SeamLine []Point `json:"seam_line,omitempty"` // of Flatten; closed
	CutLine  []Point `json:"cut_line,omitempty"`  // of Flatten; closed
}

// Cut says how often a piece is cut and how the cloth lies.
type Cut struct {
	Count  int  `json:"count"`
	OnFold bool `json:"on_fold"`
	Pair   bool `json:"pair"` // a left and a right
}

// Edge is a named part of a piece's seam line. Run is the name of the whole edge
// of which it is a part; empty where it is whole.
type Edge struct {
	Name      string       `json:"name"`
	Run       string       `json:"run,omitempty"`
	Role      pattern.Role `json:"role"`
	Path      Path         `json:"path"`
	Points    []Point      `json:"points,omitempty"` // of Flatten
	Length    float64      `json:"length_mm"`
	Allowance float64      `json:"allowance_mm"`
}

// Dart is a wedge of cloth that is sewn away.
type Dart struct {
	Name      string    `json:"name"`
	Mouth     string    `json:"mouth,omitempty"` // the edge at which it opens
	Legs      [2]Path   `json:"legs"`
	LegPoints [][]Point `json:"leg_points,omitempty"` // of Flatten, one list a leg
	Apexes    []Point   `json:"apexes"`
	Pressed   int       `json:"pressed"` // index of the leg over which the cloth is folded
}

// Notch marks a position on an edge. Strokes are its lines as drawn, each from
// the seam line outwards.
type Notch struct {
	Edge    string            `json:"edge"`
	At      float64           `json:"at_mm"` // along the edge from its start
	Point   Point             `json:"point"`
	Kind    pattern.NotchKind `json:"kind"`
	Name    string            `json:"name,omitempty"` // as lettered beside it
	Strokes [][2]Point        `json:"strokes"`
}

// Mark is a point inside a piece.
type Mark struct {
	Name  string           `json:"name"`
	Kind  pattern.MarkKind `json:"kind"`
	Point Point            `json:"point"`
}

// Line is a line inside a piece that is not cut.
type Line struct {
	Name   string  `json:"name"`
	Path   Path    `json:"path"`
	Points []Point `json:"points,omitempty"` // of Flatten
}

// Seam pairs two edges, each named piece/edge, that are sewn together.
type Seam struct {
	A    string  `json:"a"`
	B    string  `json:"b"`
	Ease float64 `json:"ease_mm"`       // by which A is longer
	How  string  `json:"how,omitempty"` // what the sewing does with it where it is not just eased in
}

// Check is a measure read back from the draft.
type Check struct {
	Name       string  `json:"name"`
	Body       float64 `json:"body_mm,omitempty"` // absent where it is no measure of the body
	Alteration float64 `json:"alteration_mm,omitempty"`
	Ease       float64 `json:"ease_mm"`
	Target     float64 `json:"target_mm"`
	Drafted    float64 `json:"drafted_mm"`
	Difference float64 `json:"difference_mm"` // drafted less target
	Tolerance  float64 `json:"tolerance_mm"`
	Estimated  bool    `json:"estimated"`           // the body's measure was estimated
	Spread     float64 `json:"spread_mm,omitempty"` // about one standard deviation of the estimate
	AtLeast    bool    `json:"at_least,omitempty"`  // the target is a minimum
	Where      string  `json:"where,omitempty"`     // the place on the garment, if not plain from the name
}

// Measurement is a measurement of the body that the draft used.
type Measurement struct {
	Name      string  `json:"name"`
	Title     string  `json:"title"`
	Value     float64 `json:"value"` // mm, or degrees
	Unit      string  `json:"unit"`
	Estimated bool    `json:"estimated"`
	Spread    float64 `json:"spread,omitempty"` // about one standard deviation of an estimate
}

// Alteration is a correction after a fitting.
type Alteration struct {
	Name  string  `json:"name"`
	Side  string  `json:"side,omitempty"` // left or right; both without it
	Value float64 `json:"value_mm"`
}

// Instructions say how a garment is sewn.
type Instructions struct {
	Cloths   []string `json:"cloths,omitempty"` // that suit the garment
	Sewing   []string `json:"sewing"`
	Notions  []string `json:"notions,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
	Built    []string `json:"built,omitempty"` // how each piece was built, in the order's unit
}
