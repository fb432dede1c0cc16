package style

import (
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

var moveVerbs = []Verb{
	{"Move", `shift(x, right=0, down=0)`,
		`A piece, path or point moved so many mm.`,
		shift},
	{"Move", `turn(x, about, degrees)`,
		`A piece, path or point turned clockwise about a point.`,
		turn},
	{"Move", `mirror(x, a, b)`,
		`A piece, path or point turned over in the straight line through two points. A piece is still walked clockwise afterwards; a path is walked as before.`,
		mirror},
	{"Move", `lay(x, a, b, c, d, over=False)`,
		`A piece, path or point moved so that its line from a to b lies on the line from c towards d, a on c. With over=True it is turned over first.`,
		lay},
	{"Move", `unfold(piece, edge, other="other_")`,
		`A half piece opened out about its straight edge. Edges of the new half have other in front of their names, but for those that run on over the fold.`,
		unfold},
	{"Move", `turned_over(piece)`,
		`The piece as the other hand's: it will be cut turned over, as a facing or lining is that lies face to face with its piece.`,
		turnedOver},
}

// moved is what a motion does to a value.
func moved(v starlark.Value, m geom.Motion) (starlark.Value, error) {
	switch v := v.(type) {
	case point:
		return point(m.Apply(geom.Point(v))), nil
	case path:
		return path{v.Path.Move(m)}, nil
	case *piece:
		return v.with(v.Piece.Move(m)), nil
	}
	return nil, fmt.Errorf("got %s, want a piece, path or point", v.Type())
}

func shift(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	var right, down mm
	if err := starlark.UnpackArgs("shift", args, kwargs, "x", &x, "right?", &right, "down?", &down); err != nil {
		return nil, err
	}
	return moved(x, geom.Shift(geom.Pt(float64(right), float64(down))))
}

func turn(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	var about point
	var angle mm
	if err := starlark.UnpackArgs("turn", args, kwargs, "x", &x, "about", &about, "degrees", &angle); err != nil {
		return nil, err
	}
	return moved(x, geom.Turn(geom.Point(about), radians(float64(angle))))
}

func mirror(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	var a, b point
	if err := starlark.UnpackArgs("mirror", args, kwargs, "x", &x, "a", &a, "b", &b); err != nil {
		return nil, err
	}
	if geom.Point(a).Near(geom.Point(b), geom.JoinTol) {
		return nil, fmt.Errorf("mirror: both points of the line are the same")
	}
	return moved(x, geom.Reflect(geom.Point(a), geom.Point(b).Sub(geom.Point(a))))
}

func lay(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var x starlark.Value
	var a, b, c, d point
	var over bool
	if err := starlark.UnpackArgs("lay", args, kwargs, "x", &x, "a", &a, "b", &b, "c", &c, "d", &d, "over?", &over); err != nil {
		return nil, err
	}
	if geom.Point(a).Near(geom.Point(b), geom.JoinTol) || geom.Point(c).Near(geom.Point(d), geom.JoinTol) {
		return nil, fmt.Errorf("lay: both points of a line are the same")
	}
	return moved(x, cutting.Onto(geom.Point(a), geom.Point(b), geom.Point(c), geom.Point(d), over))
}

func unfold(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name string
	other := "other_"
	if err := starlark.UnpackArgs("unfold", args, kwargs, "piece", &p, "edge", &name, "other?", &other); err != nil {
		return nil, err
	}
	if other == "" || !validName(other) {
		return nil, fmt.Errorf("unfold: other=%q; lower case letters, digits and _", other)
	}
	q, err := cutting.Unfold(p.Piece, name, other)
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}

func turnedOver(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	if err := starlark.UnpackArgs("turned_over", args, kwargs, "piece", &p); err != nil {
		return nil, err
	}
	return &piece{p.Piece, !p.over}, nil
}
