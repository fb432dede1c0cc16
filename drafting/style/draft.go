package style

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Spec is the style as an order sees it: like a block, with what it needs,
// offers, and how it fits.
func (s *Style) Spec() block.Spec {
	base, _ := block.Find(s.Head.Block)
	spec := block.Spec{
		Name: s.Head.Slug, Title: s.Head.Title,
		Requires:    slices.Clone(base.Requires),
		Uses:        base.Uses,
		Choices:     s.Head.Choices,
		Alterations: base.Alterations,
		Draft:       s.Draft,
	}
	for _, m := range s.Head.Measures {
		if !slices.Contains(spec.Requires, m) {
			spec.Requires = append(spec.Requires, m)
		}
	}
	for _, f := range s.Head.Fits {
		spec.Fits = append(spec.Fits, f.over(base))
	}
	return spec
}

// over is the fit as a whole table of ease.
func (f Fit) over(base block.Spec) block.Fit {
	table := block.Fit{Name: f.Name}
	for _, b := range base.Fits {
		if b.Name != f.Like {
			continue
		}
		for _, e := range b.Ease {
			if v, ok := f.Ease[e.Name]; ok {
				e.Value = v
				e.Min, e.Max = math.Min(e.Min, v), math.Max(e.Max, v)
			}
			table.Ease = append(table.Ease, e)
		}
	}
	return table
}

// Draft drafts the garment for a request that fits the style's Spec. The error
// is a fault.List where the block or a requirement refuses the body or the
// choices; an *Error where the script, or what it drafted, is at fault; that of
// the context where it was called off.
func (s *Style) Draft(ctx context.Context, req block.Request) (pattern.Pattern, error) {
	base, ok := block.Find(s.Head.Block)
	if !ok {
		return pattern.Pattern{}, &Error{Style: s.Head.Slug, Why: fmt.Sprintf("no block %q", s.Head.Block)}
	}
	thread, r := newThread(ctx, fileName)
	if done := ctx.Done(); done != nil {
		defer context.AfterFunc(ctx, func() { thread.Cancel("called off") })()
	}
	r.making = true
	in := s.inputs(req, base)
	blockRequest, err := s.blockRequest(thread, base, req, in)
	if err != nil {
		return pattern.Pattern{}, s.fail(ctx, err)
	}
	if len(req.Left)+len(req.Right) == 0 {
		drafted, err := base.Draft(ctx, blockRequest)
		if err != nil {
			return pattern.Pattern{}, err
		}
		return s.onBlock(thread, r, in, drafted)
	}
	if base.Halves == nil {
		return pattern.Pattern{}, fault.List{{Code: fault.Undraftable, Field: "/alterations", Accepted: fmt.Sprintf("the %s block is not drafted to sides that differ", base.Name)}}
	}
	right, left, err := base.Halves(blockRequest)
	if err != nil {
		return pattern.Pattern{}, err
	}
	if right, err = s.onBlock(thread, r, in, right); err != nil {
		return pattern.Pattern{}, err
	}
	r.requires, r.checks = nil, nil
	if left, err = s.onBlock(thread, r, in, left); err != nil {
		return pattern.Pattern{}, err
	}
	p, err := cutting.JoinSides(right, left)
	if err != nil {
		return p, fault.List{{Code: fault.Undraftable, Field: "/alterations", Accepted: fmt.Sprintf("the sides can't be made one garment: %v", err)}}
	}
	if broken := p.Validate(); len(broken) > 0 {
		return p, s.brokenError(broken)
	}
	return p, nil
}

// onBlock makes the garment on a drafted block.
func (s *Style) onBlock(thread *starlark.Thread, r *run, in inputs, drafted pattern.Pattern) (pattern.Pattern, error) {
	result, err := starlark.Call(thread, s.make, starlark.Tuple{in.body, in.ease, in.choose, blockRecord(drafted)}, nil)
	if refused := r.refusals(); len(refused) > 0 {
		return pattern.Pattern{}, refused
	}
	if err != nil {
		return pattern.Pattern{}, s.fail(r.ctx, err)
	}
	g, ok := result.(*made)
	if !ok {
		return pattern.Pattern{}, &Error{Style: s.Head.Slug, Line: int(s.make.Position().Line), Why: fmt.Sprintf("make returned %s, want garment(...)", result.Type())}
	}
	return s.assemble(g, drafted, r)
}

