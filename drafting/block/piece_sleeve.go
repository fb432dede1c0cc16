package block

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

const (
	edgeCapBack       = "cap_back"
	edgeCapFront      = "cap_front"
	edgeUnderarmBack  = "underarm_back"
	edgeUnderarmFront = "underarm_front"
)

// sleevePiece assembles the sleeve with the top of its cap at the origin.
func (f *figure) sleevePiece(m *married, s *sleeveShape) pattern.Piece {
	p := pattern.Piece{Name: pieceSleeve, Title: "Sleeve", Cut: pattern.Cut{Count: 2, Pair: true}}
	flip := geom.Reflect(geom.Point{}, geom.Pt(0, 1))
	whole := geom.Join(m.cap.halves[back].Move(flip).Reverse(), m.cap.halves[front])
	// The shoulder meets the cap where the back half has the length that the
	// back armhole and its ease want.
	capBack, capFront := whole.SplitAt(m.cap.halves[back].Length() - m.cap.notchAt)
	p.Edges = append(p.Edges,
		edge(edgeCapBack, pattern.RoleCap, capBack...),
		edge(edgeCapFront, pattern.RoleCap, capFront...),
		edge(edgeUnderarmFront, pattern.RoleSeam, s.seams[front]...),
		edge(edgeHem, pattern.RoleHem, s.hem...))
	up := s.seams[back].Reverse()
	if s.dart {
		lower, upper := up[:1], up[1:]
		a, b := lower.End(), upper.Start()
		apex := s.elbow.Lerp(a.Lerp(b, 0.5), 0.5)
		p.Edges = append(p.Edges,
			edge(edgeUnderarmBack, pattern.RoleSeam, lower...),
			edge(mouthOf(dartElbow), pattern.RoleDartMouth, geom.Line(a, b)),
			edge(edgeUnderarmBack, pattern.RoleSeam, upper...))
		p.Darts = append(p.Darts, mouthDart(dartElbow, apex, a, b, 0))
	} else {
		p.Edges = append(p.Edges, edge(edgeUnderarmBack, pattern.RoleSeam, up...))
	}
	if s.elbowBreak > 0 {
		p.Lines = append(p.Lines, pattern.Line{Name: lineElbow, Path: geom.Path{geom.Line(s.elbow, s.seams[back][0].P3)}})
		if !s.dart {
			p.Notches = append(p.Notches,
				pattern.Notch{Edge: edgeUnderarmFront, At: s.seams[front][0].Length(), Kind: pattern.NotchSingle},
				pattern.Notch{Edge: edgeUnderarmBack, At: up[0].Length(), Kind: pattern.NotchSingle})
		}
	}
	bicepsLine := geom.Line(s.seams[back].Start(), s.seams[front].Start())
	p.Lines = append(p.Lines, pattern.Line{Name: "biceps", Path: geom.Path{bicepsLine}})
	p.Grain = grainLine(0, 0.35*m.cap.height, m.cap.height+0.7*(s.length-m.cap.height))
	p.Notches = append(p.Notches,
		pattern.Notch{Edge: edgeCapBack, At: f.backNotch(m), Kind: pattern.NotchDouble},
		pattern.Notch{Edge: edgeCapFront, At: capFront.Length() - f.frontNotch(m), Kind: pattern.NotchSingle})
	return p
}
