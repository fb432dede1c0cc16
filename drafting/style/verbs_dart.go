package style

import (
	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var dartVerbs = []declaration{
	{"Darts", `move_dart(piece, dart, edge, at length=mm, part share=fraction, about point=None, ` +
		`pressed start|end="") piece`,
		`Move the {dart} of {piece} to its {edge}[, {at} along][, {part} of the way along][, pivoting about {about}]` +
			`[, pressed towards the edge's {pressed}].`,
		`Closes a dart and opens it at another position of the outline, pivoting about a point: the bust point if the ` +
			`piece has one, otherwise the dart's own point. Every seam keeps its length. The dart is pressed to the ` +
			`side to which it was, or towards the "start" or "end" of the edge. The part with the fold stays, or with ` +
			`a centre seam along the grain.`,
		moveDart},
	{"Darts", `undart(piece, dart, fold length=0) piece`,
		`Leave the {dart} of {piece} unsewn[, folded as a pleat {fold} long].`,
		`Removes a dart; its mouth becomes part of the edge, as ease, gathers or flare. fold=mm folds it as a pleat: ` +
			`its ends are notched and its fold lines drawn to that length.`,
		undart},
	{"Darts", `ease_dart(piece, dart, over length=40) piece`,
		`Ease the {dart} of {piece} into its seam[, as far as {over} beyond it].`,
		`Removes a dart to be eased into its seam. The edge is longer by the mouth, and redrawn in one curve from its ` +
			`start to over mm beyond the dart. The seam declares the ease.`,
		easeDart},
	{"Darts", `dart(piece, name, edge, at length, width length, to point, pressed start|end="start") piece`,
		`Put the dart {name} into the {edge} of {piece}, {at} along and {width} wide, with its point at {to}[, pressed ` +
			`towards the edge's {pressed}].`,
		`Adds a dart width mm wide, its middle at mm along an edge, that ends at the point to. It is pressed towards ` +
			`the start of the edge, or towards its end.`,
		newDart},
	{"Darts", `inner_dart(piece, name, at point, width length, up length, down length) piece`,
		`Put the dart {name} into {piece}[ at {at}], {width} wide, {up} up and {down} down.`,
		`Adds an upright dart inside the piece, pointed at both ends: width mm wide at a point such as one on the waist, ` +
			`up mm long above it and down mm below.`,
		newInnerDart},
	{"Darts", `intake(piece, dart) length`,
		`the width of the {dart} of {piece}`,
		`Returns the width of a dart in mm where it is widest; 0 for an empty dart, of which nothing is sewn.`,
		intake},
}

func moveDart(c *call) (starlark.Value, error) {
	var p *piece
	var name, edge, pressed string
	var at, part optional
	var about starlark.Value = starlark.None
	err := c.unpack(&p, &name, &edge, &at, &part, &about, &pressed)
	if err != nil {
		return nil, err
	}
	if at.given == part.given {
		return nil, c.errorf("want either at=mm or part=fraction")
	}
	d := at.value
	if part.given {
		d = part.value * p.RunLength(edge)
	}
	pivot, ok := about.(point)
	if about == starlark.None {
		if pivot, err = p.pivot(name); err != nil {
			return nil, err
		}
	} else if !ok {
		return nil, c.errorf("about: %w", typeError(about, "a point"))
	}
	q, err := cutting.MoveDart(p.Piece, name, cutting.Position{Run: edge, At: d}, geom.Point(pivot))
	if err != nil {
		return p.replace(q, err)
	}
	return p.replace(press(c, q, pressed))
}

// The ends of an edge towards which a dart or pleat is folded.
const (
	towardsStart = "start"
	towardsEnd   = "end"
)

// press presses the piece's last dart towards the start or the end of its edge; ""
// leaves it as it is.
func press(c *call, p pattern.Piece, pressed string) (pattern.Piece, error) {
	d := &p.Darts[len(p.Darts)-1]
	switch pressed {
	case "":
	case towardsStart:
		d.Pressed = 0
	case towardsEnd:
		d.Pressed = 1
	default:
		return p, c.errorf("pressed=%q; want start or end", pressed)
	}
	return p, nil
}

// pivot returns the bust point if it lies near the dart's point, otherwise the
// dart's point.
func (p *piece) pivot(dart string) (point, error) {
	d, err := p.dart(dart)
	if err != nil || len(d.Apexes) == 0 {
		return point{}, err
	}
	for _, k := range p.Marks {
		if k.Kind == pattern.MarkBustPoint && k.At.Dist(d.Apexes[0]) < 60 {
			return point(k.At), nil
		}
	}
	return point(d.Apexes[0]), nil
}

func undart(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var fold float64
	if err := c.unpack(&p, &name, &fold); err != nil {
		return nil, err
	}
	return p.replace(cutting.Undart(p.Piece, name, fold))
}

func easeDart(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	over := 40.0
	if err := c.unpack(&p, &name, &over); err != nil {
		return nil, err
	}
	return p.replace(cutting.EaseDart(p.Piece, name, over))
}

func intake(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	d, err := p.dart(name)
	return starlark.Float(d.Intake()), err
}

func newDart(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var at cutting.Position
	var width float64
	var to geom.Point
	pressed := towardsStart
	err := c.unpack(&p, &name, &at.Run, &at.At, &width, &to, &pressed)
	if err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	q, err := cutting.AddDart(p.Piece, name, at, width, to)
	if err != nil {
		return p.replace(q, err)
	}
	return p.replace(press(c, q, pressed))
}

func newInnerDart(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var at geom.Point
	var width, up, down float64
	if err := c.unpack(&p, &name, &at, &width, &up, &down); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	return p.replace(cutting.AddInnerDart(p.Piece, name, at, width, up, down))
}
