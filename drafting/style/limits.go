package style

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"tapeline/drafting/cost"
	"tapeline/drafting/pattern"
	"tapeline/drafting/wear"
)

// Limits of a script while it runs; those of the garment that it makes are
// pattern.Limits. The built-in garments stay below a tenth of each with any
// choices. GUIDE.md lists them.
const (
	maxSource = 128 << 10   // bytes of script
	maxString = 16 << 10    // bytes of one string
	maxList   = 20_000      // entries of one list
	maxSteps  = 1_000_000   // steps of the interpreter; verbs count by their work
	maxMemory = cost.Memory // bytes of strings, lists, strokes and pieces made, also of those dropped
	maxPath   = 600         // strokes of one path
)

// The memory that is counted, bytes.
const (
	strokeBytes = 64  // four points
	pieceBytes  = 512 // without its strokes
)

// A run is one execution of a script.
type run struct {
	thread  *starlark.Thread
	step    func() error // cost.Step of the draft; nil while the head is read
	stepped uint64       // the steps at which others could go first last
	memory  int
	over    *cost.Error                 // the limit that it exceeded: maxSteps or the memory
	print   func(line int, text string) // receives what the script prints; nil discards it

	trace    *Trace // nil traces nothing
	drafting bool   // false while the head is read
	requires []requirement
	checks   []pattern.Check
	openings []wear.Opening
	person   wear.Lookup // the measurements of the body that is drafted
	sides    sideNumbers
	head     *Head // as style declares it
	heads    int
}

const runKey = "run"

func runOf(t *starlark.Thread) *run { return t.Local(runKey).(*run) }

// newRun returns a run whose thread cannot load, and stops after maxSteps.
func newRun() *run {
	t := &starlark.Thread{
		Name: fileName,
		Load: func(*starlark.Thread, string) (starlark.StringDict, error) {
			return nil, errors.New("load is not available: a style is one script")
		},
	}
	t.SetMaxExecutionSteps(maxSteps)
	r := &run{thread: t}
	t.OnMaxSteps = func(t *starlark.Thread) {
		r.over = overSteps
		t.Cancel(errSteps.Error())
	}
	t.SetLocal(runKey, r)
	return r
}

// cancelWith cancels the run when ctx is done, until stop is called.
func (r *run) cancelWith(ctx context.Context) (stop func() bool) {
	r.step = func() error { return cost.Step(ctx) }
	return context.AfterFunc(ctx, func() { r.thread.Cancel(context.Cause(ctx).Error()) })
}

var (
	errSteps  = fmt.Errorf("more than %d steps: check that loops end", maxSteps)
	overSteps = &cost.Error{What: "the script", Limit: fmt.Sprintf("%d steps", maxSteps)}
)

// pauseSteps are the steps after which other work can go first: a millisecond's.
const pauseSteps = 4000

// spend counts the work of a verb as steps. It returns an error if the limit is
// exceeded or the run cancelled.
func (r *run) spend(steps int) error {
	r.thread.Steps += uint64(steps)
	if r.thread.Steps > maxSteps {
		r.over = overSteps
		return errSteps
	}
	if r.thread.Steps-r.stepped > pauseSteps && r.step != nil {
		r.stepped = r.thread.Steps
		return r.step()
	}
	return nil
}

// take counts memory.
func (r *run) take(bytes int) error {
	if r.memory += bytes; r.memory > maxMemory {
		r.over = &cost.Error{What: "the script", Limit: fmt.Sprintf("%d MB of memory", maxMemory>>20)}
		return fmt.Errorf("more than %d MB of strings, lists, strokes and pieces", maxMemory>>20)
	}
	return r.spend(bytes >> 8)
}

// draw counts the strokes of a path.
func (r *run) draw(strokes int) error {
	if strokes > maxPath {
		return fmt.Errorf("a path of %d strokes; at most %d", strokes, maxPath)
	}
	return r.take(strokeBytes * strokes)
}

