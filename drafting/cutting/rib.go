package cutting

import (
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A RibShape holds the dimensions of a band of rib, mm.
type RibShape struct {
	Edge   float64 // that the band is sewn to, half of it for half a band
	Width  float64 // finished
	Share  float64 // of the band to the edge
	Passes float64 // that the whole band measures at rest at least
	Half   bool    // half a band, on the fold at its start
	Plain  bool    // without notches in its lower edge
}

// RibBand returns a doubled band of rib, shorter than the edge that it is sewn to by a share, and
// never longer. It stretches along its length: its grain, along the ribs, runs across it. Notches
// divide its lower edge in quarters; their mates divide the edge in the same way. Its edges are those of a band.
func RibBand(name, title string, s RibShape) (pattern.Piece, error) {
	p := pattern.Piece{Name: name}
	if err := checkDimensions(p, dimension{"edge", s.Edge, 10, pattern.MaxReach},
		dimension{"width", s.Width, 5, 300}, dimension{"passes", s.Passes, 0, pattern.MaxReach}); err != nil {
		return p, err
	}
	if !(s.Share >= 0.5 && s.Share <= 1) {
		return p, newError(p, "", "the band is %g of its edge; must be from 0.5 to 1", s.Share)
	}
	parts := 4
	if s.Half {
		parts, s.Passes = 2, s.Passes/2
	}
	long := s.Edge * math.Min(1, math.Max(s.Share, s.Passes/s.Edge))
	p, err := Band(name, title, long, s.Width, true)
	if err != nil {
		return p, err
	}
	if s.Half {
		p.Edges[p.EdgeIndex("start")].Role, p.Cut = pattern.RoleFold, pattern.Cut{Count: 1, OnFold: true}
		p.Notches = p.Notches[:1]
	}
	if !s.Plain {
		for i := 1; i < parts; i++ {
			at := long * float64(i) / float64(parts)
			p.Notches = append(p.Notches, pattern.Notch{Edge: "bottom", At: at, Kind: pattern.NotchSingle})
		}
	}
	p.Edges[p.EdgeIndex("top")].Role = pattern.RoleEdge
	p.Cloth, p.Notes = "rib", []string{"Fold along the middle."}
	return GrainAlong(p, geom.Pt(0, 1)), nil
}
