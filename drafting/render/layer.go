package render

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
)

// Layer is a kind of what is drawn of a pattern.
type Layer = drawing.Layer

// checkLayers returns a fault.List of unknown layers.
func checkLayers(named []Layer) error {
	var faults fault.List
	for i, l := range named {
		if !slices.Contains(drawing.Layers(), l) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: fmt.Sprintf("/layers/%d", i),
				Value: fault.Shorten(string(l)), Accepted: joined(drawing.Layers())})
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

// only returns figures with the parts on some layers; all where none is named.
func only(figures []drawing.Figure, layers []Layer) []drawing.Figure {
	if len(layers) == 0 {
		return figures
	}
	for i := range figures {
		figures[i].Parts = slices.DeleteFunc(figures[i].Parts,
			func(p drawing.Part) bool { return !slices.Contains(layers, p.Layer) })
	}
	return figures
}
