package block

import (
	"fmt"
	"math"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const (
	edgeCrotch = "crotch"
	edgeInseam = "inseam"

	lineCrotch = "crotch"
	lineKnee   = "knee"
)

// pattern assembles back and front and reads them back.
func (s *trousers) pattern(d trouserDraft) (pattern.Pattern, error) {
	ends := s.endLegs(&d)
	for i, end := range ends {
		if above := d.legs[i].fork.Y - end.side.End().Y; above > 0 {
			return pattern.Pattern{}, refuseChoice(choiceLength, fmt.Sprintf("%.0f mm inside the leg", s.inside),
				fmt.Sprintf("at least %.0f mm: the side would end %.0f mm above the crotch at the back", s.inside+above, above))
		}
	}
	b := s.piece(&d, back, ends[back], pieceBack, "Trouser back")
	f := s.piece(&d, front, ends[front], pieceFront, "Trouser front")
	inseams := sew(f, edgeInseam, b, edgeInseam)
	inseams.How = "back stretched above the knee"
	p, err := assemble([]pattern.Piece{b, f}, sew(b, edgeSide, f, edgeSide), inseams)
	if err != nil {
		return p, err
	}
	p.Warnings = s.warnings
	return p, s.readBack(&p, d.depth)
}

// legEnd is a leg from hip and fork down to its hem.
type legEnd struct {
	side, inseam geom.Path
	hem          geom.Segment
	kneed        bool // the hem lies below the knee
}

// endLegs cuts both legs at the hem, the back as far along its seams as the
// front.
func (s *trousers) endLegs(d *trouserDraft) (ends [2]legEnd) {
	if s.hemAt > s.knee {
		for i := range d.legs {
			l := &d.legs[i]
			half := l.kneeHalf + (s.hemAt-s.knee)*(l.hemHalf-l.kneeHalf)/(s.shapedTo-s.knee)
			ends[i] = legEnd{kneed: true,
				side:   geom.Path{l.thigh, geom.Line(l.thigh.P3, geom.Pt(half, s.hemAt))},
				inseam: geom.Path{l.inseam, geom.Line(l.inseam.P3, geom.Pt(-half, s.hemAt))},
			}
		}
	} else {
		f := &d.legs[front]
		side, inseam := f.thigh.LengthTo(crossY(f.thigh, s.hemAt)), f.inseam.LengthTo(crossY(f.inseam, s.hemAt))
		part := inseam / f.inseam.Length()
		for i := range d.legs {
			l := &d.legs[i]
			ends[i] = legEnd{
				side:   geom.Path{l.thigh.Part(0, l.thigh.ParamAt(math.Min(side, l.thigh.Length())))},
				inseam: geom.Path{l.inseam.Part(0, l.inseam.ParamAt(part*l.inseam.Length()))},
			}
		}
	}
	for i := range ends {
		ends[i].hem = hemAcross(ends[i].side.End(), ends[i].side.EndTangent(), ends[i].inseam.End(),
			ends[i].inseam.EndTangent())
	}
	return ends
}

// hemOffSquare is the largest deviation from square at which a hem meets a seam
// without being curved. Two of them make an angle that nobody sees.
const hemOffSquare = 2 * degree

// hemAcross returns a hem from the side to the inseam, square to both within
// hemOffSquare; it is straight if it can be.
func hemAcross(a, downA, b, downB geom.Point) geom.Segment {
	chord := b.Sub(a).Unit()
	square := func(down geom.Point) (geom.Point, bool) {
		off := geom.AngleBetween(chord, down.Right())
		turn := math.Max(0, math.Abs(off)-hemOffSquare)
		return chord.Rotate(geom.Point{}, math.Copysign(turn, off)), turn == 0
	}
	from, straightA := square(downA)
	to, straightB := square(downB)
	if straightA && straightB {
		return geom.Line(a, b)
	}
	return soft(a, from, b, to)
}

func (s *trousers) piece(d *trouserDraft, i int, end legEnd, name, title string) pattern.Piece {
	l := &d.legs[i]
	p := pattern.Piece{Name: name, Title: title, Cut: pattern.Cut{Count: 2, Pair: true}}
	d.waists[i].addTo(&p)
	p.Edges = append(p.Edges,
		edge(edgeSide, pattern.RoleSeam, append(geom.Path{d.sides[i]}, end.side...)...),
		edge(edgeHem, pattern.RoleHem, end.hem),
		edge(edgeInseam, pattern.RoleSeam, end.inseam.Reverse()...),
		edge(edgeCrotch, pattern.RoleSeam, l.crotch, geom.Line(l.crotch.P3, d.top[i])))
	level := func(name string, y float64, from, to geom.Path) {
		a, okA := crossLevel(from, y)
		b, okB := crossLevel(to, y)
		if okA && okB {
			p.Lines = append(p.Lines, pattern.Line{Name: name, Path: geom.Path{geom.Line(a, b)}})
		}
	}
	side, inseam, crotch := p.Run(edgeSide), p.Run(edgeInseam), p.Run(edgeCrotch)
	level(lineHip, l.hip.Y, crotch, side)
	level(lineCrotch, d.depth, crotch, side)
	if end.kneed {
		level(lineKnee, s.knee, inseam, side)
	}
	p.Grain = grainLine(0, d.depth-60, s.hemAt-35)
	kind := [2]pattern.NotchKind{pattern.NotchDouble, pattern.NotchSingle}[i]
	p.Notches = append(p.Notches,
		pattern.Notch{Edge: edgeSide, At: d.sides[i].Length(), Kind: pattern.NotchSingle},
		pattern.Notch{Edge: edgeCrotch, At: l.crotch.Length(), Kind: kind})
	if end.kneed {
		shin := end.inseam[1].Length()
		p.Notches = append(p.Notches,
			pattern.Notch{Edge: edgeSide, At: side.Length() - shin, Kind: pattern.NotchSingle},
			pattern.Notch{Edge: edgeInseam, At: shin, Kind: pattern.NotchSingle})
	}
	return p
}