func (s *Style) fail(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if list, ok := errors.AsType[fault.List](err); ok {
		return list
	}
	return asError(s.Head.Slug, err)
}

// inputs are what make is given.
type inputs struct{ body, ease, choose *record }

func (s *Style) inputs(req block.Request, base block.Spec) inputs {
	in := inputs{
		body:   &record{what: "measurement", values: map[string]starlark.Value{}},
		ease:   &record{what: "ease", values: map[string]starlark.Value{}},
		choose: &record{what: "choice", values: map[string]starlark.Value{}},
	}
	for _, n := range req.Body.Names() {
		in.body.set(string(n), starlark.Float(req.Body.Value(n)))
	}
	in.body.absent = func(name string) error {
		if _, known := body.Lookup(body.Name(name)); known {
			return fmt.Errorf("%s is not known of this body; name it in the head's measures, or ask body.has(%q)", name, name)
		}
		return fmt.Errorf("no measurement %q", name)
	}
	for _, f := range s.Head.Fits {
		if f.Name != req.Fit {
			continue
		}
		for _, e := range f.over(base).Ease {
			v := e.Value
			if own, ok := req.Ease[e.Name]; ok {
				v = own
			}
			in.ease.set(e.Name, starlark.Float(v))
		}
	}
	for _, c := range s.Head.Choices {
		v, ok := req.Choices[c.Name]
		if !ok {
			v = c.Default
		}
		in.choose.set(c.Name, chosen(c, v))
	}
	return in
}

// chosen is a choice's value as a script sees it.
func chosen(c block.Choice, v block.Value) starlark.Value {
	switch {
	case c.Kind == block.KindYesNo:
		return starlark.Bool(v.Word == "yes")
	case v.Word != "":
		return starlark.String(v.Word)
	case c.Kind == block.KindCount:
		return starlark.MakeInt(int(v.Number))
	}
	return starlark.Float(v.Number)
}

func (r *record) set(name string, v starlark.Value) {
	r.names = append(r.names, name)
	r.values[name] = v
}

// blockRequest is how the block is drafted for the style.
func (s *Style) blockRequest(thread *starlark.Thread, base block.Spec, req block.Request, in inputs) (block.Request, error) {
	ease := map[string]float64{}
	fit := base.Fits[0].Name
	for _, f := range s.Head.Fits {
		if f.Name == req.Fit {
			fit = f.Like
			maps.Copy(ease, f.Ease)
		}
	}
	maps.Copy(ease, req.Ease)
	out := block.Request{Body: req.Body, Fit: fit, Ease: ease,
		Alterations: req.Alterations, Left: req.Left, Right: req.Right}
	options := s.Head.draft
	if fn, ok := options.(*starlark.Function); ok {
		v, err := starlark.Call(thread, fn, starlark.Tuple{in.body, in.ease, in.choose}, nil)
		if err != nil {
			return out, err
		}
		options = v
	}
	if options == nil {
		return out, nil
	}
	d, ok := options.(*starlark.Dict)
	if !ok {
		return out, fmt.Errorf("draft gave %s, want a dict of the block's choices", options.Type())
	}
	choices, own, err := blockChoices(base, d)
	if err != nil {
		return out, err
	}
	out.Choices = choices
	maps.Copy(ease, own)
	for name, v := range own {
		if _, known := in.ease.values[name]; known {
			in.ease.values[name] = starlark.Float(v)
		}
	}
	return out, nil
}

