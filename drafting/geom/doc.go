// Package geom is plane geometry for pattern pieces: points, straight lines,
// cubic Béziers, and paths made of them.
//
// Lengths are millimetres and angles radians. The axes are those of paper on a
// table: +x to the right, +y down. A positive angle turns clockwise as seen. A
// closed outline runs clockwise, so that its area is positive and the cloth lies
// on its right.
//
// Everything is a value. No function changes its arguments or returns a path
// that shares segments with them.
package geom
