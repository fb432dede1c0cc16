// Package pattern holds the parts of a drafted pattern as the trade names
// them: pieces, their edges, darts, notches, marks and lines, the seams that
// pair edges, and the checks read back from the outline.
//
// A piece is drawn on its seam line; allowances are added by package finish.
// Lengths are mm in the axes of package geom (y down); a piece's outline is
// walked clockwise as seen on the paper.
package pattern

import "tapeline/drafting/geom"

// Role says what is done with an edge; it decides the allowance and corner.
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

// Edge is a named part of a piece's outline. Where a dart or a meeting seam
// cuts an edge, its parts are edges side_1, side_2 of one Run side; the Run of
// a whole edge is its Name.
type Edge struct {
	Name string    `json:"name"`
	Run  string    `json:"run"`
	Role Role      `json:"role"`
	Path geom.Path `json:"path"`

	// Allowance is what the style states for this very edge, mm; nil where it
	// goes by its role.
	Allowance *float64 `json:"allowance,omitempty"`
}

// Cut says how often a piece is cut and how the cloth lies.
type Cut struct {
	Count  int  `json:"count"`
	OnFold bool `json:"on_fold"`
	Pair   bool `json:"pair"` // cut mirrored: a left and a right
}

// Piece is one part to cut, half of it where it is cut on the fold.
type Piece struct {
	Name    string       `json:"name"`
	Title   string       `json:"title"` // as lettered on the paper
	Cut     Cut          `json:"cut"`
	Edges   []Edge       `json:"edges"` // in order round the outline, clockwise
	Darts   []Dart       `json:"darts,omitempty"`
	Notches []Notch      `json:"notches,omitempty"`
	Marks   []Mark       `json:"marks,omitempty"`
	Lines   []Line       `json:"lines,omitempty"`
	Grain   geom.Segment `json:"grain"` // top to bottom of the grain line

	Cloth       string   `json:"cloth,omitempty"`       // what it is cut from where that is not the main cloth: lining, rib
	Interfacing int      `json:"interfacing,omitempty"` // how often it is cut from interfacing too
	Notes       []string `json:"notes,omitempty"`       // lettered on the piece besides how it is cut
}

// Dart is a wedge of cloth taken out by sewing its legs together. A dart with
// a Mouth opens at that edge: Legs[0] runs from the mouth's start to the apex,
// Legs[1] from its end. A dart without one lies inside the piece; its legs run
// from top to bottom, left one first.
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

// Notch marks a place on an edge that meets its mate on another.
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

type MarkKind string

const (
	MarkDrill     MarkKind = "drill"      // where a dart ends, or something is sewn on
	MarkBustPoint MarkKind = "bust_point" // for fitting, not drilled
)

// Line is an internal line, not cut: bust, waist, hip, elbow.
type Line struct {
	Name string    `json:"name"`
	Path geom.Path `json:"path"`
}

// EdgeRef names an edge of a piece.
type EdgeRef struct {
	Piece string `json:"piece"`
	Edge  string `json:"edge"`
}

// String is the reference as piece/edge.
func (r EdgeRef) String() string { return r.Piece + "/" + r.Edge }

// Seam pairs two edges that are sewn together. Ease is by how much A is
// longer than B (mm); the sewing takes it up.
type Seam struct {
	A    EdgeRef `json:"a"`
	B    EdgeRef `json:"b"`
	Ease float64 `json:"ease"`
	How  string  `json:"how,omitempty"` // what is done with the ease where it is not just eased in: gathered, pleated, stretched
}

// Check is one measure of the draft: what the body has, what an alteration and
// the ease add, what the draft should therefore have and what its finished
// outline has.
type Check struct {
	Name       string  `json:"name"`
	Body       float64 `json:"body"`
	Alteration float64 `json:"alteration,omitempty"` // after a fitting
	Ease       float64 `json:"ease"`
	Target     float64 `json:"target"`
	Drafted    float64 `json:"drafted"`
	Tolerance  float64 `json:"tolerance"`        // largest difference accepted, mm
	Estimated  bool    `json:"estimated"`        // the body value was estimated
	Spread     float64 `json:"spread,omitempty"` // of an estimate: two bodies of three are off by no more
}

// Difference is drafted less target.
func (c Check) Difference() float64 { return c.Drafted - c.Target }

// Pattern is a drafted block or garment on its seam lines.
type Pattern struct {
	Pieces   []Piece  `json:"pieces"`
	Seams    []Seam   `json:"seams"`
	Checks   []Check  `json:"checks"`
	Warnings []string `json:"warnings,omitempty"`

	// Allowances are the style's own by role or "default", mm; an order's and
	// an edge's go before them.
	Allowances map[string]float64 `json:"allowances,omitempty"`
	Making     *Making            `json:"making,omitempty"` // nil for a bare block
}

// Making is what a maker is told besides the pieces.
type Making struct {
	Fabrics  []string `json:"fabrics,omitempty"`
	Sewing   []string `json:"sewing"`            // the steps in order
	Notions  []string `json:"notions,omitempty"` // what is needed besides cloth, with sizes
	Cautions []string `json:"cautions,omitempty"`
}
