package style

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var measureVerbs = []declaration{
	{"Measure", `length(piece shape, edge, ...) length`,
		`the length of [the <{edge}> of ]{piece}`,
		`Returns the length of one or more edges in mm, with their darts sewn shut. length(path) returns the length ` +
			`of a path.`,
		length},
	{"Measure", `seam_length(pieces, edges sewn) length`,
		`the length of {edges} in {pieces}`,
		`Returns the length in mm of one side of a seam: "piece/edge", or a list of these, of a list of pieces.`,
		seamLength},
	{"Measure", `notches(piece, edge) lengths`,
		`the notches on the {edge} of {piece}`,
		`Returns the positions of the notches on an edge, in mm along it.`,
		notchPositions},
	{"Measure", `distance(a point, b point) length`,
		`the distance from {a} to {b}`,
		`Returns the straight distance between two points in mm.`,
		distance},
	{"Measure", `angle(a point, b point) angle`,
		`the direction from {a} to {b}`,
		`Returns the direction from point a to point b in degrees: 0 is to the right, 90 straight down.`,
		angle},
	{"Measure", `width(piece, y length) length`,
		`the width of {piece} at the height {y}`,
		`Returns the width of the piece in mm at height y, without the darts there: half a girth on half a garment.`,
		width},
	{"Measure", `narrowest(pieces) length`,
		`the smallest girth of {pieces}`,
		`Returns the smallest girth in mm of the trunk whose halves the pieces are, below the armholes and the darts in ` +
			`the side, at any level down to the hem.`,
		narrowest},
	{"Measure", `closing_needed(body, passes head|hips, pieces, edge path) length`,
		`the length of {edge} that must open for {pieces} to pass over the {passes} of the {body}`,
		`Returns how many mm of edge, from its upper end, a zip or a slit must open so that "head" or "hips" get into ` +
			`the garment whose halves the pieces are: shoulders and bust at every level below a neck, the seat down to ` +
			`the hip line below a waist. 0 if the garment is wide enough closed. let_pass reads the same from the ` +
			`finished garment.`,
		closingNeeded},
	{"Measure", `level(piece, line) length`,
		`the height of the {line} of {piece}`,
		`Returns the height y of a level line of the piece, such as "waist" or "hip".`,
		level},
	{"Measure", `distance_along(path, point) length`,
		`the distance along {path} to {point}`,
		`Returns how far along a path its nearest position to a point lies, in mm.`,
		distanceAlong},
	{"Measure", `mm(number length) text`,
		`{number}`,
		`Returns a length as a string for a message: "562 mm".`,
		formatMM},
}

func length(c *call) (starlark.Value, error) {
	if len(c.kwargs) == 0 && len(c.args) > 0 {
		switch x := c.args[0].(type) {
		case path:
			if len(c.args) == 1 {
				return starlark.Float(x.Length()), nil
			}
		case *piece:
			return c.lengthOfEdges(x, c.args[1:])
		}
	}
	return nil, c.errorf("want (path) or (piece, edge, ...)")
}

func (c *call) lengthOfEdges(p *piece, args []starlark.Value) (starlark.Value, error) {
	if len(args) == 0 {
		return nil, c.errorf("no edge given; piece %s has %v", p.Name, p.Runs())
	}
	var sum float64
	for _, a := range args {
		var edges names
		if err := edges.Unpack(a); err != nil {
			return nil, c.errorf("%w", err)
		}
		for _, e := range edges {
			run, err := p.edgePath(e)
			if err != nil {
				return nil, err
			}
			sum += run.Length()
		}
	}
	return starlark.Float(sum), nil
}

func seamLength(c *call) (starlark.Value, error) {
	var list starlark.Indexable
	var edges names
	if err := c.unpack(&list, &edges); err != nil {
		return nil, err
	}
	if list.Len() > pattern.MaxPieces {
		return nil, c.errorf("%d pieces; at most %d", list.Len(), pattern.MaxPieces)
	}
	chain, err := c.edgeRefs(edges)
	if err != nil {
		return nil, err
	}
	var pieces []pattern.Piece
	for i := range list.Len() {
		p, ok := list.Index(i).(*piece)
		if !ok {
			return nil, c.errorf("pieces: got %s, want piece", list.Index(i).Type())
		}
		pieces = append(pieces, p.Piece)
	}
	for _, r := range chain {
		i := slices.IndexFunc(pieces, func(p pattern.Piece) bool { return p.Name == r.Piece })
		if i < 0 {
			return nil, c.errorf("no piece %q", r.Piece)
		}
		if _, err := (&piece{Piece: pieces[i]}).edgePath(r.Edge); err != nil {
			return nil, err
		}
	}
	return starlark.Float(pattern.ChainLength(pieces, chain)), nil
}

func notchPositions(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	if _, err := p.edgePath(name); err != nil {
		return nil, err
	}
	var positions []float64
	for _, n := range p.Notches {
		if n.Edge == name {
			positions = append(positions, n.At)
		}
	}
	slices.Sort(positions)
	list := make(starlark.Tuple, len(positions))
	for i, d := range positions {
		list[i] = starlark.Float(d)
	}
	return list, nil
}

func distance(c *call) (starlark.Value, error) {
	var a, b geom.Point
	err := c.unpack(&a, &b)
	return starlark.Float(a.Dist(b)), err
}

func angle(c *call) (starlark.Value, error) {
	var a, b geom.Point
	err := c.unpack(&a, &b)
	return starlark.Float(degrees(b.Sub(a).Angle())), err
}

func width(c *call) (starlark.Value, error) {
	var p *piece
	var y float64
	if err := c.unpack(&p, &y); err != nil {
		return nil, err
	}
	return starlark.Float(cutting.WidthAt(p.Piece, y)), nil
}

func level(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	l, err := p.line(name)
	if err != nil {
		return nil, err
	}
	return starlark.Float(l.Start().Y), nil
}

func distanceAlong(c *call) (starlark.Value, error) {
	var p path
	var q geom.Point
	if err := c.unpack(&p, &q); err != nil {
		return nil, err
	}
	_, _, d := p.Nearest(q)
	return starlark.Float(d), nil
}

func formatMM(c *call) (starlark.Value, error) {
	var v float64
	err := c.unpack(&v)
	return starlark.String(fmt.Sprintf("%.0f mm", v)), err
}
