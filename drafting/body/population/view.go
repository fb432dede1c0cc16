package population

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// View is the model conditioned on one set of measurements. It answers many
// questions about the set, each in a few operations: the density with some
// numbers changed, the estimate of one number by the others, and the estimate
// of a measurement outside the set.
type View struct {
	given []int
	logs  []float64
	parts []part
}

// part is the view of one group.
type part struct {
	group     *Group
	precision *mat.SymDense // inverse of the scale matrix of the given measures
	residual  []float64     // precision times deviation from the mean
	distance  float64       // squared Mahalanobis distance from the mean
	constant  float64       // logarithm of the group's share and the density's factor
}

// Estimate is the estimate of a measurement's logarithm.
type Estimate struct {
	Mean float64
	SD   float64
}

// Change adds By to the logarithm of the measurement at position At of a view.
type Change struct {
	At int
	By float64
}

// View returns the view of a set of measurements, which may be empty: logs[i]
// is the logarithm of the measure with index given[i]. The logarithms must be
// finite and the indices distinct.
func (m *Model) View(given []int, logs []float64) *View {
	v := &View{given: given, logs: logs, parts: make([]part, 0, len(m.Groups))}
	for i := range m.Groups {
		if p, ok := m.Groups[i].condition(given, logs); ok {
			v.parts = append(v.parts, p)
		}
	}
	return v
}

// condition fails only if a measure is given twice: all other submatrices of
// the scale matrix are positive definite.
func (g *Group) condition(given []int, logs []float64) (part, bool) {
	k := len(given)
	p := part{group: g, residual: make([]float64, k), constant: math.Log(g.Share) + constant(g.Freedom, k)}
	if k == 0 {
		return p, true
	}
	p.precision = mat.NewSymDense(k, nil)
	p.precision.SubsetSym(g.scale, given)
	var cholesky mat.Cholesky
	if !cholesky.Factorize(p.precision) || cholesky.InverseTo(p.precision) != nil {
		return part{}, false
	}
	p.constant -= cholesky.LogDet() / 2
	deviation, residual := mat.NewVecDense(k, nil), mat.NewVecDense(k, p.residual)
	for a, i := range given {
		deviation.SetVec(a, logs[a]-g.Mean[i])
	}
	residual.MulVec(p.precision, deviation)
	p.distance = mat.Dot(residual, deviation)
	return p, true
}

// constant returns the logarithm of the t density's factor for k dimensions,
// without the determinant.
func constant(freedom float64, k int) float64 {
	top, _ := math.Lgamma((freedom + float64(k)) / 2)
	bottom, _ := math.Lgamma(freedom / 2)
	return top - bottom - float64(k)/2*math.Log(freedom*math.Pi)
}

// density returns the logarithm of the group's share times its density at a
// squared distance.
func (p *part) density(distance float64) float64 {
	k := float64(len(p.residual))
	return p.constant - (p.group.Freedom+k)/2*math.Log1p(max(distance, 0)/p.group.Freedom)
}

// Len returns the number of measurements in the view.
func (v *View) Len() int { return len(v.given) }

// Density returns the logarithm of the density of the set after changes.
func (v *View) Density(changes ...Change) float64 {
	var total logSum
	for i := range v.parts {
		p := &v.parts[i]
		d := p.distance
		for a, c := range changes {
			d += c.By * (2*p.residual[c.At] + c.By*p.precision.At(c.At, c.At))
			for _, e := range changes[:a] {
				d += 2 * c.By * e.By * p.precision.At(c.At, e.At)
			}
		}
		total.add(p.density(d))
	}
	return total.value()
}

// Without returns the logarithm of the density of the set without the
// measurement at a position.
func (v *View) Without(at int) float64 {
	var total logSum
	for i := range v.parts {
		total.add(v.parts[i].without(at))
	}
	return total.value()
}

