package population

import "math"

// logSum adds numbers that are given by their logarithms.
type logSum struct {
	max float64 // the largest logarithm so far
	sum float64 // of all numbers, relative to the largest
}

func (s *logSum) add(log float64) {
	switch {
	case s.sum == 0:
		s.max, s.sum = log, 1
	case log <= s.max:
		s.sum += math.Exp(log - s.max)
	default:
		s.sum = s.sum*math.Exp(s.max-log) + 1
		s.max = log
	}
}

func (s *logSum) value() float64 {
	if s.sum == 0 {
		return math.Inf(-1)
	}
	return s.max + math.Log(s.sum)
}

// mixture combines the estimates of several groups by their probabilities.
type mixture struct {
	max                  float64 // the largest logarithm of a probability so far
	weight, mean, square float64
	reference            float64 // the first mean: squares of differences from it stay precise
}

func (m *mixture) add(log, mean, variance float64) {
	if m.weight == 0 {
		m.max, m.reference = log, mean
	}
	w := 1.0
	if log <= m.max {
		w = math.Exp(log - m.max)
	} else {
		shrink := math.Exp(m.max - log)
		m.weight, m.mean, m.square = m.weight*shrink, m.mean*shrink, m.square*shrink
		m.max = log
	}
	d := mean - m.reference
	m.weight += w
	m.mean += w * d
	m.square += w * (variance + d*d)
}

func (m *mixture) estimate() Estimate {
	if m.weight == 0 {
		return Estimate{}
	}
	mean := m.mean / m.weight
	return Estimate{Mean: m.reference + mean, SD: math.Sqrt(max(m.square/m.weight-mean*mean, 0))}
}
