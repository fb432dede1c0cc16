// Package pattern is the model of a drafted pattern in the trade's terms:
// pieces, their edges, darts, notches, marks and lines, the seams that pair
// edges, and the checks read back from the outlines. Package cutting holds the
// operations on pieces.
//
// A piece is drawn on its seam line; package finish adds allowances. Lengths
// are mm in the axes of package geom (y down). An outline runs clockwise as seen
// on the paper.
package pattern

import "tapeline/drafting/geom"

// Role says how an edge is sewn or finished; it decides the allowance and the
// corners.
type Role string

const (
	RoleSeam      Role = "seam"       // sewn to another edge
	RoleFold      Role = "fold"       // laid on the fold of the cloth: no allowance
	RoleHem       Role = "hem"        // turned up
	RoleNeckline  Role = "neckline"   // bound or faced
	RoleArmhole   Role = "armhole"    // takes the sleeve, or is bound or faced
	RoleCap       Role = "cap"        // the sleeve's edge that meets the armhole
	RoleEdge      Role = "edge"       // finished by itself: neatened, turned in or bound
	RoleDartMouth Role = "dart_mouth" // the open side of a dart
)

// Edge is a named part of a piece's outline. An edge that a dart or a meeting
// seam cuts is several edges, such as side_1 and side_2 of the Run side; the Run
// of an uncut edge is its Name.
type Edge struct {
	Name string    `json:"name"`
	Run  string    `json:"run"`
	Role Role      `json:"role"`
	Path geom.Path `json:"path"`

	// Allowance is the style's allowance for this edge, mm; nil to use that of
	// its role.
	Allowance *float64 `json:"allowance,omitempty"`
}

// Cut says how many times a piece is cut and how the cloth lies.
type Cut struct {
	Count  int  `json:"count"`
	OnFold bool `json:"on_fold"`
	Pair   bool `json:"pair"` // cut mirrored: a left and a right
}

// Piece is a part of the garment to cut. A piece cut on the fold is drawn as
// half.
type Piece struct {
	Name    string       `json:"name"`
	Title   string       `json:"title"` // as lettered on the piece
	Cut     Cut          `json:"cut"`
	Edges   []Edge       `json:"edges"` // in order round the outline, clockwise
	Darts   []Dart       `json:"darts,omitempty"`
	Notches []Notch      `json:"notches,omitempty"`
	Marks   []Mark       `json:"marks,omitempty"`
	Lines   []Line       `json:"lines,omitempty"`
	Grain   geom.Segment `json:"grain"` // top to bottom of the grain line

	Cloth       string   `json:"cloth,omitempty"`       // the cloth it is cut from: "" for the main cloth, else lining, rib
	Interfacing int      `json:"interfacing,omitempty"` // how many times it is also cut from interfacing
	Notes       []string `json:"notes,omitempty"`       // lettered on the piece after the cutting instruction
}

// Dart is a wedge of cloth taken out by sewing its legs together. A dart with
// a Mouth opens at that edge: Legs[0] runs from the mouth's start to the apex,
// Legs[1] from its end. A dart without a mouth lies inside the piece; its legs
// run from top to bottom, the left one first.
type Dart struct {
	Name    string       `json:"name"`
	Mouth   string       `json:"mouth,omitempty"`
	Legs    [2]geom.Path `json:"legs"`
	Apexes  []geom.Point `json:"apexes"`  // the sewn ends inside the piece
	Pressed int          `json:"pressed"` // index of the leg over which the cloth is folded
}

// NotchKind is the trade's single notch (front) or double (back).
type NotchKind string

const (
	NotchSingle NotchKind = "single"
	NotchDouble NotchKind = "double"
)

// Notch marks a position on an edge that meets its mate on another edge.
type Notch struct {
	Edge string    `json:"edge"`
	At   float64   `json:"at"` // mm along the edge from its start
	Kind NotchKind `json:"kind"`
}

// Mark is a point inside a piece, such as a drill hole near a dart's apex.
type Mark struct {
	Name string     `json:"name"`
	Kind MarkKind   `json:"kind"`
	At   geom.Point `json:"at"`
}

// MarkKind says what a mark is for.
type MarkKind string

const (
	MarkDrill     MarkKind = "drill"      // the point of a dart, or where something is sewn on
	MarkBustPoint MarkKind = "bust_point" // for fitting, not drilled
)

// Line is a line inside the piece that is not cut: bust, waist, hip, elbow.
type Line struct {
	Name string    `json:"name"`
	Path geom.Path `json:"path"`
}

// EdgeRef identifies an edge of a piece.
type EdgeRef struct {
	Piece string `json:"piece"`
	Edge  string `json:"edge"`
}

// String returns the reference as piece/edge.
func (r EdgeRef) String() string { return r.Piece + "/" + r.Edge }

// Seam pairs two edges that are sewn together. Ease is the length of A less
// that of B, mm; the sewing takes it up.
type Seam struct {
	A    EdgeRef `json:"a"`
	B    EdgeRef `json:"b"`
	Ease float64 `json:"ease"`
	How  string  `json:"how,omitempty"` // gathered, pleated or stretched; "" if the ease is eased in
}

// Check is a measure read back from a draft, mm: the body's measure, the
// alteration and ease added to it, the target that follows and the measure of
// the drafted outline.
type Check struct {
	Name       string  `json:"name"`
	Body       float64 `json:"body"`
	Alteration float64 `json:"alteration,omitempty"` // after a fitting
	Ease       float64 `json:"ease"`
	Target     float64 `json:"target"`
	Drafted    float64 `json:"drafted"`
	Tolerance  float64 `json:"tolerance"`        // largest accepted difference
	Estimated  bool    `json:"estimated"`        // the body's measure was estimated
	Spread     float64 `json:"spread,omitempty"` // about one standard deviation of an estimate
}

// Difference returns the drafted measure less the target, mm.
func (c Check) Difference() float64 { return c.Drafted - c.Target }

// Pattern is a drafted block or garment on its seam lines.
type Pattern struct {
	Pieces   []Piece  `json:"pieces"`
	Seams    []Seam   `json:"seams"`
	Checks   []Check  `json:"checks"`
	Warnings []string `json:"warnings,omitempty"`

	// Allowances are the style's allowances by role or "default", mm. An order's
	// and an edge's take precedence.
	Allowances   map[string]float64 `json:"allowances,omitempty"`
	Instructions *Instructions      `json:"making,omitempty"` // nil for a block
}

// Instructions are the steps, supplies and cautions for the maker of a garment.
type Instructions struct {
	Cloths   []string `json:"fabrics,omitempty"` // that suit the garment
	Sewing   []string `json:"sewing"`            // the steps in order
	Notions  []string `json:"notions,omitempty"` // supplies besides cloth, with sizes
	Cautions []string `json:"cautions,omitempty"`
}
