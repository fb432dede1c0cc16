package population

import "math"

// invert replaces the symmetric positive definite n by n matrix a (row by
// row) by its inverse and returns the logarithm of its determinant. It is
// Cholesky's: a = L L', so a⁻¹ = L⁻¹' L⁻¹. Work has room for n numbers. Not ok
// where a is not positive definite to the precision of the arithmetic; a is
// then spoilt.
func invert(a []float64, n int, work []float64) (logDet float64, ok bool) {
	for i := range n {
		row := a[i*n : i*n+n]
		for j := range i + 1 {
			other := a[j*n : j*n+n]
			s := row[j]
			for k := range j {
				s -= row[k] * other[k]
			}
			if j < i {
				row[j] = s / other[j]
				continue
			}
			if !(s > 1e-12*row[i]) {
				return 0, false
			}
			row[i] = math.Sqrt(s)
			logDet += 2 * math.Log(row[i])
		}
	}
	// L⁻¹ in place of L: column by column of the lower triangle.
	for j := range n {
		a[j*n+j] = 1 / a[j*n+j]
		for i := j + 1; i < n; i++ {
			row := a[i*n : i*n+n]
			s := 0.0
			for k := j; k < i; k++ {
				s -= row[k] * a[k*n+j]
			}
			a[i*n+j] = s / row[i]
		}
	}
	// L⁻¹' L⁻¹ from the first column on; a column is no longer needed once used.
	for j := range n {
		for i := j; i < n; i++ {
			s := 0.0
			for k := i; k < n; k++ {
				s += a[k*n+i] * a[k*n+j]
			}
			work[i] = s
		}
		for i := j; i < n; i++ {
			a[i*n+j] = work[i]
		}
	}
	for i := range n {
		for j := range i {
			a[j*n+i] = a[i*n+j]
		}
	}
	return logDet, true
}
