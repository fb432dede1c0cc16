// Package pattern is the model of a drafted pattern in the trade's terms:
// pieces, their edges, darts, notches, marks and lines, the seams that pair
// edges, and the checks read back from the outlines. Package cutting holds the
// operations on pieces.
//
// A piece is drawn on its seam line; package finish adds allowances. Lengths
// are mm in the axes of package geom (y down). An outline runs clockwise as seen
// on the paper.
package pattern

import (
	"fmt"
	"math"
	"strings"

	"tapeline/drafting/geom"
)

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
	Name string
	Run  string
	Role Role
	Path geom.Path

	// Allowance is the style's allowance for this edge, mm; nil to use that of
	// its role.
	Allowance *float64
}

// Cut says how many times a piece is cut and how the cloth lies.
type Cut struct {
	Count  int
	OnFold bool
	Pair   bool // cut mirrored: a left and a right
}

// String says how the piece is cut, as it is lettered on it: "Cut 2 (1 pair)".
func (c Cut) String() string {
	s := fmt.Sprintf("Cut %d", c.Count)
	switch {
	case c.OnFold:
		s += " on fold"
	case c.Pair && c.Count == 2:
		s += " (1 pair)"
	case c.Pair && c.Count > 2:
		s += fmt.Sprintf(" (%d pairs)", c.Count/2)
	}
	return s
}

// Piece is a part of the garment to cut. A piece cut on the fold is drawn as
// half.
type Piece struct {
	Name    string
	Title   string // as lettered on the piece
	Cut     Cut
	Edges   []Edge // in order round the outline, clockwise
	Darts   []Dart
	Notches []Notch
	Marks   []Mark
	Lines   []Line
	Grain   geom.Segment // top to bottom of the grain line

	Cloth       string   // the cloth it is cut from: "" for the main cloth, otherwise lining, rib
	Interfacing int      // how many times it is also cut from interfacing
	Notes       []string // lettered on the piece after the cutting instruction
}

// Dart is a wedge of cloth taken out by sewing its legs together. A dart with
// a Mouth opens at that edge: Legs[0] runs from the mouth's start to the apex,
// Legs[1] from its end. A dart without a mouth lies inside the piece; its legs
// run from top to bottom, the left one first. An empty dart takes up no cloth:
// its legs are one line from the outline to the apex. A pleat is a dart whose
// legs are parallel, without an apex: it is folded and caught in the seam only.
type Dart struct {
	Name    string
	Mouth   string
	Legs    [2]geom.Path
	Apexes  []geom.Point // the sewn ends inside the piece
	Pressed int          // index of the leg over which the cloth is folded
}

// NotchKind is the trade's single notch (front) or double (back).
type NotchKind string

const (
	NotchSingle NotchKind = "single"
	NotchDouble NotchKind = "double"
)

// Notch marks a position on an edge that meets its mate on another edge.
type Notch struct {
	Edge string
	At   float64 // mm along the edge from its start
	Kind NotchKind
	Name string // what it marks, as lettered beside it: "zip end"; "" where it only meets its mate
}

// Mark is a point inside a piece, such as a drill hole near a dart's apex.
type Mark struct {
	Name string
	Kind MarkKind
	At   geom.Point
}

// MarkKind says what a mark is for.
type MarkKind string

const (
	MarkDrill     MarkKind = "drill"      // the point of a dart, or where something is sewn on
	MarkBustPoint MarkKind = "bust_point" // for fitting, not drilled
)

// Line is a line inside the piece that is not cut: bust, waist, hip, elbow.
type Line struct {
	Name string
	Path geom.Path
}

// EdgeRef identifies an edge of a piece.
type EdgeRef struct {
	Piece string
	Edge  string
}

// String returns the reference as piece/edge.
func (r EdgeRef) String() string { return r.Piece + "/" + r.Edge }

// Seam pairs two edges that are sewn together. Ease is the length of A less
// that of B, mm; the sewing takes it up.
type Seam struct {
	A    EdgeRef
	B    EdgeRef
	Ease float64
	How  string // gathered, pleated or stretched; "" if the ease is eased in
}

// Check is a measure read back from a draft, mm: the body's measure, the
// alteration and ease added to it, the target that follows and the measure of
// the drafted outline.
type Check struct {
	Name       string
	Body       float64
	Alteration float64 // after a fitting
	Ease       float64
	Target     float64
	Drafted    float64
	Tolerance  float64 // largest accepted difference
	Estimated  bool    // the body's measure was estimated
	Spread     float64 // about one standard deviation of an estimate
	AtLeast    bool    // the target is a minimum
	Where      string  // the place on the garment where it was read, if not plain from the name
}

// OfSeam reports whether the check compares two edges that are sewn together, of which
// nothing is measured on the garment.
func (c Check) OfSeam() bool { return strings.HasPrefix(c.Name, "seam ") }

// Difference returns the drafted measure less the target, mm; 0 if the target
// is a minimum and is reached.
func (c Check) Difference() float64 {
	if c.AtLeast {
		return min(0, c.Drafted-c.Target)
	}
	return c.Drafted - c.Target
}

// Finding returns what the check found, for a person: "arm above sleeve/hem, 120
// mm above the opening: 317 mm, must be at least 372 mm, short by 55 mm".
func (c Check) Finding() string {
	s := c.Name
	if c.Where != "" {
		s += ", " + c.Where
	}
	if c.AtLeast {
		return fmt.Sprintf("%s: %.0f mm, must be at least %.0f mm, short by %.0f mm", s, c.Drafted, c.Target,
			max(0, c.Target-c.Drafted))
	}
	return fmt.Sprintf("%s: %.1f mm, must be %.1f mm, off by %.1f mm", s, c.Drafted, c.Target, c.Difference())
}

// Holds reports whether the drafted measure is within the tolerance.
func (c Check) Holds() bool { return math.Abs(c.Difference()) <= c.Tolerance }

// Measurement is a measurement of the body as a draft used it.
type Measurement struct {
	Name      string
	Title     string  // as lettered
	Value     float64 // mm, or degrees
	Degrees   bool
	Estimated bool
	Spread    float64 // about one standard deviation of an estimate
}

// Alteration is a correction after a fitting.
type Alteration struct {
	Name  string
	Side  string  // left or right, "" for both
	Value float64 // mm
}

// Pattern is a drafted block or garment on its seam lines.
type Pattern struct {
	Pieces   []Piece
	Seams    []Seam
	Checks   []Check
	Warnings []string

	// Allowances are the style's allowances by role or "default", mm. An order's
	// and an edge's take precedence.
	Allowances   map[string]float64
	Instructions *Instructions // nil for a block
}

// Instructions are the steps, supplies and cautions for the maker of a garment.
type Instructions struct {
	Cloths   []string // that suit the garment
	Sewing   []string // the steps in order
	Notions  []string // supplies besides cloth, with sizes
	Cautions []string
	Built    []string // how each piece was built, in the order's unit; nil if the order does not ask for it
}

// ChainLength returns the length of a chain of edges, mm.
func ChainLength(pieces []Piece, chain []EdgeRef) float64 {
	var sum float64
	for _, r := range chain {
		for _, p := range pieces {
			if p.Name == r.Piece {
				sum += p.RunLength(r.Edge)
			}
		}
	}
	return sum
}
