package service

// Optional returns a pointer to v, or nil if v is the zero value: a column of
// the database that may be NULL.
func Optional[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}

// OrZero returns what p points to, or the zero value if p is nil.
func OrZero[T any](p *T) T {
	if p == nil {
		var zero T
		return zero
	}
	return *p
}
