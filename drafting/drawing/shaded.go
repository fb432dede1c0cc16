package drawing

import (
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// A Shaded is a picture of coloured triangles, each drawn over those before it,
// with texts on top. Lengths are in mm.
type Shaded struct {
	Width, Height float64
	Facets        []Facet
	Texts         []finish.Text
	Title         string
}

// A Facet is a triangle of one colour.
type Facet struct {
	At    [3]geom.Point
	Color [3]uint8 // red, green, blue
}
