package style

import (
	"maps"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A Trace records how a script drafts: its calls of verbs, and so which of them made
// and last changed everything in the pattern. A later draft replaces what is recorded.
// A Trace is not safe for concurrent use.
type Trace struct {
	calls []TracedCall
	of    map[*piece]int        // the call that returned a piece
	drew  map[*geom.Segment]int // the call that returned a path, by its first stroke
	runs  [][]*piece            // the pieces of the garment; last those of the right and the left side, if they differ
	sided bool
}

// A Place is a position in a script: the opening bracket of a call. The zero Place is
// the block.
type Place struct{ Line, Column int }

// A TracedCall is one call of a verb.
type TracedCall struct {
	At   Place // the call
	Make Place // what make called that led to it: the same, or a function of the script

	verb   *Verb
	args   starlark.Tuple
	kwargs []starlark.Tuple
	result starlark.Value
}

// An Origin says where something of the pattern comes from.
type Origin struct{ Made, Changed Site }

// A Site is a call in the script, and what make called that led to it.
type Site struct{ At, Make Place }

// A Thing is a part of a piece, or with an empty Kind the piece.
type Thing struct {
	Piece string
	Kind  Kind // KindEdge, KindDart, KindLine or KindMark
	Name  string
}

// Tracing returns the style with a trace that receives how it drafts. Other styles
// trace nothing.
func (s *Style) Tracing(to *Trace) *Style {
	tracing := *s
	tracing.trace = to
	return &tracing
}

func (t *Trace) reset() {
	*t = Trace{calls: t.calls[:0], of: map[*piece]int{}, drew: map[*geom.Segment]int{}}
}

// finish notes the pieces that a run of the script returned.
func (t *Trace) finish(pieces []*piece) { t.runs = append(t.runs, pieces) }

// garment returns the pieces of the garment, or those of each side: the script runs for
// both, right first, until they agree.
func (t *Trace) garment() [][]*piece {
	if t.sided {
		return t.runs[max(0, len(t.runs)-2):]
	}
	return t.runs[max(0, len(t.runs)-1):]
}

// record adds a call that returned.
func (t *Trace) record(c *call, v *Verb, result starlark.Value) {
	depth := c.thread.CallStackDepth()
	if depth < 2 {
		return
	}
	recorded := TracedCall{At: placeOf(c.thread.CallFrame(1)), verb: v, args: c.args, kwargs: c.kwargs, result: result}
	recorded.Make = recorded.At
	if depth > 2 {
		recorded.Make = placeOf(c.thread.CallFrame(depth - 1))
	}
	t.keep(result, len(t.calls))
	t.calls = append(t.calls, recorded)
}

func placeOf(f starlark.CallFrame) Place { return Place{int(f.Pos.Line), int(f.Pos.Col)} }

// keep notes the pieces that a call returned.
func (t *Trace) keep(v starlark.Value, call int) {
	switch v := v.(type) {
	case *piece:
		t.of[v] = call
	case path:
		eachPath(v, func(at *geom.Segment) { t.drew[at] = call })
	case starlark.Tuple:
		for _, x := range v {
			t.keep(x, call)
		}
	}
}

// Calls returns the calls in the order in which the script made them.
func (t *Trace) Calls() []TracedCall { return t.calls }

// Origin returns where a thing of the garment comes from, and false if the garment does
// not have it. In a pattern whose sides differ it is asked for by the name of either
// side.
func (t *Trace) Origin(of Thing) (Origin, bool) {
	for _, p := range slices.Concat(t.garment()...) {
		if !isNamed(of.Piece, p.Name) {
			continue
		}
		for _, name := range []string{of.Name, withoutSide(of.Name)} {
			if exact := (Thing{p.Name, of.Kind, name}); p.hasThing(exact) {
				return t.trace(p, exact), true
			}
		}
	}
	return Origin{}, false
}

// Length returns the length of an edge of the garment, its darts closed, mm, and false if
// the garment does not have it. It is known too of a garment that cannot be sewn.
func (t *Trace) Length(piece, edge string) (mm float64, ok bool) {
	for _, p := range slices.Concat(t.garment()...) {
		if isNamed(piece, p.Name) && slices.Contains(p.Runs(), edge) {
			return p.RunLength(edge), true
		}
	}
	return 0, false
}

// Loose returns the pieces of the garment before they are sewn together, all that there is
// of a garment that cannot be sewn. Of a garment whose sides differ it returns nil.
func (t *Trace) Loose() []pattern.Piece {
	if len(t.runs) == 0 || t.sided {
		return nil
	}
	loose := loosePieces(t.runs[len(t.runs)-1])
	for i := range loose {
		loose[i] = cutting.Numbered(loose[i])
	}
	return loose
}

// Sites returns the calls that a piece of the garment went through, in the order in which
// the script made them.
func (t *Trace) Sites(piece string) []Site {
	calls := map[int]bool{}
	for _, p := range slices.Concat(t.garment()...) {
		if isNamed(piece, p.Name) {
			t.collect(p, calls)
		}
	}
	var sites []Site
	for _, i := range slices.Sorted(maps.Keys(calls)) {
		sites = append(sites, Site{t.calls[i].At, t.calls[i].Make})
	}
	return sites
}

// isNamed reports whether a name is that of a piece, or of one of its sides.
func isNamed(name, piece string) bool { return name == piece || withoutSide(name) == piece }

func withoutSide(name string) string {
	return strings.TrimPrefix(strings.TrimPrefix(name, "left_"), "right_")
}

// trace follows a piece back through the calls that it went through.
func (t *Trace) trace(p *piece, of Thing) Origin {
	var origin Origin
	changed := false
	for {
		i, ok := t.of[p]
		if !ok {
			return origin // the block's
		}
		c := t.calls[i]
		before := c.before(p, of)
		site := Site{c.At, c.Make}
		if !changed && (before == nil || !before.same(p, of)) {
			origin.Changed, changed = site, true
		}
		if before == nil {
			origin.Made = site
			return origin
		}
		p = before
	}
}

// before returns the argument of a call that has the thing already, nil if it is new.
func (c *TracedCall) before(p *piece, of Thing) *piece {
	var found *piece
	c.eachPiece(func(q *piece) {
		if found != nil || !q.hasThing(of) || of.Kind == "" && q.Name != p.Name {
			return
		}
		found = q
	})
	return found
}

// eachPiece calls f for the pieces in the arguments.
func (c *TracedCall) eachPiece(f func(*piece)) {
	for _, a := range c.args {
		if q, ok := a.(*piece); ok {
			f(q)
		}
	}
	for _, kv := range c.kwargs {
		if q, ok := kv[1].(*piece); ok {
			f(q)
		}
	}
}

// Verb returns the verb.
func (c *TracedCall) Verb() Verb { return *c.verb }

// Result returns what the call returned.
func (c *TracedCall) Result() Datum { return datumOf(c.result) }

// Arguments returns the arguments of a parameter: one, none if the call leaves it out
// or gives None, or several of a parameter that takes them.
func (c *TracedCall) Arguments(param string) []Datum {
	var list []Datum
	add := func(name string, v starlark.Value) {
		if v != starlark.None {
			d := datumOf(v)
			d.Name = name
			list = append(list, d)
		}
	}
	for at, p := range c.verb.params {
		if p.Name != param {
			continue
		}
		switch {
		case p.Rest == Named:
			for _, kv := range c.kwargs {
				if key, _ := starlark.AsString(kv[0]); !c.verb.has(key) {
					add(key, kv[1])
				}
			}
		case p.Rest == Positional && at < len(c.args):
			for _, v := range c.args[at:] {
				add("", v)
			}
		case at < len(c.args):
			add("", c.args[at])
		default:
			for _, kv := range c.kwargs {
				if key, _ := starlark.AsString(kv[0]); key == param {
					add("", kv[1])
				}
			}
		}
	}
	return list
}

// has reports whether the verb has a parameter with that name for a single argument.
func (v Verb) has(name string) bool {
	return slices.ContainsFunc(v.params, func(p Param) bool { return p.Name == name && p.Rest != Named })
}

// A Datum is a value of a script as a sentence says it.
type Datum struct {
	Name   string // of an argument whose name the script chose
	Kind   Kind   // KindNumber, KindText, KindTexts, KindYesNo, KindLengths, KindPosition, KindPiece; "" for others
	Number float64
	Text   string // of a piece, its title
	Texts  []string
	List   []float64
}

func datumOf(v starlark.Value) Datum {
	switch v := v.(type) {
	case starlark.String:
		return Datum{Kind: KindText, Text: string(v)}
	case starlark.Bool:
		return Datum{Kind: KindYesNo, Text: map[bool]string{true: "yes", false: "no"}[bool(v)]}
	case *piece:
		return Datum{Kind: KindPiece, Text: v.Title}
	case starlark.Indexable:
		return datumOfList(v)
	}
	if f, ok := starlark.AsFloat(v); ok {
		return Datum{Kind: KindNumber, Number: f}
	}
	return Datum{}
}

func datumOfList(v starlark.Indexable) Datum {
	var at position
	if at.Unpack(v) == nil {
		return Datum{Kind: KindPosition, Text: at.Run, Number: at.At}
	}
	var list names
	if v.Len() > 0 && list.Unpack(v) == nil {
		return Datum{Kind: KindTexts, Texts: list}
	}
	var values numbers
	if v.Len() > 0 && values.Unpack(v) == nil {
		return Datum{Kind: KindLengths, List: values}
	}
	return Datum{}
}

// A History is how a piece of the garment came to be.
type History struct {
	Title string
	Calls []*TracedCall // in the order in which the script made them
}

// Histories returns how the pieces of the garment came to be, or those of the right and
// of the left side if these differ.
func (t *Trace) Histories() [][]History {
	var all [][]History
	for _, pieces := range t.garment() {
		all = append(all, t.histories(pieces))
	}
	return all
}

// histories returns how pieces came to be. A call for several is in the history of the
// first.
func (t *Trace) histories(pieces []*piece) []History {
	var all []History
	told := map[int]bool{}
	for _, p := range pieces {
		calls := map[int]bool{}
		t.collect(p, calls)
		h := History{Title: p.Title}
		for _, i := range slices.Sorted(maps.Keys(calls)) {
			if !told[i] {
				told[i] = true
				h.Calls = append(h.Calls, &t.calls[i])
			}
		}
		all = append(all, h)
	}
	return all
}

// collect adds the calls that a piece went through.
func (t *Trace) collect(p *piece, calls map[int]bool) {
	if i, ok := t.of[p]; ok {
		t.collectCall(i, calls)
	}
}

func (t *Trace) collectCall(i int, calls map[int]bool) {
	if calls[i] {
		return
	}
	calls[i] = true
	t.calls[i].eachPiece(func(q *piece) { t.collect(q, calls) })
	t.calls[i].eachPath(func(at *geom.Segment) {
		if j, ok := t.drew[at]; ok {
			t.collectCall(j, calls)
		}
	})
}

// eachPath calls f for the first stroke of each path in the arguments, by which a path
// is known again.
func (c *TracedCall) eachPath(f func(*geom.Segment)) {
	for _, a := range c.args {
		eachPath(a, f)
	}
	for _, kv := range c.kwargs {
		eachPath(kv[1], f)
	}
}

func eachPath(v starlark.Value, f func(*geom.Segment)) {
	if p, ok := v.(path); ok && len(p.Path) > 0 {
		f(&p.Path[0])
	}
}