func (p *part) without(at int) float64 {
	k, f := len(p.residual), p.group.Freedom
	return p.constant - constant(f, k) + constant(f, k-1) - math.Log(p.precision.At(at, at))/2 -
		(f+float64(k-1))/2*math.Log1p(max(p.distanceWithout(at), 0)/f)
}

// distanceWithout returns the squared distance of the set without the
// measurement at a position.
func (p *part) distanceWithout(at int) float64 {
	return p.distance - p.residual[at]*p.residual[at]/p.precision.At(at, at)
}

// Expect returns the estimate of the measurement at a position by all others.
func (v *View) Expect(at int) Estimate {
	k := len(v.given)
	var m mixture
	for i := range v.parts {
		p := &v.parts[i]
		own := p.precision.At(at, at)
		variance := widen(p.group.Freedom, k-1, max(p.distanceWithout(at), 0)) / own
		m.add(p.without(at), v.logs[at]-p.residual[at]/own, variance)
	}
	return m.estimate()
}

// Predict returns the estimate of a measure that is not in the set.
func (v *View) Predict(measure int) Estimate {
	k := len(v.given)
	var m mixture
	for i := range v.parts {
		p := &v.parts[i]
		scale := p.group.scale
		mean, variance := p.group.Mean[measure], scale.At(measure, measure)
		for a, ia := range v.given {
			covariance := scale.At(measure, ia)
			mean += covariance * p.residual[a]
			explained := 0.0
			for b, ib := range v.given {
				explained += p.precision.At(a, b) * scale.At(measure, ib)
			}
			variance -= covariance * explained
		}
		m.add(p.density(p.distance), mean, max(variance, 0)*widen(p.group.Freedom, k, p.distance))
	}
	return m.estimate()
}

// widen returns the factor from the conditional scale to the conditional
// variance, given k measurements at a squared distance: the scale of a t
// distribution grows by (f + distance) / (f + k), and its variance is
// f' / (f' - 2) times its scale with f' = f + k.
func widen(freedom float64, k int, distance float64) float64 {
	return (freedom + distance) / (freedom + float64(k) - 2)
}

// Distance returns the squared Mahalanobis distance to the most likely group,
// divided by the number of measurements: about 1 for an ordinary body.
func (v *View) Distance() float64 {
	best, distance := math.Inf(-1), 0.0
	for i := range v.parts {
		p := &v.parts[i]
		if d := p.density(p.distance); d > best && len(v.given) > 0 {
			best, distance = d, p.distance*((p.group.Freedom-2)/p.group.Freedom)/float64(len(v.given))
		}
	}
	return distance
}

// Group returns the name of the most likely group and its probability.
func (v *View) Group() (name string, probability float64) {
	best := math.Inf(-1)
	var total logSum
	for i := range v.parts {
		d := v.parts[i].density(v.parts[i].distance)
		total.add(d)
		if d > best {
			best, name = d, v.parts[i].group.Name
		}
	}
	return name, math.Exp(best - total.value())
}

// Probability returns the probability of the group with the name, 0 if the model has no such group.
func (v *View) Probability(name string) float64 {
	density := math.Inf(-1)
	var total logSum
	for i := range v.parts {
		d := v.parts[i].density(v.parts[i].distance)
		total.add(d)
		if v.parts[i].group.Name == name {
			density = d
		}
	}
	return math.Exp(density - total.value())
}

// Best returns an upper bound of the logarithm of the density after any change
// of the measurement at a position: each group counts with its own likeliest
// value.
func (v *View) Best(at int) float64 {
	var total logSum
	for i := range v.parts {
		p := &v.parts[i]
		total.add(p.density(p.distanceWithout(at)))
	}
	return total.value()
}

// DensityWidened returns the logarithm of the density of the set if every
// spread were times as large.
func (v *View) DensityWidened(times float64) float64 {
	var total logSum
	for i := range v.parts {
		p := &v.parts[i]
		total.add(p.density(p.distance/(times*times)) - float64(len(v.given))*math.Log(times))
	}
	return total.value()
}
