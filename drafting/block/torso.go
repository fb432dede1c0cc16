package block

import (
	"tapeline/drafting/pattern"
)

// draftTorso drafts back, front and sleeve, and reads every measure back from
// the finished outlines. Its error is a fault.List where the block can't be
// drafted to the body, and a *CheckError where the draft is not what it should
// be.
func draftTorso(r Request, shaped bool) (pattern.Pattern, error) {
	if len(r.Left) > 0 || len(r.Right) > 0 {
		return draftBothSides(r, shaped)
	}
	f, err := newFigure(r, shaped, torsoFits())
	if err != nil {
		return pattern.Pattern{}, err
	}
	return f.draft()
}

// draft drafts the figure's half of the body, the left and the right alike.
func (f *figure) draft() (pattern.Pattern, error) {
	u, err := f.draftUpper()
	if err != nil {
		return pattern.Pattern{}, err
	}
	m, err := f.marry(&u)
	if err != nil {
		return pattern.Pattern{}, err
	}
	b, fr := f.backPiece(&u, &m), f.frontPiece(&u, &m)
	var p pattern.Pattern
	along, rev := inProportion(runLength(b.Edges, edgeShoulder), runLength(fr.Edges, edgeShoulder))
	p.Seams = append(p.Seams, pairRuns(&b, &fr, edgeShoulder, edgeShoulder, along, rev)...)
	same := func(d float64) float64 { return d }
	p.Seams = append(p.Seams, pairRuns(&b, &fr, edgeSide, edgeSide, same, same)...)
	pieces := []*pattern.Piece{&b, &fr}
	var sl pattern.Piece
	if f.sleeve != "none" {
		s := f.draftSleeve(m.cap)
		sl = f.sleevePiece(&m, &s)
		p.Seams = append(p.Seams, f.sleeveSeams(&m, &sl, &b, &fr)...)
		pieces = append(pieces, &sl)
	}
	for _, q := range pieces {
		q.Edges, q.Notches = number(q.Edges, q.Notches)
	}
	if sl.Name != "" {
		sl.Notches = append(sl.Notches, shoulderNotch(sl))
	}
	fr = mirrored(fr)
	for _, q := range pieces {
		p.Pieces = append(p.Pieces, *q)
		p.Seams = append(p.Seams, centreSeams(*q)...)
	}
	p.Warnings = f.warnings
	return p, f.readBack(&p, &m)
}

// sleeveSeams pairs cap with armhole, eased between the notches only, and the
// sleeve's two underarm edges with each other.
func (f *figure) sleeveSeams(m *married, sl, b, fr *pattern.Piece) []pattern.Seam {
	var seams []pattern.Seam
	meet := func(q *pattern.Piece, capEdge string, notch float64) {
		la, lc := runLength(q.Edges, edgeArmhole), runLength(sl.Edges, capEdge)
		k := (lc - notch) / (la - notch) // cap for armhole above the notch
		toArmhole := func(d float64) float64 {
			if d >= lc-notch {
				return la - (lc - d)
			}
			return d / k
		}
		toCap := func(d float64) float64 {
			if d >= la-notch {
				return lc - (la - d)
			}
			return d * k
		}
		seams = append(seams, pairRuns(sl, q, capEdge, edgeArmhole, toArmhole, toCap)...)
	}
	meet(b, edgeCapBack, f.backNotch(m))
	meet(fr, edgeCapFront, f.frontNotch(m))

	back, front := parts(sl.Edges, edgeUnderarmBack), parts(sl.Edges, edgeUnderarmFront)
	ref := func(edge string) pattern.EdgeRef { return pattern.EdgeRef{Piece: sl.Name, Edge: edge} }
	if len(back) == 1 {
		return append(seams, pattern.Seam{A: ref(edgeUnderarmBack), B: ref(edgeUnderarmFront), Ease: back[0] - front[0]})
	}
	// The back edge is walked upward: its second part is the upper one.
	sl.Edges = cutRun(sl.Edges, edgeUnderarmFront, []float64{back[1]})
	front = parts(sl.Edges, edgeUnderarmFront)
	return append(seams,
		pattern.Seam{A: ref(partName(edgeUnderarmBack, 2)), B: ref(partName(edgeUnderarmFront, 1)), Ease: back[1] - front[0]},
		pattern.Seam{A: ref(partName(edgeUnderarmBack, 1)), B: ref(partName(edgeUnderarmFront, 2)), Ease: back[0] - front[1]})
}

// centreSeams are the seams that join a piece to its own mirror image.
func centreSeams(p pattern.Piece) []pattern.Seam {
	var seams []pattern.Seam
	for _, e := range p.Edges {
		if e.Role == pattern.RoleSeam && (e.Run == edgeBackCentre || e.Run == edgeCentre || e.Run == edgeCrotch) {
			r := pattern.EdgeRef{Piece: p.Name, Edge: e.Name}
			seams = append(seams, pattern.Seam{A: r, B: r})
		}
	}
	return seams
}
