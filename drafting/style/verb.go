package style

import (
	"fmt"
	"slices"
	"sync"

	"go.starlark.net/starlark"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A Verb is a function that scripts call. Command verbs writes the reference
// for pattern cutters from this list.
type Verb struct {
	declaration
	params  []Param
	returns Kind
	phrases []Phrase
}

// A declaration declares a verb.
type declaration struct {
	Group     string // heading in the reference
	Signature string // name, parameters with their kinds, and result: see parseSignature

	// Sentence is how a cutter says a call: {edge} is a blank for the parameter of
	// that name. [...] is left out if none of its blanks is given, and <...> is said
	// for each argument of a parameter with any number of them, of which {edge.name}
	// is the name.
	Sentence string

	Doc string
	run func(c *call) (starlark.Value, error)
}

//go:generate go run ../../cmd/verbs reference

// Verbs returns all verbs in the order of the reference.
func Verbs() []Verb { return slices.Clone(verbs()) }

// verbs reads the signatures of all verbs on its first call.
var verbs = sync.OnceValue(func() []Verb {
	declared := slices.Concat(headVerbs, bodyVerbs, measureVerbs, sideVerbs, pointVerbs, lineVerbs, moveVerbs,
		shapeVerbs, dartVerbs, pleatVerbs, cutVerbs, gussetVerbs, deriveVerbs, collarVerbs, pocketVerbs, finishVerbs,
		notionVerbs, garmentVerbs, wearVerbs)
	all := make([]Verb, len(declared))
	for i, d := range declared {
		v := Verb{declaration: d}
		var err error
		if v.params, v.returns, err = parseSignature(d.Signature); err == nil {
			v.phrases, err = ParseSentence(d.Sentence, v.params)
		}
		if err != nil {
			panic(err) // the tests read every declaration
		}
		all[i] = v
	}
	return all
})

// verbCost is the number of interpreter steps that every call of a verb counts.
const verbCost = 40

// strokeCost is the number of steps that a verb counts for each stroke of its
// arguments: about what the length of a curve takes.
const strokeCost = 20

// strokes returns the number of strokes in the arguments of the call.
func (c *call) strokes() int {
	n := 0
	for _, v := range c.args {
		n += strokesOf(v)
	}
	for _, kv := range c.kwargs {
		n += strokesOf(kv[1])
	}
	return n
}

func strokesOf(v starlark.Value) int {
	switch v := v.(type) {
	case path:
		return len(v.Path)
	case *piece:
		return v.Strokes()
	}
	return 0
}

// predeclared returns the functions that a script can call.
func predeclared() starlark.StringDict {
	names := weighedFunctions()
	for name, f := range guards {
		names[name] = f
	}
	names["print"] = newBuiltin("print", printValues)
	for _, v := range verbs() {
		names[v.Name()] = builtin(v)
	}
	return names
}

func builtin(v Verb) *starlark.Builtin {
	name := v.Name()
	return newBuiltin(name, func(
		t *starlark.Thread, args starlark.Tuple, kw []starlark.Tuple,
	) (starlark.Value, error) {
		c := &call{run: runOf(t), verb: name, params: v.params, args: args, kwargs: kw}
		if err := c.spend(verbCost + strokeCost*c.strokes()); err != nil {
			return nil, err
		}
		result, err := v.run(c)
		if err != nil {
			return nil, err
		}
		if c.trace != nil {
			c.trace.record(c, &v, result)
		}
		return result, c.count(result)
	})
}

// newBuiltin returns f as a Starlark function.
func newBuiltin(name string,
	f func(t *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error),
) *starlark.Builtin {
	return starlark.NewBuiltin(name,
		func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
			return f(t, args, kw)
		})
}

// A call is one call of a verb.
type call struct {
	*run
	verb   string
	params []Param
	args   starlark.Tuple
	kwargs []starlark.Tuple
}

// unpack assigns the arguments to a variable for each of the verb's parameters, in
// their order. A *float64 takes a finite number and a *geom.Point a point. A
// parameter with the default None takes None as a missing argument.
func (c *call) unpack(variables ...any) error {
	pairs := make([]any, 0, 2*len(variables))
	for i, v := range variables {
		name := c.params[i].Name
		switch c.params[i].Default {
		case "":
		case "None":
			name += "??"
		default:
			name += "?"
		}
		pairs = append(pairs, name, unpacker(v))
	}
	return starlark.UnpackArgs(c.verb, c.args, c.kwargs, pairs...)
}

// unpackPositional assigns the positional arguments, all of them required. The
// verb reads the keyword arguments itself.
func (c *call) unpackPositional(variables ...any) error {
	for i, v := range variables {
		variables[i] = unpacker(v)
	}
	return starlark.UnpackPositionalArgs(c.verb, c.args, nil, len(variables), variables...)
}

func unpacker(variable any) any {
	switch v := variable.(type) {
	case *float64:
		return (*number)(v)
	case *geom.Point:
		return (*point)(v)
	}
	return variable
}

// eachNumber calls f for each keyword argument, which must be a number.
func (c *call) eachNumber(f func(name string, v float64) error) error {
	for _, kv := range c.kwargs {
		name, _ := starlark.AsString(kv[0])
		var v number
		if err := v.Unpack(kv[1]); err != nil {
			return c.errorf("for parameter %s: %w", name, err)
		}
		if err := f(name, float64(v)); err != nil {
			return err
		}
	}
	return nil
}

// errorf returns an error that begins with the verb's name.
func (c *call) errorf(format string, args ...any) error {
	return fmt.Errorf(c.verb+": "+format, args...)
}

// count counts the strokes and pieces of a verb's result against the limits.
func (r *run) count(v starlark.Value) error {
	switch v := v.(type) {
	case path:
		return r.draw(len(v.Path))
	case *piece:
		if over := v.OverLimits(); len(over) > 0 {
			return over[0]
		}
		return r.take(pieceBytes + strokeBytes*v.Strokes())
	case starlark.Tuple:
		for _, x := range v {
			if err := r.count(x); err != nil {
				return err
			}
		}
	}
	return nil
}

// edgePath returns an edge of the piece as a path, with its darts left out.
func (p *piece) edgePath(name string) (geom.Path, error) {
	run := p.Run(name)
	if len(run) == 0 {
		return nil, fmt.Errorf("piece %s: no edge %q; it has %v", p.Name, name, p.Runs())
	}
	return run, nil
}

// line returns the line of the piece with that name.
func (p *piece) line(name string) (geom.Path, error) {
	for _, l := range p.Lines {
		if l.Name == name {
			return l.Path, nil
		}
	}
	lines, _ := p.Attr("lines")
	return nil, fmt.Errorf("piece %s: no line %q; it has %v", p.Name, name, lines)
}

// dart returns the dart of the piece with that name.
func (p *piece) dart(name string) (pattern.Dart, error) {
	for _, d := range p.Darts {
		if d.Name == name {
			return d, nil
		}
	}
	darts, _ := p.Attr("darts")
	return pattern.Dart{}, fmt.Errorf("piece %s: no dart %q; it has %v", p.Name, name, darts)
}

// replace returns q as the next version of p, or the error of the operation
// that made it.
func (p *piece) replace(q pattern.Piece, err error) (starlark.Value, error) {
	if err != nil {
		return nil, err
	}
	return p.with(q), nil
}
