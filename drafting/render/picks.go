package render

import (
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// picks writes a layer over the picture in which the things of the pattern can be
// pointed at. It has a group for each piece and in it a shape without ink for the piece,
// for each line, dart and mark, and for each run of edges: the last lies on top. Their
// data attributes have kind and name; those of a group the piece and how far it is
// moved from where it was drafted, mm. The page that shows the picture gives the shapes
// their width.
func (w *svgWriter) picks(placed, drafted []finish.Piece) {
	w.raw(`<g class="picks" fill="none" stroke="none">` + "\n")
	for i := range placed {
		p := &placed[i]
		if len(p.CutLine) == 0 {
			continue
		}
		moved := p.CutLine.Start().Sub(w.origin).Sub(drafted[i].CutLine.Start())
		w.raw("<g")
		w.dataset("piece", p.Name)
		w.length("data-x", moved.X)
		w.length("data-y", moved.Y)
		w.raw(">\n")
		w.pickable("piece", "", p.CutLine)
		for _, l := range p.Lines {
			w.pickable("line", l.Name, l.Path)
		}
		for _, d := range p.Darts {
			w.pickable("dart", d.Name, dartOutline(d))
		}
		for _, run := range p.Runs() {
			w.pickable("edge", run, runPaths(p.Piece, run)...)
		}
		for _, m := range p.Marks {
			at := m.At.Sub(w.origin)
			w.raw("<circle")
			w.dataset("kind", "mark")
			w.dataset("name", m.Name)
			w.length("cx", at.X)
			w.length("cy", at.Y)
			w.raw(` r="4"/>` + "\n")
		}
		w.end()
	}
	w.end()
}

// dataset writes a data attribute.
func (w *svgWriter) dataset(name, value string) {
	w.raw(" data-" + name + `="`)
	w.escape(value)
	w.raw(`"`)
}

// pickable writes one shape of paths.
func (w *svgWriter) pickable(kind, name string, paths ...geom.Path) {
	w.raw("<path")
	w.dataset("kind", kind)
	w.dataset("name", name)
	w.raw(` d="`)
	for _, p := range paths {
		if len(p) > 0 {
			w.data(p)
		}
	}
	w.raw("\"/>\n")
}

// runPaths returns the edges of a run, one path for each.
func runPaths(p pattern.Piece, run string) []geom.Path {
	var paths []geom.Path
	for _, e := range p.Edges {
		if e.Run == run && e.Role != pattern.RoleDartMouth {
			paths = append(paths, e.Path)
		}
	}
	return paths
}

// dartOutline returns the closed outline of a dart.
func dartOutline(d pattern.Dart) geom.Path {
	if len(d.Legs[0]) == 0 || len(d.Legs[1]) == 0 {
		return geom.Join(d.Legs[0], d.Legs[1])
	}
	back := d.Legs[1].Reverse()
	outline := geom.Join(d.Legs[0])
	if end := outline.End(); !end.Near(back.Start(), geom.JoinTol) { // a pleat
		outline = append(outline, geom.Line(end, back.Start()))
	}
	outline = geom.Join(outline, back)
	if !outline.Closed() {
		outline = append(outline, geom.Line(outline.End(), outline.Start()))
	}
	return outline
}
