package render

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// Layer is a kind of what is drawn of a pattern.
type Layer string

const (
	LayerCut      Layer = "cut_line"
	LayerSeam     Layer = "seam_line" // with the darts
	LayerInternal Layer = "internal_lines"
	LayerNotches  Layer = "notches"
	LayerMarks    Layer = "marks" // drill holes and bust points
	LayerGrain    Layer = "grain" // with the fold brackets
	LayerText     Layer = "text"
	LayerGrid     Layer = "grid" // squares of gridStep under the pieces; only where it is named
)

var layers = []Layer{LayerCut, LayerSeam, LayerInternal, LayerNotches, LayerMarks, LayerGrain, LayerText, LayerGrid}

// Layers are all of them, in the order of drawing.
func Layers() []Layer { return slices.Clone(layers) }

// checkLayers returns a fault.List of the layers that are not known.
func checkLayers(only []Layer) error {
	var faults fault.List
	for i, l := range only {
		if !slices.Contains(layers, l) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: fmt.Sprintf("/layers/%d", i),
				Value: fault.Shorten(string(l)), Accepted: joined(layers)})
		}
	}
	return faults.Err()
}

// joined lists the names that are accepted.
func joined[T ~string](names []T) string {
	var b strings.Builder
	for i, n := range names {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(string(n))
	}
	return b.String()
}

// layersOf is what some layers show of a piece; all of it where none is named.
func layersOf(p finish.Piece, only []Layer) finish.Piece {
	if len(only) == 0 {
		return p
	}
	without := map[Layer]func(){
		LayerCut:      func() { p.CutLine = nil },
		LayerSeam:     func() { p.Edges, p.Darts = nil, nil },
		LayerInternal: func() { p.Lines = nil },
		LayerNotches:  func() { p.Ticks = nil },
		LayerMarks:    func() { p.Drills, p.Marks = nil, nil },
		LayerGrain:    func() { p.Grain, p.Brackets, p.Arrows = geom.Segment{}, nil, nil },
		LayerText:     func() { p.Texts = nil },
	}
	for l, take := range without {
		if !slices.Contains(only, l) {
			take()
		}
	}
	return p
}
