package style

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

// A Verb is one function that scripts call. The reference for pattern cutters
// is made from these.
type Verb struct {
	Group string // under which it stands in the reference
	Use   string // how it is written: name(arguments)
	Doc   string
	call  func(r *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error)
}

// Name is the verb itself.
func (v Verb) Name() string {
	name, _, _ := strings.Cut(v.Use, "(")
	return name
}

//go:generate go run ../../cmd/verbs reference

// Verbs are all of them, in the order of the reference.
func Verbs() []Verb {
	return slices.Concat(headVerbs, bodyVerbs, measureVerbs, pointVerbs, lineVerbs, moveVerbs, shapeVerbs, dartVerbs, cutVerbs, deriveVerbs, finishVerbs, makingVerbs)
}

// verbCost is what any verb counts in steps.
const verbCost = 40

// predeclared is all that a script finds there.
func predeclared() starlark.StringDict {
	names := weighedFunctions()
	for name, f := range guards {
		names[name] = f
	}
	for _, v := range Verbs() {
		names[v.Name()] = builtin(v)
	}
	return names
}

func builtin(v Verb) *starlark.Builtin {
	return starlark.NewBuiltin(v.Name(), func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
		r := runOf(t)
		if err := r.spend(verbCost); err != nil {
			return nil, err
		}
		result, err := v.call(r, args, kwargs)
		if err != nil {
			return nil, err
		}
		return result, r.count(result)
	})
}

// count counts what a verb made.
func (r *run) count(v starlark.Value) error {
	switch v := v.(type) {
	case path:
		return r.draw(len(v.Path))
	case *piece:
		if r.pieces++; r.pieces > maxPieces {
			return fmt.Errorf("more than %d pieces made", maxPieces)
		}
		if len(v.Edges) > 200 {
			return fmt.Errorf("piece %s: %d edges, at most 200", v.Name, len(v.Edges))
		}
		if len(v.Darts)+len(v.Notches)+len(v.Marks)+len(v.Lines) > 1000 {
			return fmt.Errorf("piece %s: more than 1000 darts, notches, marks and lines", v.Name)
		}
		n := 0
		for _, e := range v.Edges {
			n += len(e.Path)
		}
		return r.draw(n)
	case starlark.Tuple:
		for _, x := range v {
			if err := r.count(x); err != nil {
				return err
			}
		}
	}
	return nil
}

// edgePath is an edge of a piece as a path.
func edgePath(p *piece, name string) (geom.Path, error) {
	run := p.Run(name)
	if len(run) == 0 {
		return nil, fmt.Errorf("piece %s: no edge %q; it has %v", p.Name, name, p.Runs())
	}
	return run, nil
}

// place is a spot of a piece.
func (s spot) place() cutting.Position { return cutting.Position{Run: s.edge, At: s.at} }
