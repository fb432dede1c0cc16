package fitting

import (
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/drape"
	"tapeline/drafting/pattern"
)

// jersey reports whether a panel is part of a band of jersey at the top of a front or a back, as one
// over a belly: it stretches round the body where the rest is woven.
func (q *panel) jersey() bool {
	side := sideOf(q.Piece)
	return q.Cloth == "rib" && strings.HasPrefix(q.Name, "band") && (side == front || side == back)
}

// clothOr returns the cloth of a panel of a garment of the given cloth.
func (q *panel) clothOr(shell drape.Cloth) drape.Cloth {
	if jersey, ok := drape.PresetOf("jersey"); ok && q.jersey() {
		return jersey.Cloth
	}
	return shell
}

// onTop makes a band of jersey known whose lower edge is sewn to the upper one of a known panel.
func (q *panel) onTop(below *panel, upperEdge, own pattern.Edge, known map[string]*panel) {
	if below.jersey() || !below.runsAcross(upperEdge, upper) || !q.runsAcross(own, lower) {
		return
	}
	q.where = sideOf(q.Piece)
	q.level = below.level - upperEdge.Path.End().Y + own.Path.Start().Y
	known[q.Name] = q
}

// tightBand finds a band of jersey that is stretched beyond its comfort, at more than a twentieth
// of it. How it is stretched by its seam with the shell is not read.
func (r *Result) tightBand(limit float64) {
	var strains []float64
	name := ""
	for i, t := range r.garment.mesh.Triangles {
		if q := r.garment.panels[t.Piece]; q.jersey() {
			name = q.Name
			strains = append(strains, r.garment.mesh.Stretch(i).Weft)
		}
	}
	if len(strains) == 0 {
		return
	}
	slices.Sort(strains)
	v := strains[len(strains)*95/100]
	r.judge(Finding{Kind: Tight, Place: "band", Piece: name, Value: 100 * v, Unit: "%", Limit: 100 * limit,
		Words: fmt.Sprintf("Tight at the band: its jersey is stretched by %.1f %%; %.1f %% is worn in comfort.", 100*v,
			100*limit)})
}
