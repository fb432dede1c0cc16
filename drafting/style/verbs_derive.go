package style

import (
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var deriveVerbs = []declaration{
	{"Derive", `band(name, title text, length, width length, doubled yesno=False) piece`,
		`Make the band {title}[, named {name}], {length} long and {width} wide[, {doubled}doubled].`,
		`Makes a straight band with its length along the grain: a cuff, waistband, belt or neckband. doubled=True ` +
			`makes it twice as wide, with a fold along the middle. Its edges are top, end, bottom and start, ` +
			`clockwise from the top left.`,
		band},
	{"Derive", `waistband(name, title text, depth length, underlap length, part length=mm, ...) piece`,
		`Make the waistband {title}[, named {name}], {depth} deep, with <{part} for the {part.name}> and an underlap of ` +
			`{underlap}.`,
		`Makes a doubled waistband, shown unrolled and right side up, depth mm deep when folded. Its lower edge ` +
			`consists of the parts that are sewn to the garment, from the right end to the left, and an underlap ` +
			`at the left end. Its edges are top, end, the parts, underlap and start.`,
		waistband},
	{"Derive", `rib_band(name, title text, edge length, width length, share share=0.87, passes length=0, ` +
		`half yesno=False, plain yesno=False) piece`,
		`Make the rib band {title}[, named {name}], for an edge of {edge}, {width} wide[ and {share} of the edge long]` +
			`[, at least {passes} round][, {half}as half a band][, {plain}without notches].`,
		`Makes a doubled band of rib for a neck, hem or wrist, shorter than the edge of edge mm that it is sewn to: ` +
			`share of it, 0.8 to 0.9 is usual and 0.93 at the point of a V (common practice), but never longer, and not ` +
			`shorter than passes, the girth at rest that lets a part of the body pass. half=True makes half a band for half ` +
			`an edge, on the fold at its start; passes is the whole girth. Notches divide its lower edge in quarters; ` +
			`plain=True leaves them out where seams do. It stretches along its length. Its edges are those of a band; ` +
			`sew it with seam(..., ease = length(rib, "bottom") - edge, how = "stretched").`,
		ribBand},
	{"Derive", `facing(piece, edges, name, title text, width length=mm, inner path=path) piece`,
		`Face the {edges} of {piece}[ {width} wide][ as far as {inner}]: the piece {title}[, named {name}].`,
		`Makes a facing from the strip of a piece along one or more adjacent edges: width mm wide, or up to a path ` +
			`drawn across the piece. It is sewn to the piece face to face. Its inner edge is named inner. Remove or ` +
			`move darts that reach into it first.`,
		facing},
	{"Derive", `binding(name, title text, length, width length) piece`,
		`Make the bias strip {title}[, named {name}], {length} long and {width} wide.`,
		`Makes a strip cut on the bias to bind or pipe an edge. Its edges are those of a band.`,
		binding},
	{"Derive", `bind(front piece, back piece, edge, name, title text, width length=32, round yesno=False) piece`,
		`Bind the {edge} of {front} and {back} with the bias strip {title}[, named {name}][, {width} wide][, {round}round ` +
			`both halves].`,
		`Makes the bias strip that binds an edge of a front and a back, such as both armholes: as long as the edge on ` +
			`both, 3 per cent less so that it lies flat, and 20 mm more to join its ends. It is cut twice. round=True ` +
			`makes one for both halves, as for a neck. Its edges are finished by binding. Give the bound edge an ` +
			`allowance of 0 with allow.`,
		bindEdge},
	{"Derive", `panel(piece, edge, name, title text, times number, length) piece`,
		`Gather to the {edge} of {piece} the panel {title}[, named {name}], {times} times as wide and {length} long.`,
		`Makes half a straight panel to gather to an edge, such as a skirt to the waist of a bodice: times as wide as ` +
			`the edge with its darts closed, and length mm long. Its edges are top, side, hem and centre, clockwise from ` +
			`the top left; it is cut as a pair. Sew it with seam("skirt/top", "front/hem", gather = times, ` +
			`how = "gathered").`,
		panel},
	{"Derive", `godet(name, title text, slit length, width length) piece`,
		`Make the godet {title}[, named {name}], for a slit of {slit}, {width} wide at the hem.`,
		`Makes a sector of a circle to set into a slit, or into a seam from its hem up: slit mm long, it adds width mm ` +
			`to the hem, at most half a circle. Its grain runs down its middle. Its edges are left and right, which meet ` +
			`at the top of the slit, and hem.`,
		godet},
	{"Derive", `lining(piece, name, title text, shorter length=0, pleat length=0) piece`,
		`Line {piece}[, {shorter} shorter][, with an ease pleat of {pleat}]: the piece {title}[, named {name}].`,
		`Copies the piece as its own lining, cut from lining and sewn in face to face. shorter takes mm off its hem. ` +
			`pleat adds mm beyond the centre back, which is then cut on the fold: the pleat gives the arms room; it is ` +
			`tacked at the neck and at the waist. The old centre stays as the line pleat.`,
		lining},
}

func asPiece(p pattern.Piece, err error) (starlark.Value, error) {
	if err == nil {
		err = checkName(p.Name)
	}
	if err != nil {
		return nil, err
	}
	return &piece{p, false}, nil
}

func band(c *call) (starlark.Value, error) {
	var name, title string
	var length, width float64
	var doubled bool
	err := c.unpack(&name, &title, &length, &width, &doubled)
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.Band(name, title, length, width, doubled))
}

