package geom

// Tolerances in mm, from the finest to the coarsest. Each is far below the one
// that it must not disturb.
const (
	// JoinTol is the widest gap that still counts as a join: far above the
	// rounding errors of float64 at the size of a garment, far below the accuracy
	// of any cutter.
	JoinTol = 1e-6

	// mergeTol is the distance within which two finds of one crossing are merged:
	// both lie within JoinTol of both paths.
	mergeTol = 10 * JoinTol

	// chordTol is how far a stretch of cubic may lie off its chord to be met as a
	// line: too little to move a crossing by JoinTol.
	chordTol = JoinTol / 10

	// OffsetTol is how far a parallel may stray from its distance: a tenth of the
	// width of a drawn line.
	OffsetTol = 0.02

	// FlattenTol is the chord error of curves flattened to be measured or drawn:
	// as fine as OffsetTol, so that neither hides the other.
	FlattenTol = 0.02

	// PlaceTol is the chord error of outlines flattened to find room on them:
	// well under the clearance that lettering keeps from a line.
	PlaceTol = 0.2

	// PackTol is the chord error of outlines flattened to be packed on paper:
	// well under the gap between two pieces.
	PackTol = 0.5
)

// LengthTol is the relative error of arc lengths: a tenth of the error that the
// product promises (1e-6), so that sums along a seam keep the promise too.
const LengthTol = 1e-7
