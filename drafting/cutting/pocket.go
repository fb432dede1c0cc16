package cutting

import (
	"math"
	"slices"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// cornerIn is how far in mm the drill holes lie inside the corners of a pocket, which hides them
// (common practice: 3 to 5 mm).
const cornerIn = 3

// onEdge is how far in mm a pocket may reach beyond its piece.
const onEdge = 0.5

// PlacePocket draws the outline of a pocket on the piece that it is sewn to, as the line that has
// the pocket's name, and marks both ends of its first edge, the top, by drill holes inside it. The
// pocket's first corner lies at a point of the piece. It lies as it was drawn; with a path it is
// turned so that its top or its side runs along the path's nearest place. Where a dart lies under the
// pocket only the top is drawn: the dart is sewn before the pocket, and moves the rest. The error is a
// *RoomError if the pocket does not lie on the piece, or a dart crosses its top.
func PlacePocket(p, pocket pattern.Piece, at geom.Point, along geom.Path) (pattern.Piece, error) {
	turn := 0.0
	if len(along) > 0 {
		_, _, d := along.Nearest(at)
		turn = math.Remainder(along.TangentAt(d).Angle()-pocket.Edges[0].Path.StartTangent().Angle(), math.Pi/2)
	}
	m := geom.Shift(at.Sub(pocket.Edges[0].Path.Start())).Then(geom.Turn(at, turn))
	shape := pocket.Outline().Move(m)
	if off := outside(p.Outline(), shape); off > onEdge {
		return p, noRoom("The %s lies up to %.0f mm outside the %s.", words(pocket.Name), off, words(p.Name))
	}
	top := pocket.Edges[0].Path.Move(m)
	for _, d := range p.Darts {
		switch {
		case d.Empty():
		case crosses(top, d):
			return p, noRoom("The %s of the %s crosses the top of the %s.", words(d.Name), words(p.Name), words(pocket.Name))
		case crosses(pocket.Outline().Move(m), d):
			shape = top
		}
	}
	u, v := top.StartTangent(), top.EndTangent()
	p.Lines = append(slices.Clip(p.Lines), pattern.Line{Name: pocket.Name, Path: shape})
	p.Marks = append(slices.Clip(p.Marks),
		pattern.Mark{Name: pocket.Name + "_1", Kind: pattern.MarkDrill, At: top.Start().Add(u.Add(u.Right()).Mul(cornerIn))},
		pattern.Mark{Name: pocket.Name + "_2", Kind: pattern.MarkDrill, At: top.End().Sub(v.Sub(v.Right()).Mul(cornerIn))})
	return p, nil
}

// outside returns how far in mm a shape reaches beyond an outline.
func outside(outline, shape geom.Path) float64 {
	off := 0.0
	for _, s := range shape {
		for i := range 8 {
			at := s.At(float64(i) / 8)
			if outline.Contains(at) {
				continue
			}
			_, d, _ := outline.Nearest(at)
			off = max(off, d)
		}
	}
	return off
}

// crosses reports whether a path crosses a leg of a dart.
func crosses(path geom.Path, d pattern.Dart) bool {
	return len(path.Crossings(d.Legs[0])) > 0 || len(path.Crossings(d.Legs[1])) > 0
}

// A SeamPocket holds the dimensions of a pocket in a seam, mm.
type SeamPocket struct {
	Run          string  // the seam's edge on both pieces
	At           float64 // of the opening's upper end along it
	Opening      float64
	Width, Depth float64 // of the bag into the garment, and below the opening
}

// SetSeamPocket notches both ends of a pocket's opening on an edge of the front and of the back,
// At mm along it, and returns both with the bag of the pocket. The error is a *RoomError if the
// bag reaches beyond the end of the edge.
func SetSeamPocket(front, back pattern.Piece, name, title string, s SeamPocket) (f, b, bag pattern.Piece, err error) {
	if bag, err = PocketBag(name, title, s.Opening, s.Width, s.Depth); err != nil {
		return front, back, bag, err
	}
	ends := [2]float64{s.At, s.At + s.Opening}
	both := [2]*pattern.Piece{&front, &back}
	for _, p := range both {
		if err := checkRun(*p, s.Run); err != nil {
			return front, back, bag, err
		}
		if err := checkDimensions(*p, dimension{"at", s.At, 5, pattern.MaxReach}); err != nil {
			return front, back, bag, err
		}
		if n := p.RunLength(s.Run); ends[1]+s.Depth+5 > n {
			return front, back, bag, noRoom("The %s reaches %.0f mm down the %s of the %s, which is %.0f mm long.",
				words(name), ends[1]+s.Depth, words(s.Run), words(p.Name), n)
		}
		*p = notched(*p, pattern.Notch{Edge: s.Run, At: ends[0], Kind: pattern.NotchSingle, Name: "pocket"},
			pattern.Notch{Edge: s.Run, At: ends[1], Kind: pattern.NotchSingle, Name: "pocket"})
	}
	return front, back, bag, nil
}