// weigh counts the cost of copying, comparing, writing or hashing a value. It
// returns an error if the value is too large or nested too deep.
func (r *run) weigh(v starlark.Value) error {
	n, err := addWeight(v, 0, 0)
	if err != nil {
		return err
	}
	return r.take(16 * n)
}

var errNested = fmt.Errorf("a list or dict is nested too deep, or has more than %d entries, "+
	"and so cannot be copied, compared or used as a key", maxList)

// addWeight adds the weight of a value to sum.
func addWeight(v starlark.Value, sum, depth int) (int, error) {
	if depth > 8 {
		return sum, errNested
	}
	switch v := v.(type) {
	case starlark.String:
		sum += 1 + len(v)/16
	case starlark.Tuple:
		return addWeights(slices.Values(v), len(v)+1, sum, depth)
	case *starlark.List:
		return addWeights(v.Elements(), v.Len(), sum, depth)
	case *starlark.Dict:
		for _, item := range v.Items() {
			var err error
			if sum, err = addWeights(slices.Values(item), len(item)+1, sum, depth); err != nil {
				return sum, err
			}
		}
	case starlark.Sequence:
		sum += v.Len() + 1
	default:
		sum++
	}
	if sum > maxList {
		return sum, errNested
	}
	return sum, nil
}

// addWeights adds own and the weight of each value to sum.
func addWeights(values func(yield func(starlark.Value) bool), own, sum, depth int) (int, error) {
	if sum += own; sum > maxList {
		return sum, errNested
	}
	for v := range values {
		var err error
		if sum, err = addWeight(v, sum, depth+1); err != nil {
			return sum, err
		}
	}
	return sum, nil
}

// weighBinary counts the cost of an operation. It returns an error if the
// result would be too large.
func (r *run) weighBinary(op syntax.Token, x, y starlark.Value) error {
	switch op {
	case syntax.LTLT, syntax.GTGT, syntax.AMP, syntax.CIRCUMFLEX:
		return errors.New("bit operations are not available")
	}
	if isSmall(x) && isSmall(y) {
		return nil
	}
	switch op {
	case syntax.PLUS, syntax.PIPE:
		return r.takeValue(sizeOf(x) + sizeOf(y))
	case syntax.STAR:
		if a, ok := x.(starlark.Int); ok {
			return r.weighRepeat(a, y)
		}
		if b, ok := y.(starlark.Int); ok {
			return r.weighRepeat(b, x)
		}
		return nil
	case syntax.PERCENT:
		return r.weighFormat(x, y)
	}
	if err := r.weigh(x); err != nil {
		return err
	}
	return r.weigh(y)
}

// weighFormat counts the cost of format % values.
func (r *run) weighFormat(format, values starlark.Value) error {
	if _, ok := format.(starlark.String); !ok {
		return nil
	}
	if err := r.weigh(values); err != nil {
		return err
	}
	list, ok := values.(starlark.Tuple)
	if !ok {
		list = starlark.Tuple{values}
	}
	if slices.ContainsFunc(list, isCompound) {
		return errors.New("only numbers and strings can be written into a string")
	}
	return r.takeValue(sizeOf(format) + writtenSize(list))
}

// isCompound reports whether a value contains other values.
func isCompound(v starlark.Value) bool {
	switch v.(type) {
	case *starlark.List, *starlark.Dict, starlark.Tuple, *starlark.Set:
		return true
	}
	return false
}

// writtenSize returns the maximum size in bytes of a value written into a string.
func writtenSize(v starlark.Value) int {
	switch v := v.(type) {
	case starlark.String:
		return 2*len(v) + 2
	case starlark.Tuple:
		n := 0
		for _, x := range v {
			n += writtenSize(x)
		}
		return n
	case starlark.Int:
		return v.BigInt().BitLen()/3 + 2
	}
	return 400 // a float with all its digits
}

// isSmall reports whether a value is None, a boolean or a number of ordinary
// size. Operations on two of them cost one step.
func isSmall(v starlark.Value) bool {
	switch v := v.(type) {
	case starlark.Float, starlark.Bool, starlark.NoneType:
		return true
	case starlark.Int:
		_, ok := v.Int64()
		return ok
	}
	return false
}

