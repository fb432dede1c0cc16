package style

import (
	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

var moveVerbs = []declaration{
	{"Move", `shift(x shape, right length=0, down length=0) shape`,
		`Move {x}[ {right} to the right][ {down} down].`,
		`Returns a piece, path or point moved right and down by mm.`,
		shift},
	{"Move", `turn(x shape, about point, degrees angle) shape`,
		`Turn {x} clockwise by {degrees} about {about}.`,
		`Returns a piece, path or point turned clockwise about a point.`,
		turn},
	{"Move", `mirror(x shape, a point, b point) shape`,
		`Mirror {x} in the straight line through {a} and {b}.`,
		`Returns a piece, path or point mirrored in the straight line through two points. The edges of a piece still ` +
			`run clockwise; a path keeps its direction.`,
		mirror},
	{"Move", `lay(x shape, a point, b point, c point, d point, over yesno=False) shape`,
		`Lay {x}[, {over}turned over,] so that its line from {a} to {b} lies on the line from {c} to {d}.`,
		`Returns a piece, path or point moved so that its line from a to b lies on the line from c towards d, with a ` +
			`on c. over=True turns it over first.`,
		lay},
	{"Move", `unfold(piece, edge, other name="other_") piece`,
		`Unfold {piece} at its {edge}[, with {other} before the names of the new edges].`,
		`Returns a half piece unfolded about its straight edge. The edges of the new half have other in front of ` +
			`their names, except those that continue across the fold.`,
		unfold},
	{"Move", `turned_over(piece) piece`,
		`Cut {piece} turned over.`,
		`Returns the piece marked to be cut turned over, like a facing or lining that lies face to face with its piece.`,
		turnedOver},
}

// move applies a motion to a point, path or piece.
func (c *call) move(v starlark.Value, m geom.Motion) (starlark.Value, error) {
	switch v := v.(type) {
	case point:
		return point(m.Apply(geom.Point(v))), nil
	case path:
		return path{v.Path.Move(m)}, nil
	case *piece:
		return v.with(v.Piece.Move(m)), nil
	}
	return nil, c.errorf("got %s, want a piece, path or point", v.Type())
}

func shift(c *call) (starlark.Value, error) {
	var x starlark.Value
	var right, down float64
	if err := c.unpack(&x, &right, &down); err != nil {
		return nil, err
	}
	return c.move(x, geom.Shift(geom.Pt(right, down)))
}

func turn(c *call) (starlark.Value, error) {
	var x starlark.Value
	var about geom.Point
	var angle float64
	if err := c.unpack(&x, &about, &angle); err != nil {
		return nil, err
	}
	return c.move(x, geom.Turn(about, radians(angle)))
}

func mirror(c *call) (starlark.Value, error) {
	var x starlark.Value
	var a, b geom.Point
	if err := c.unpack(&x, &a, &b); err != nil {
		return nil, err
	}
	if a.Near(b, geom.JoinTol) {
		return nil, c.errorf("points a and b are equal")
	}
	return c.move(x, geom.Reflect(a, b.Sub(a)))
}

func lay(c *call) (starlark.Value, error) {
	var x starlark.Value
	var from, to [2]geom.Point
	var over bool
	err := c.unpack(&x, &from[0], &from[1], &to[0], &to[1], &over)
	if err != nil {
		return nil, err
	}
	if from[0].Near(from[1], geom.JoinTol) || to[0].Near(to[1], geom.JoinTol) {
		return nil, c.errorf("both points of a line are equal")
	}
	return c.move(x, cutting.Onto(from[0], from[1], to[0], to[1], over))
}

func unfold(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	other := "other_"
	if err := c.unpack(&p, &name, &other); err != nil {
		return nil, err
	}
	if err := checkName(other); err != nil {
		return nil, c.errorf("other: %w", err)
	}
	return p.replace(cutting.Unfold(p.Piece, name, other))
}

func turnedOver(c *call) (starlark.Value, error) {
	var p *piece
	if err := c.unpack(&p); err != nil {
		return nil, err
	}
	return &piece{p.Piece, !p.over}, nil
}
