package fitting

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"

	"tapeline/drafting/drape"
)

// evened is how far strain is evened, in triangles of any size: the standard deviation in each
// direction of where the cloth lies whose mean is read, mm. It is that of a disc of 42 mm. A cutter
// sees cloth pull over such a length; strain leaps from triangle to triangle, the more the smaller
// they are.
const evened = 21.0

// largest returns at each point the larger of the strains along warp and weft, evened before: of
// what leaps, the larger would be too large.
func (g *garment) largest() []float64 {
	strain := g.strain(func(s drape.Stretch) float64 { return s.Warp })
	for i, weft := range g.strain(func(s drape.Stretch) float64 { return s.Weft }) {
		strain[i] = max(strain[i], weft)
	}
	return strain
}

// strain returns the evened strain at each point. read says what is read of a triangle.
func (g *garment) strain(read func(s drape.Stretch) float64) []float64 {
	values := g.atPoints(func(t int) float64 {
		s := g.mesh.Stretch(t)
		if g.mesh.Triangles[t].Fullness > 1 {
			return 0 // gathers open before they pull
		}
		if g.panels[g.mesh.Triangles[t].Piece].jersey() {
			return g.jersey * s.Weft // so that shell and band are even where they meet
		}
		if g.banded {
			return s.Weft // how the band sits decides the other
		}
		return read(s)
	})
	// A mean over triangles about points, or over points of triangles, evens by size²/6, squared.
	// The first and the last, when a zone is read, are one round.
	for range int(math.Round(evened*evened/(g.size*g.size/3))) - 1 {
		last := values
		values = g.atPoints(func(t int) float64 { return g.ofPoints(t, last) })
	}
	return values
}

// atPoints returns the mean at each point of the values of the triangles about it, by area.
func (g *garment) atPoints(of func(t int) float64) []float64 {
	sum, weight := make([]float64, len(g.mesh.Points)), make([]float64, len(g.mesh.Points))
	for i, t := range g.mesh.Triangles {
		v, area := of(i), t.Area()
		for _, p := range t.Points {
			sum[p] += area * v
			weight[p] += area
		}
	}
	for i := range sum {
		if weight[i] > 0 {
			sum[i] /= weight[i]
		}
	}
	return sum
}

// ofPoints returns the mean of the values at a triangle's points.
func (g *garment) ofPoints(t int, values []float64) float64 {
	p := g.mesh.Triangles[t].Points
	return (values[p[0]] + values[p[1]] + values[p[2]]) / 3
}

// centre returns the middle of a triangle.
func (g *garment) centre(t int) r3.Vec {
	p := g.mesh.Triangles[t].Points
	a, b, c := g.mesh.Points[p[0]], g.mesh.Points[p[1]], g.mesh.Points[p[2]]
	return r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
}

// tightest returns the strain beyond which a twentieth of cloth is strained. It sorts both.
func tightest(strains, areas []float64) float64 {
	stat.SortWeighted(strains, areas)
	return stat.Quantile(0.95, stat.LinInterp, strains, areas)
}
