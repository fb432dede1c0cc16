package pattern

// Tolerances of a pattern, mm.
const (
	// SeamTol is the largest difference between the two sides of a seam and what
	// is stated: less than a sewer can feel.
	SeamTol = 0.5

	// NotchTol is how far apart two notches may lie along seams sewn without ease.
	NotchTol = 1.0

	// FoldTol is how far an edge on the fold may stray from a straight line.
	FoldTol = 0.01

	// MinPart is the shortest part of an edge: a shorter one can't be sewn.
	MinPart = 0.6

	// MaxReach is the largest coordinate: a garment is far smaller.
	MaxReach = 2e4
)
