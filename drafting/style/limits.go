package style

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"tapeline/drafting/pattern"
)

// What a script may at most be and use. A garment with every choice stays
// below a hundredth of each.
const (
	maxSource   = 128 << 10 // bytes of script
	maxString   = 16 << 10  // bytes of one text
	maxList     = 20_000    // entries of one list
	maxSteps    = 1_000_000 // steps of the interpreter; verbs count by what they do
	maxMemory   = 32 << 20  // bytes of texts and lists made
	maxSegments = 500_000   // strokes drawn
	maxPath     = 2_000     // strokes of one path
	maxPieces   = 4_000     // pieces made on the way
	maxGarment  = 120       // pieces of a garment
)

// A run is one execution of a script.
type run struct {
	ctx      context.Context
	thread   *starlark.Thread
	memory   int
	segments int
	pieces   int

	making   bool // false while the head is read
	requires []requirement
	checks   []pattern.Check
	head     *Head // being declared
	heads    int
}

const runKey = "run"

func runOf(t *starlark.Thread) *run { return t.Local(runKey).(*run) }

// newThread is a thread that can't print, load or run on.
func newThread(ctx context.Context, name string) (*starlark.Thread, *run) {
	if ctx == nil {
		ctx = context.Background()
	}
	t := &starlark.Thread{
		Name:  name,
		Print: func(*starlark.Thread, string) {},
		Load: func(*starlark.Thread, string) (starlark.StringDict, error) {
			return nil, errors.New("load is not offered: a style is one script")
		},
		OnMaxSteps: func(t *starlark.Thread) { t.Cancel(tooManySteps) },
	}
	t.SetMaxExecutionSteps(maxSteps)
	r := &run{ctx: ctx, thread: t}
	t.SetLocal(runKey, r)
	return t, r
}

const tooManySteps = "more steps than a style may take: does a loop run on?"

// spend counts work done inside a verb as steps, and stops where the run was
// called off.
func (r *run) spend(steps int) error {
	if err := r.ctx.Err(); err != nil {
		return err
	}
	r.thread.Steps += uint64(steps)
	if r.thread.Steps > maxSteps {
		return errors.New(tooManySteps)
	}
	return nil
}

// take counts memory.
func (r *run) take(bytes int) error {
	if r.memory += bytes; r.memory > maxMemory {
		return fmt.Errorf("more than %d MB of texts and lists", maxMemory>>20)
	}
	return r.spend(bytes >> 8)
}

// draw counts strokes.
func (r *run) draw(segments int) error {
	if segments > maxPath {
		return fmt.Errorf("a path of %d strokes; at most %d", segments, maxPath)
	}
	if r.segments += segments; r.segments > maxSegments {
		return fmt.Errorf("more than %d strokes drawn", maxSegments)
	}
	return r.spend(2 * segments)
}

// weigh refuses a value that is too large, or nested too deep, to be copied,
// compared, written or used as a key, and counts what that costs.
func (r *run) weigh(v starlark.Value) error {
	n, err := weight(v, 0, 0)
	if err != nil {
		return err
	}
	return r.take(16 * n)
}

var errNested = errors.New("a list too large, or lists nested too deep, to be copied, compared or used as a key")

func weight(v starlark.Value, sum, depth int) (int, error) {
	if depth > 8 {
		return sum, errNested
	}
	switch v := v.(type) {
	case starlark.String:
		sum += 1 + len(v)/16
	case starlark.Tuple:
		return weightOf(v, sum, depth)
	case *starlark.List:
		if sum += v.Len(); sum > maxList {
			return sum, errNested
		}
		var err error
		for i := range v.Len() {
			if sum, err = weight(v.Index(i), sum, depth+1); err != nil {
				return sum, err
			}
		}
	case *starlark.Dict:
		for _, item := range v.Items() {
			var err error
			if sum, err = weightOf(item, sum, depth); err != nil {
				return sum, err
			}
		}
	default:
		if s, ok := v.(starlark.Sequence); ok {
			sum += s.Len()
		}
		sum++
	}
	if sum > maxList {
		return sum, errNested
	}
	return sum, nil
}

func weightOf(list []starlark.Value, sum, depth int) (int, error) {
	if sum += len(list) + 1; sum > maxList {
		return sum, errNested
	}
	var err error
	for _, v := range list {
		if sum, err = weight(v, sum, depth+1); err != nil {
			return sum, err
		}
	}
	return sum, nil
}

// weighBinary refuses an operation whose result would be too large.
func (r *run) weighBinary(op syntax.Token, x, y starlark.Value) error {
	switch op {
	case syntax.LTLT, syntax.GTGT, syntax.AMP, syntax.CIRCUMFLEX:
		return errors.New("bit operations are not offered")
	}
	if plain(x) && plain(y) {
		return nil
	}
	switch op {
	case syntax.PLUS, syntax.PIPE:
		return r.size(sizeOf(x) + sizeOf(y))
	case syntax.STAR:
		if a, ok := x.(starlark.Int); ok {
			return r.repeat(a, y)
		}
		if b, ok := y.(starlark.Int); ok {
			return r.repeat(b, x)
		}
		return nil
	case syntax.PERCENT:
		if _, ok := x.(starlark.String); !ok {
			return nil
		}
		if err := r.weigh(y); err != nil {
			return err
		}
		if t, ok := y.(starlark.Tuple); ok && slices.ContainsFunc(t, compound) || compound(y) && !ok {
			return errors.New("only numbers and texts are written into a text")
		}
		return r.size(sizeOf(x) + written(y))
	}
	if err := r.weigh(x); err != nil {
		return err
	}
	return r.weigh(y)
}

