package population

import "math"

// View is the model's opinion of one set of measurements. It is made once a
// set and then answers many questions about it, each in a few operations: what
// the set would be worth with one number changed, what one number should be
// by the others, what a measurement that is not in the set should be.
type View struct {
	given []int
	logs  []float64
	parts []part
}

// part is the opinion of one group.
type part struct {
	group     *Group
	measures  int       // that the group has, given or not
	precision []float64 // inverse of the scale matrix of what is given
	residual  []float64 // precision times deviation from the mean
	distance  float64   // squared, of Mahalanobis
	constant  float64   // of the density and the group's share, logarithm
}

// Estimate is what a measurement's logarithm should be.
type Estimate struct {
	Mean float64
	SD   float64
}

// Change moves the logarithm of the measurement at a position in the view.
type Change struct {
	At int
	By float64
}

// View looks at a set: logs[i] is the logarithm of the measure given[i]. Every
// log must be finite and no measure be given twice. A set may be empty.
func (m *Model) View(given []int, logs []float64) *View {
	k := len(given)
	v := &View{given: given, logs: logs, parts: make([]part, 0, len(m.Groups))}
	room := make([]float64, len(m.Groups)*(k*k+k)+2*k) // one piece of memory for all
	take := func(n int) []float64 {
		s := room[:n:n]
		room = room[n:]
		return s
	}
	deviation, work := take(k), take(k)
	for i := range m.Groups {
		g := &m.Groups[i]
		p := part{group: g, measures: len(m.Measures), precision: take(k * k), residual: take(k)}
		for a, ia := range given {
			deviation[a] = logs[a] - g.Mean[ia]
			for b, ib := range given {
				p.precision[a*k+b] = g.scale[ia*p.measures+ib]
			}
		}
		logDet, ok := invert(p.precision, k, work)
		if !ok {
			// Every subset of a positive definite matrix is one. Only a
			// measure given twice comes here.
			continue
		}
		p.constant = math.Log(g.Share) + constant(g.Freedom, k) - logDet/2
		for a := range k {
			for b := range k {
				p.residual[a] += p.precision[a*k+b] * deviation[b]
			}
			p.distance += p.residual[a] * deviation[a]
		}
		v.parts = append(v.parts, p)
	}
	return v
}

// constant is the logarithm of the t density's factor for k dimensions, but
// for the determinant.
func constant(freedom float64, k int) float64 {
	top, _ := math.Lgamma((freedom + float64(k)) / 2)
	bottom, _ := math.Lgamma(freedom / 2)
	return top - bottom - float64(k)/2*math.Log(freedom*math.Pi)
}

// density is the logarithm of the group's share times its density at a
// squared distance.
func (p *part) density(distance float64) float64 {
	k := float64(len(p.residual))
	return p.constant - (p.group.Freedom+k)/2*math.Log1p(max(distance, 0)/p.group.Freedom)
}

// Len is the number of measurements in the view.
func (v *View) Len() int { return len(v.given) }

// Density is the logarithm of the density of the set with changes made.
func (v *View) Density(changes ...Change) float64 {
	k := len(v.given)
	var total logSum
	for i := range v.parts {
		p := &v.parts[i]
		d := p.distance
		for a, c := range changes {
			d += c.By * (2*p.residual[c.At] + c.By*p.precision[c.At*k+c.At])
			for _, e := range changes[:a] {
				d += 2 * c.By * e.By * p.precision[c.At*k+e.At]
			}
		}
		total.add(p.density(d))
	}
	return total.value()
}

// Without is the logarithm of the density of the set without the measurement
// at a position.
func (v *View) Without(at int) float64 {
	var total logSum
	for i := range v.parts {
		total.add(v.parts[i].without(at))
	}
	return total.value()
}

func (p *part) without(at int) float64 {
	k := len(p.residual)
	f := p.group.Freedom
	own := p.precision[at*k+at]
	rest := max(p.distance-p.residual[at]*p.residual[at]/own, 0)
	return p.constant - constant(f, k) + constant(f, k-1) - math.Log(own)/2 - (f+float64(k-1))/2*math.Log1p(rest/f)
}

// Expect is what the measurement at a position should be by all the others.
func (v *View) Expect(at int) Estimate {
	k := len(v.given)
	var m mixture
	for i := range v.parts {
		p := &v.parts[i]
		own := p.precision[at*k+at]
		rest := max(p.distance-p.residual[at]*p.residual[at]/own, 0)
		m.add(p.without(at), v.logs[at]-p.residual[at]/own, widened(p.group.Freedom, k-1, rest)/own)
	}
	return m.estimate()
}

// Predict is what a measure that is not given should be by all that are.
func (v *View) Predict(measure int) Estimate {
	k := len(v.given)
	var m mixture
	for i := range v.parts {
		p := &v.parts[i]
		row := p.group.scale[measure*p.measures : (measure+1)*p.measures]
		mean, variance := p.group.Mean[measure], row[measure]
		for a, ia := range v.given {
			mean += row[ia] * p.residual[a]
			explained := 0.0
			for b, ib := range v.given {
				explained += p.precision[a*k+b] * row[ib]
			}
			variance -= row[ia] * explained
		}
		m.add(p.density(p.distance), mean, max(variance, 0)*widened(p.group.Freedom, k, p.distance))
	}
	return m.estimate()
}

// widened turns a conditional scale into a conditional variance where the k
// measurements conditioned on lie at a squared distance: a t distribution's
// scale grows by (f + distance) / (f + k), and its variance is f' / (f' - 2)
// times its scale with f' = f + k.
func widened(freedom float64, k int, distance float64) float64 {
	return (freedom + distance) / (freedom + float64(k) - 2)
}

// Distance is the squared distance of Mahalanobis to the group that explains
// the set best, over the number of measurements: 1 for the ordinary body.
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

// Group is the name of the group that explains the set best, and its share of
// the belief.
func (v *View) Group() (name string, belief float64) {
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

// Best is the logarithm of the density of the set with the measurement at a
// position changed to the likeliest value that any group has for it: an upper
// bound of what any change of it can reach.
func (v *View) Best(at int) float64 {
	k := len(v.given)
	var total logSum
	for i := range v.parts {
		p := &v.parts[i]
		total.add(p.density(p.distance - p.residual[at]*p.residual[at]/p.precision[at*k+at]))
	}
	return total.value()
}

// Widened is the logarithm of the density of the set were every spread so many
// times as large.
func (v *View) Widened(times float64) float64 {
	var total logSum
	for i := range v.parts {
		p := &v.parts[i]
		total.add(p.density(p.distance/(times*times)) - float64(len(v.given))*math.Log(times))
	}
	return total.value()
}
