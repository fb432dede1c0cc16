// Package cutting holds the operations on pieces: cutting them apart and
// joining them, slashing, moving darts, redrawing edges, unfolding, making
// straight pieces such as bands and pockets, and pairing edges into seams.
//
// While a piece is worked on, its edges are loose: an edge that a dart cuts is
// several edges of one name, in order, and a notch's At runs along all of them,
// the dart's mouth left out. Loose makes a piece so; Assemble and Numbered name
// the parts again.
package cutting