func ribBand(c *call) (starlark.Value, error) {
	var name, title string
	s := cutting.RibShape{Share: 0.87}
	if err := c.unpack(&name, &title, &s.Edge, &s.Width, &s.Share, &s.Passes, &s.Half, &s.Plain); err != nil {
		return nil, err
	}
	return asPiece(cutting.RibBand(name, title, s))
}

func waistband(c *call) (starlark.Value, error) {
	var name, title string
	var depth, underlap float64
	if err := c.unpackPositional(&name, &title, &depth, &underlap); err != nil {
		return nil, err
	}
	if len(c.kwargs) == 0 || len(c.kwargs) > 20 {
		return nil, c.errorf("%d parts; want 1 to 20", len(c.kwargs))
	}
	var parts []cutting.BandPart
	err := c.eachNumber(func(name string, v float64) error {
		if err := checkName(name); err != nil {
			return err
		}
		if slices.Contains([]string{"top", "end", "underlap", "start"}, name) {
			return c.errorf("part %s has the name of an edge of the band", name)
		}
		parts = append(parts, cutting.BandPart{Name: name, Length: v})
		return nil
	})
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.Waistband(name, title, depth, underlap, parts))
}

func facing(c *call) (starlark.Value, error) {
	var p *piece
	var edges names
	var width optional
	var inner starlark.Value
	var name, title string
	err := c.unpack(&p, &edges, &name, &title, &width, &inner)
	if err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	along, drawn := inner.(path)
	if drawn == width.given || drawn && len(along.Path) == 0 {
		return nil, c.errorf("want either width=mm or inner=path")
	}
	q, err := cutting.Facing(p.Piece, cutting.FacingShape{Runs: edges, Width: width.value, Inner: along.Path}, name, title)
	if err != nil {
		return nil, err
	}
	return &piece{q, !p.over}, nil
}

func binding(c *call) (starlark.Value, error) {
	var name, title string
	var length, width float64
	if err := c.unpack(&name, &title, &length, &width); err != nil {
		return nil, err
	}
	p, err := cutting.Rectangle(name, title, length, width)
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.GrainAlong(p, geom.Pt(1, 1)), nil)
}

func bindEdge(c *call) (starlark.Value, error) {
	var front, back *piece
	var edge, name, title string
	width, round := 32.0, false
	if err := c.unpack(&front, &back, &edge, &name, &title, &width, &round); err != nil {
		return nil, err
	}
	return asPiece(cutting.Binding(front.Piece, back.Piece, edge, name, title, width, round))
}

func panel(c *call) (starlark.Value, error) {
	var p *piece
	var edge, name, title string
	var times, length float64
	if err := c.unpack(&p, &edge, &name, &title, &times, &length); err != nil {
		return nil, err
	}
	return asPiece(cutting.Panel(p.Piece, edge, name, title, times, length))
}

func godet(c *call) (starlark.Value, error) {
	var name, title string
	var slit, width float64
	if err := c.unpack(&name, &title, &slit, &width); err != nil {
		return nil, err
	}
	return asPiece(cutting.Godet(name, title, slit, width))
}

func lining(c *call) (starlark.Value, error) {
	var p *piece
	var name, title string
	var shorter, pleat float64
	if err := c.unpack(&p, &name, &title, &shorter, &pleat); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	q, err := cutting.Lining(p.Piece, name, title, shorter, pleat)
	if err != nil {
		return nil, err
	}
	return &piece{q, !p.over}, nil
}
