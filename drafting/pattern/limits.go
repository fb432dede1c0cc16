package pattern

// MaxAllowance is the largest allowance of an edge, mm.
const MaxAllowance = 150.0
