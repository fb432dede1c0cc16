// Package geom is plane geometry for pattern pieces: points, straight lines,
// cubic Béziers, and paths made of them.
//
// Lengths are millimetres and angles radians. The axes are those of the paper
// on the table: +x to the right, +y down. A positive angle turns clockwise as
// seen; a closed outline is walked clockwise, so that its area is positive and
// the cloth lies on the right hand.
//
// Everything is a value. No function changes its argument; a Path shares its
// segments with nothing that can be written to.
package geom
