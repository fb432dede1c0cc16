package population

import "math"

// logSum adds numbers given by their logarithms.
type logSum struct {
	most float64 // the largest logarithm so far
	sum  float64 // of all, relative to it
}

func (s *logSum) add(log float64) {
	switch {
	case s.sum == 0:
		s.most, s.sum = log, 1
	case log <= s.most:
		s.sum += math.Exp(log - s.most)
	default:
		s.sum = s.sum*math.Exp(s.most-log) + 1
		s.most = log
	}
}

func (s *logSum) value() float64 {
	if s.sum == 0 {
		return math.Inf(-1)
	}
	return s.most + math.Log(s.sum)
}

// mixture gathers what several groups expect, each by how far it is believed.
type mixture struct {
	most                 float64
	weight, mean, square float64
	reference            float64 // the first mean, near which squares keep their precision
}

func (m *mixture) add(log, mean, variance float64) {
	if m.weight == 0 {
		m.most, m.reference = log, mean
	}
	w := 1.0
	if log <= m.most {
		w = math.Exp(log - m.most)
	} else {
		shrink := math.Exp(m.most - log)
		m.weight, m.mean, m.square = m.weight*shrink, m.mean*shrink, m.square*shrink
		m.most = log
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