// blockChoices reads a dict of a block's choices, with its ease.
func blockChoices(base block.Spec, d *starlark.Dict) (map[string]block.Value, map[string]float64, error) {
	choices, ease := map[string]block.Value{}, map[string]float64{}
	for _, kv := range d.Items() {
		name, _ := starlark.AsString(kv[0])
		if name == "ease" {
			table, ok := kv[1].(*starlark.Dict)
			if !ok {
				return nil, nil, fmt.Errorf("draft: ease is %s, want a dict", kv[1].Type())
			}
			for _, e := range table.Items() {
				key, _ := starlark.AsString(e[0])
				var v mm
				if err := v.Unpack(e[1]); err != nil {
					return nil, nil, fmt.Errorf("draft: ease %s: %w", key, err)
				}
				if !slices.ContainsFunc(base.Fits[0].Ease, func(b block.Ease) bool { return b.Name == key }) {
					return nil, nil, fmt.Errorf("draft: the %s block has no ease %q", base.Name, key)
				}
				ease[key] = float64(v)
			}
			continue
		}
		i := slices.IndexFunc(base.Choices, func(c block.Choice) bool { return c.Name == name })
		if i < 0 {
			return nil, nil, fmt.Errorf("draft: the %s block has no choice %q", base.Name, name)
		}
		v, err := blockValue(base.Choices[i], kv[1])
		if err != nil {
			return nil, nil, fmt.Errorf("draft: %s: %w", name, err)
		}
		choices[name] = v
	}
	return choices, ease, nil
}

func blockValue(c block.Choice, v starlark.Value) (block.Value, error) {
	if b, ok := v.(starlark.Bool); ok && c.Kind == block.KindYesNo {
		return yesNo(bool(b)), nil
	}
	if s, ok := starlark.AsString(v); ok {
		if !slices.Contains(c.Options, s) {
			return block.Value{}, fmt.Errorf("%q; want one of %v", s, c.Options)
		}
		return block.Value{Word: s}, nil
	}
	var f mm
	if err := f.Unpack(v); err != nil {
		return block.Value{}, err
	}
	if c.Kind == block.KindOption || !(float64(f) >= c.Min && float64(f) <= c.Max) {
		return block.Value{}, fmt.Errorf("%g; it takes %v or %g to %g", float64(f), c.Options, c.Min, c.Max)
	}
	return block.Value{Number: float64(f)}, nil
}

// blockRecord hands the block's pieces over, loose, each with its centre on the
// left: a front is turned over, and turned back when the garment is done.
func blockRecord(drafted pattern.Pattern) *record {
	rec := &record{what: "block", values: map[string]starlark.Value{}}
	for _, p := range drafted.Pieces {
		q := &piece{Piece: cutting.Loose(p)}
		if sideOnLeft(p) {
			q = &piece{q.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))), true}
		}
		rec.set(p.Name, q)
	}
	rec.absent = func(name string) error {
		return fmt.Errorf("the block has no piece %q as it is drafted here; it has %v", name, rec.names)
	}
	return rec
}

// sideOnLeft reports whether a piece lies with its side on the left, and so its
// centre on the right.
func sideOnLeft(p pattern.Piece) bool {
	var side geom.Path
	for _, e := range p.Edges {
		if e.Run == "side" {
			side = append(side, e.Path...)
		}
	}
	return len(side) > 0 && side.Bounds().Centre().X < p.Outline().Bounds().Centre().X
}

// refusals are the requirements that do not hold and refuse the order.
func (r *run) refusals() fault.List {
	var list fault.List
	for _, q := range r.requires {
		if !q.refuse {
			continue
		}
		if len(q.about) == 0 {
			list = append(list, fault.Fault{Code: fault.Undraftable, Accepted: q.message})
		}
		for _, name := range q.about {
			field := fault.Pointer("choices", name)
			if _, ok := body.Lookup(body.Name(name)); ok {
				field = body.Field(body.Name(name))
			}
			list = append(list, fault.Fault{Code: fault.Undraftable, Field: field, Accepted: q.message})
		}
	}
	return list
}
