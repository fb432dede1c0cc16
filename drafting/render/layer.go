package render

import (
	"fmt"
	"slices"

	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
)

// Layer is a kind of what is drawn of a pattern.
type Layer = drawing.Layer

// checkLayers returns a fault.List of unknown layers.
func checkLayers(named []Layer) error {
	var faults fault.List
	for i, l := range named {
		faults = append(faults, fault.OneOf(fmt.Sprintf("/layers/%d", i), l, drawing.Layers()...)...)
	}
	return faults.Err()
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
