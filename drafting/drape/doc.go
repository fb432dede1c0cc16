// Package drape lays cloth on a body and lets it settle.
//
// Cloth is a mesh of triangles, each with its flat shape in the directions of
// the grain. It is in equilibrium where its weight, its tension, its stiffness
// in bending and the body's support balance at every point. [Settle] finds that
// state by dynamic relaxation: the points move under the forces with masses that
// suit the stiffness about them, damped so that they come to rest soon (Underwood
// 1983; Barnes 1999, Form finding and analysis of tension structures by dynamic
// relaxation). The result is the same on every machine, with any number of
// cores.
//
// Lengths are in millimetres, forces in millinewtons, so that tensions are in
// newtons per metre. The y axis points up.
package drape
