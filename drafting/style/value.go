package style

import (
	"fmt"
	"math"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A point is a point on the paper, or the vector between two points.
type point geom.Point

var _ starlark.HasBinary = point{}

func (p point) String() string        { return fmt.Sprintf("point(%.1f, %.1f)", p.X, p.Y) }
func (point) Type() string            { return "point" }
func (point) Freeze()                 {}
func (point) Truth() starlark.Bool    { return true }
func (p point) Hash() (uint32, error) { return 0, errUnhashable("point") }
func (p point) AttrNames() []string   { return []string{"x", "y"} }

func (p point) Attr(name string) (starlark.Value, error) {
	switch name {
	case "x":
		return starlark.Float(p.X), nil
	case "y":
		return starlark.Float(p.Y), nil
	}
	return nil, nil
}

func (p point) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	switch op {
	case syntax.PLUS, syntax.MINUS:
		q, ok := y.(point)
		if !ok || side == starlark.Right {
			return nil, nil
		}
		if op == syntax.PLUS {
			return point(geom.Point(p).Add(geom.Point(q))), nil
		}
		return point(geom.Point(p).Sub(geom.Point(q))), nil
	case syntax.STAR:
		if k, ok := starlark.AsFloat(y); ok {
			return point(geom.Point(p).Mul(k)), nil
		}
	}
	return nil, nil
}

// A path is a chain of lines and curves.
type path struct{ geom.Path }

var _ starlark.HasBinary = path{}

func (p path) String() string      { return fmt.Sprintf("path of %.1f mm", p.Length()) }
func (path) Type() string          { return "path" }
func (path) Freeze()               {}
func (path) Truth() starlark.Bool  { return true }
func (path) Hash() (uint32, error) { return 0, errUnhashable("path") }
func (path) AttrNames() []string {
	return []string{"end", "end_direction", "length", "reversed", "start", "start_direction"}
}

func (p path) Attr(name string) (starlark.Value, error) {
	switch name {
	case "start":
		return point(p.Start()), nil
	case "end":
		return point(p.End()), nil
	case "length":
		return starlark.Float(p.Length()), nil
	case "start_direction":
		return starlark.Float(degrees(p.StartTangent().Angle())), nil
	case "end_direction":
		return starlark.Float(degrees(p.EndTangent().Angle())), nil
	case "reversed":
		return path{p.Reverse()}, nil
	}
	return nil, nil
}

// Binary joins two paths with +. A straight line closes a gap between them.
func (p path) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	q, ok := y.(path)
	if op != syntax.PLUS || !ok || side == starlark.Right {
		return nil, nil
	}
	if len(p.Path)+len(q.Path) > maxPath {
		return nil, fmt.Errorf("a path of more than %d strokes", maxPath)
	}
	return path{joinPaths(p.Path, q.Path)}, nil
}

func joinPaths(a, b geom.Path) geom.Path {
	if len(a) == 0 || len(b) == 0 || a.End().Near(b.Start(), geom.JoinTol) {
		return geom.Join(a, b)
	}
	return geom.Join(a, geom.Path{geom.Line(a.End(), b.Start())}, b)
}

func degrees(angle float64) float64 { return angle * 180 / math.Pi }
func radians(angle float64) float64 { return angle * math.Pi / 180 }

// A piece is a piece of the pattern whose edges are not yet cut at darts and
// seams. It is immutable: verbs return new pieces.
type piece struct {
	pattern.Piece
	over bool // to be turned over when the garment is assembled
}

func (p *piece) String() string        { return "piece " + p.Name }
func (*piece) Type() string            { return "piece" }
func (*piece) Freeze()                 {}
func (*piece) Truth() starlark.Bool    { return true }
func (p *piece) Hash() (uint32, error) { return 0, errUnhashable("piece") }
func (*piece) AttrNames() []string {
	return []string{"bottom", "darts", "edges", "grain", "height", "left", "lines", "marks", "name", "right", "title",
		"top", "width"}
}

func (p *piece) Attr(name string) (starlark.Value, error) {
	switch name {
	case "name":
		return starlark.String(p.Name), nil
	case "title":
		return starlark.String(p.Title), nil
	case "edges":
		return stringTuple(p.Runs()), nil
	case "darts":
		return distinctNames(p.Darts, func(d pattern.Dart) string { return d.Name }), nil
	case "lines":
		return distinctNames(p.Lines, func(l pattern.Line) string { return l.Name }), nil
	case "marks":
		return distinctNames(p.Marks, func(m pattern.Mark) string { return m.Name }), nil
	case "grain":
		return path{geom.Path{p.Grain}}, nil
	}
	return p.extent(name), nil
}

// extent returns a limit or size of the piece's bounding box, nil if name is
// none of them.
func (p *piece) extent(name string) starlark.Value {
	box := p.Outline().Bounds()
	switch name {
	case "left":
		return starlark.Float(box.Min.X)
	case "right":
		return starlark.Float(box.Max.X)
	case "top":
		return starlark.Float(box.Min.Y)
	case "bottom":
		return starlark.Float(box.Max.Y)
	case "width":
		return starlark.Float(box.Width())
	case "height":
		return starlark.Float(box.Height())
	}
	return nil
}

func distinctNames[T any](list []T, name func(T) string) starlark.Tuple {
	var names []string
	for _, x := range list {
		if n := name(x); !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return stringTuple(names)
}

func stringTuple(list []string) starlark.Tuple {
	t := make(starlark.Tuple, len(list))
	for i, s := range list {
		t[i] = starlark.String(s)
	}
	return t
}

// with returns q as the next version of p.
func (p *piece) with(q pattern.Piece) *piece { return &piece{q, p.over} }

// A record is a fixed set of named values: the body, the ease, the choices, the
// block.
type record struct {
	kind    string // of its values, for errors: measurement, choice
	names   []string
	values  map[string]starlark.Value
	missing func(name string) error // returns the reason for a missing value; nil for the usual one
}

func newRecord(kind string) *record { return &record{kind: kind, values: map[string]starlark.Value{}} }

func (r *record) set(name string, v starlark.Value) {
	r.names = append(r.names, name)
	r.values[name] = v
}

func (r *record) String() string      { return r.kind }
func (r *record) Type() string        { return r.kind }
func (*record) Freeze()               {}
func (*record) Truth() starlark.Bool  { return true }
func (*record) Hash() (uint32, error) { return 0, errUnhashable("record") }
func (r *record) AttrNames() []string { return r.names }

var _ starlark.Mapping = (*record)(nil)

// Get returns the value of an index expression: ease["bust_girth"].
func (r *record) Get(key starlark.Value) (starlark.Value, bool, error) {
	name, ok := starlark.AsString(key)
	if !ok {
		return nil, false, typeError(key, "the name of a "+r.kind)
	}
	v, err := r.Attr(name)
	return v, v != nil, err
}

func (r *record) Attr(name string) (starlark.Value, error) {
	if name == "has" {
		return newBuiltin("has", r.has), nil
	}
	if v, ok := r.values[name]; ok {
		return v, nil
	}
	if r.missing != nil {
		return nil, r.missing(name)
	}
	return nil, nil
}

func (r *record) has(_ *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name string
	err := starlark.UnpackArgs("has", args, kwargs, "name", &name)
	_, ok := r.values[name]
	return starlark.Bool(ok), err
}