// sizeOf returns the approximate size of a value in bytes, without the values
// it refers to.
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

// takeValue counts the memory of a value about to be made.
func (r *run) takeValue(bytes int) error {
	if bytes > 16*maxList {
		return fmt.Errorf("a string or list of %d bytes; at most %d", bytes, 16*maxList)
	}
	return r.take(bytes)
}

func (r *run) weighRepeat(times starlark.Int, v starlark.Value) error {
	if n, ok := v.(starlark.Int); ok {
		bits := times.BigInt().BitLen() + n.BigInt().BitLen()
		if bits > 512 {
			return errors.New("a whole number of more than 512 bits")
		}
		return nil
	}
	n, ok := times.Int64()
	if !ok || n > maxList || n*int64(sizeOf(v)) > 16*maxList {
		return fmt.Errorf("a string or list repeated %s times is too large", times)
	}
	return r.take(int(max(n, 0)) * sizeOf(v))
}

// cheapMethods returns the methods of the language's own values that scripts
// can call.
func cheapMethods(v starlark.Value) []string {
	switch v.(type) {
	case *starlark.List:
		return []string{"append"}
	case *starlark.Dict:
		return []string{"get", "items", "keys", "values"}
	case starlark.String:
		return []string{"capitalize", "lower", "upper", "startswith", "endswith"}
	}
	return nil
}

// attr returns the attribute of a dot expression.
func (r *run) attr(v starlark.Value, name string) (starlark.Value, error) {
	x, ok := v.(starlark.HasAttrs)
	if !ok {
		return nil, fmt.Errorf("a %s has no .%s", v.Type(), name)
	}
	names := cheapMethods(v)
	if names == nil {
		names = x.AttrNames()
	} else if !slices.Contains(names, name) {
		return nil, fmt.Errorf("a %s has no .%s in styles; it has %v", v.Type(), name, names)
	}
	attr, err := x.Attr(name)
	if attr == nil && err == nil {
		err = fmt.Errorf("a %s has no .%s; it has %v", v.Type(), name, names)
	}
	if err != nil || cheapMethods(v) == nil {
		return attr, err
	}
	return newBuiltin(name, func(t *starlark.Thread, args starlark.Tuple, kw []starlark.Tuple) (starlark.Value, error) {
		if err := r.weighMethod(v, name, args); err != nil {
			return nil, err
		}
		return starlark.Call(t, attr, args, kw)
	}), nil
}

// weighMethod counts the cost of calling one of the cheap methods.
func (r *run) weighMethod(v starlark.Value, name string, args starlark.Tuple) error {
	switch name {
	case "append":
		if v.(*starlark.List).Len() >= maxList {
			return fmt.Errorf("a list of more than %d entries", maxList)
		}
		return r.take(32)
	case "get":
		return r.weighAll(args)
	}
	if err := r.take(sizeOf(v)); err != nil {
		return err
	}
	return r.weighAll(args)
}

func (r *run) weighAll(values []starlark.Value) error {
	for _, v := range values {
		if err := r.weigh(v); err != nil {
			return err
		}
	}
	return nil
}

// weighedFunctions returns the language's own functions that walk their
// arguments, each preceded by weighing them.
func weighedFunctions() starlark.StringDict {
	functions := starlark.StringDict{}
	for _, name := range [...]string{"all", "any", "dict", "enumerate", "list", "max", "min", "reversed", "sorted", "str",
		"tuple", "zip", "int", "float"} {
		inner := starlark.Universe[name]
		functions[name] = newBuiltin(name,
			func(t *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
				all := slices.Clip([]starlark.Value(args))
				for _, kv := range kwargs {
					all = append(all, kv[1])
				}
				if err := runOf(t).weighAll(all); err != nil {
					return nil, err
				}
				if name == "str" && slices.ContainsFunc(args, isCompound) {
					return nil, errors.New("only numbers and strings can be written as a string")
				}
				return starlark.Call(t, inner, args, kwargs)
			})
	}
	return functions
}
