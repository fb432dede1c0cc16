package workroom

import (
	"cmp"
	"slices"

	"tapeline/service/styles"
)

// pickingView holds the things of a picture to pick, by pointing or from lists.
type pickingView struct {
	Pieces  []pickedPiece
	Sayings []styles.Saying
}

type pickedPiece struct {
	Name, Title string
	Parts       []pickedPart
}

// pickedPart is a shape in words.
type pickedPart struct {
	styles.Shape
	Kind    string // piece, edge, dart, line or mark
	Measure string // "14.2 cm", "" if it has none
}

// Picking returns what can be picked in the picture.
func (v triedScript) Picking() pickingView {
	view := pickingView{Sayings: v.Sayings}
	titles := map[string]string{}
	for _, p := range v.Tried.Pieces {
		titles[p.Name] = p.Title
	}
	for _, s := range v.Shapes {
		i := slices.IndexFunc(view.Pieces, func(p pickedPiece) bool { return p.Name == s.Piece })
		if i < 0 {
			i = len(view.Pieces)
			view.Pieces = append(view.Pieces, pickedPiece{Name: s.Piece, Title: titles[s.Piece]})
		}
		view.Pieces[i].Parts = append(view.Pieces[i].Parts, pickedPart{s, cmp.Or(s.Kind, "piece"), measureOf(s, v.Unit)})
	}
	return view
}

// measureOf says how long a shape is, and how much a dart takes up.
func measureOf(s styles.Shape, u styles.Unit) string {
	switch {
	case s.Kind == "dart" && s.Intake > 0:
		return said(u, s.Length) + " long, takes up " + said(u, s.Intake)
	case s.Length > 0:
		return said(u, s.Length)
	}
	return ""
}

// said says a length as a tape reads it.
func said(u styles.Unit, mm float64) string {
	return cmp.Or(u, "cm").Tape(mm) + " " + string(cmp.Or(u, "cm"))
}