// compound reports whether a value holds others.
func compound(v starlark.Value) bool {
	switch v.(type) {
	case *starlark.List, *starlark.Dict, starlark.Tuple, *starlark.Set:
		return true
	}
	return false
}

// written is the most bytes that values take when written into a text.
func written(v starlark.Value) int {
	switch v := v.(type) {
	case starlark.String:
		return 2*len(v) + 2
	case starlark.Tuple:
		n := 0
		for _, x := range v {
			n += written(x)
		}
		return n
	case starlark.Int:
		return v.BigInt().BitLen()/3 + 2
	}
	return 400 // a float written out in full
}

// plain reports whether a value is a number, truth value or None of ordinary
// size: operations on two of them cost a step.
func plain(v starlark.Value) bool {
	switch v := v.(type) {
	case starlark.Float, starlark.Bool, starlark.NoneType:
		return true
	case starlark.Int:
		_, ok := v.Int64()
		return ok
	}
	return false
}

// sizeOf is about how many bytes a value takes by itself.
func sizeOf(v starlark.Value) int {
	switch v := v.(type) {
	case starlark.String:
		return len(v)
	case starlark.Int:
		if _, ok := v.Int64(); ok {
			return 8
		}
		return v.BigInt().BitLen() / 8
	case starlark.Sequence:
		return 16 * v.Len()
	}
	return 16
}

// size counts a value about to be made.
func (r *run) size(bytes int) error {
	if bytes > 16*maxList {
		return fmt.Errorf("a text or list of %d bytes; at most %d", bytes, 16*maxList)
	}
	return r.take(bytes)
}

func (r *run) repeat(times starlark.Int, v starlark.Value) error {
	if n, ok := v.(starlark.Int); ok {
		bits := times.BigInt().BitLen() + n.BigInt().BitLen()
		if bits > 512 {
			return errors.New("a whole number of more than 512 bits")
		}
		return nil
	}
	n, ok := times.Int64()
	if !ok || n > maxList || n*int64(sizeOf(v)) > 16*maxList {
		return fmt.Errorf("a text or list repeated %s times", times)
	}
	return r.take(int(max(n, 0)) * sizeOf(v))
}

// attr is what stands behind a dot. Of the language's own values only the
// methods that cost little are offered.
func (r *run) attr(x starlark.Value, name string) (starlark.Value, error) {
	offered := []string(nil)
	switch x.(type) {
	case *starlark.List:
		offered = []string{"append"}
	case *starlark.Dict:
		offered = []string{"get", "items", "keys", "values"}
	case starlark.String:
		offered = []string{"capitalize", "lower", "upper", "startswith", "endswith"}
	case starlark.HasAttrs:
		if v, err := x.(starlark.HasAttrs).Attr(name); v != nil || err != nil {
			return v, err
		}
		return nil, fmt.Errorf("a %s has no .%s; it has %v", x.Type(), name, x.(starlark.HasAttrs).AttrNames())
	default:
		return nil, fmt.Errorf("a %s has no .%s", x.Type(), name)
	}
	if !slices.Contains(offered, name) {
		return nil, fmt.Errorf("a %s has no .%s in styles; it has %v", x.Type(), name, offered)
	}
	inner, err := x.(starlark.HasAttrs).Attr(name)
	if err != nil {
		return nil, err
	}
	return starlark.NewBuiltin(name, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
		cost := sizeOf(x)
		switch name {
		case "append":
			if x.(*starlark.List).Len() >= maxList {
				return nil, fmt.Errorf("a list of more than %d entries", maxList)
			}
			cost = 32
		case "get":
			cost = 0
		}
		if err := r.take(cost); err != nil {
			return nil, err
		}
		if name != "append" {
			for _, a := range args {
				if err := r.weigh(a); err != nil {
					return nil, err
				}
			}
		}
		return starlark.Call(t, inner, args, kwargs)
	}), nil
}

// weighedFunctions are the language's own functions that walk all they are
// given, with the weighing in front.
func weighedFunctions() starlark.StringDict {
	weighed := starlark.StringDict{}
	for _, name := range [...]string{"all", "any", "dict", "enumerate", "list", "max", "min", "reversed", "sorted", "str", "tuple", "zip", "int", "float"} {
		inner := starlark.Universe[name]
		weighed[name] = starlark.NewBuiltin(name, func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
			r := runOf(t)
			for _, a := range args {
				if err := r.weigh(a); err != nil {
					return nil, err
				}
				if name == "str" && compound(a) {
					return nil, errors.New("only numbers and texts are written as text")
				}
			}
			for _, kv := range kwargs {
				if err := r.weigh(kv[1]); err != nil {
					return nil, err
				}
			}
			return starlark.Call(t, inner, args, kwargs)
		})
	}
	return weighed
}
