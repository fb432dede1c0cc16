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

// A point is a place on the paper, or the step from one place to another.
type point geom.Point

var _ starlark.HasBinary = point{}

func (p point) String() string        { return fmt.Sprintf("point(%.1f, %.1f)", p.X, p.Y) }
func (point) Type() string            { return "point" }
func (point) Freeze()                 {}
func (point) Truth() starlark.Bool    { return true }
func (p point) Hash() (uint32, error) { return 0, fmt.Errorf("a point can't be a key") }
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

// A path is a line or curve, or several one after another.
type path struct{ geom.Path }

var _ starlark.HasBinary = path{}

func (p path) String() string      { return fmt.Sprintf("path of %.1f mm", p.Length()) }
func (path) Type() string          { return "path" }
func (path) Freeze()               {}
func (path) Truth() starlark.Bool  { return true }
func (path) Hash() (uint32, error) { return 0, fmt.Errorf("a path can't be a key") }
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

// Binary joins two paths by +; a gap between them is closed by a straight line.
func (p path) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	q, ok := y.(path)
	if op != syntax.PLUS || !ok || side == starlark.Right {
		return nil, nil
	}
	if len(p.Path)+len(q.Path) > maxPath {
		return nil, fmt.Errorf("a path of more than %d strokes", maxPath)
	}
	return path{joined(p.Path, q.Path)}, nil
}

func joined(a, b geom.Path) geom.Path {
	if len(a) == 0 || len(b) == 0 || a.End().Near(b.Start(), geom.JoinTol) {
		return geom.Join(a, b)
	}
	return geom.Join(a, geom.Path{geom.Line(a.End(), b.Start())}, b)
}

func degrees(angle float64) float64 { return angle * 180 / math.Pi }
func radians(angle float64) float64 { return angle * math.Pi / 180 }

// A piece is a loose piece of the pattern. It never changes: a verb gives a
// new one.
type piece struct {
	pattern.Piece
	over bool // it is turned over when it is cut: see Making
}

func (p *piece) String() string        { return "piece " + p.Name }
func (*piece) Type() string            { return "piece" }
func (*piece) Freeze()                 {}
func (*piece) Truth() starlark.Bool    { return true }
func (p *piece) Hash() (uint32, error) { return 0, fmt.Errorf("a piece can't be a key") }
func (*piece) AttrNames() []string {
	return []string{"bottom", "darts", "edges", "grain", "height", "left", "lines", "marks", "name", "right", "title", "top", "width"}
}

func (p *piece) Attr(name string) (starlark.Value, error) {
	switch name {
	case "name":
		return starlark.String(p.Name), nil
	case "title":
		return starlark.String(p.Title), nil
	case "edges":
		return texts(p.Runs()), nil
	case "darts":
		var names []string
		for _, d := range p.Darts {
			names = append(names, d.Name)
		}
		return texts(names), nil
	case "lines":
		var names []string
		for _, l := range p.Lines {
			if !slices.Contains(names, l.Name) {
				names = append(names, l.Name)
			}
		}
		return texts(names), nil
	case "marks":
		var names []string
		for _, k := range p.Marks {
			names = append(names, k.Name)
		}
		return texts(names), nil
	case "grain":
		return path{geom.Path{p.Grain}}, nil
	}
	box := p.Outline().Bounds()
	switch name {
	case "left":
		return starlark.Float(box.Min.X), nil
	case "right":
		return starlark.Float(box.Max.X), nil
	case "top":
		return starlark.Float(box.Min.Y), nil
	case "bottom":
		return starlark.Float(box.Max.Y), nil
	case "width":
		return starlark.Float(box.Width()), nil
	case "height":
		return starlark.Float(box.Height()), nil
	}
	return nil, nil
}

func texts(list []string) starlark.Tuple {
	t := make(starlark.Tuple, len(list))
	for i, s := range list {
		t[i] = starlark.String(s)
	}
	return t
}

// with is the piece after a verb.
func (p *piece) with(q pattern.Piece) *piece { return &piece{q, p.over} }

// record is a fixed set of named values: the body, the ease, the choices, the
// block.
type record struct {
	what   string // for errors: measurement, choice
	names  []string
	values map[string]starlark.Value
	absent func(name string) error // why a name that is known has no value; nil for none
}

func (r *record) String() string      { return r.what }
func (r *record) Type() string        { return r.what }
func (*record) Freeze()               {}
func (*record) Truth() starlark.Bool  { return true }
func (*record) Hash() (uint32, error) { return 0, fmt.Errorf("it can't be a key") }
func (r *record) AttrNames() []string { return r.names }

var _ starlark.Mapping = (*record)(nil)

// Get is what stands in brackets: ease["bust_girth"].
func (r *record) Get(key starlark.Value) (starlark.Value, bool, error) {
	name, ok := starlark.AsString(key)
	if !ok {
		return nil, false, fmt.Errorf("got %s, want the name of a %s", key.Type(), r.what)
	}
	v, err := r.Attr(name)
	return v, v != nil, err
}

func (r *record) Attr(name string) (starlark.Value, error) {
	if name == "has" {
		return starlark.NewBuiltin("has", func(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
			var name string
			err := starlark.UnpackArgs("has", args, kwargs, "name", &name)
			_, ok := r.values[name]
			return starlark.Bool(ok), err
		}), nil
	}
	if v, ok := r.values[name]; ok {
		return v, nil
	}
	if r.absent != nil {
		return nil, r.absent(name)
	}
	return nil, nil
}
