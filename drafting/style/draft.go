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
	"tapeline/drafting/cost"
	"tapeline/drafting/cutting"
	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Spec returns what the style needs and offers, as for a block.
func (s *Style) Spec() block.Spec {
	base, _ := block.Find(s.Head.Block)
	spec := block.Spec{
		Name: s.Head.Slug, Title: s.Head.Title,
		Requires:    slices.Clone(s.needs.requires),
		Uses:        slices.Clone(s.needs.uses),
		Choices:     s.Head.Choices,
		Alterations: base.Alterations,
	}
	for _, f := range s.Head.Fits {
		spec.Fits = append(spec.Fits, f.table(base))
	}
	return spec
}

// table returns the fit as a complete table of ease.
func (f Fit) table(base block.Spec) block.Fit {
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

// Draft drafts the garment for a request that fits the style's Spec. Cancelling
// ctx ends it within 100 ms with the context's error. The error is a fault.List
// if the block or a requirement refuses the body or the choices, a *cost.Error if
// the draft exceeds the budget of ctx, and an *Error if the script or the garment
// is at fault; one that names its Cost if the script exceeds its own limits.
func (s *Style) Draft(ctx context.Context, req block.Request) (pattern.Pattern, error) {
	if err := ctx.Err(); err != nil {
		return pattern.Pattern{}, err
	}
	r := newRun()
	r.drafting, r.print, r.trace = true, s.print, s.trace
	if r.trace != nil {
		r.trace.reset()
	}
	defer r.cancelWith(ctx)()
	p, err := s.draft(ctx, r, req)
	if err == nil {
		return p, nil
	}
	if ctx.Err() != nil { // named with the line if the budget is used up
		return p, cost.Named(ctx, ctx.Err(), asError(s.Head.Slug, err).place())
	}
	if list, ok := errors.AsType[fault.List](err); ok {
		return p, list
	}
	if e, ok := errors.AsType[*cost.Error](err); ok {
		return p, e
	}
	e := asError(s.Head.Slug, err)
	e.Cost = r.over
	return p, e
}

// draft drafts the block, and the garment on it: once, or for each side if
// their alterations differ.
func (s *Style) draft(ctx context.Context, r *run, req block.Request) (pattern.Pattern, error) {
	base, ok := block.Find(s.Head.Block)
	if !ok {
		return pattern.Pattern{}, fmt.Errorf("unknown block %q", s.Head.Block)
	}
	in := s.inputs(req, base)
	blockRequest, err := s.blockRequest(r.thread, base, req, in)
	if err != nil {
		return pattern.Pattern{}, err
	}
	if len(req.Left)+len(req.Right) == 0 {
		drafted, err := block.Draft(ctx, base.Name, blockRequest)
		if err != nil {
			return pattern.Pattern{}, err
		}
		return s.draftOn(r, drafted, in)
	}
	if !base.Sided {
		return pattern.Pattern{}, undraftableSides("the %s block cannot be drafted to sides that differ", base.Name)
	}
	right, left, err := block.DraftHalves(ctx, base.Name, blockRequest)
	if err != nil {
		return pattern.Pattern{}, err
	}
	if right, left, err = s.draftSides(r, right, left, in); err != nil {
		return pattern.Pattern{}, err
	}
	p, err := cutting.JoinSides(right, left)
	if err != nil {
		return p, undraftableSides("the style fits each side by itself, and these do not join to one garment: %v; alter "+
			"both sides alike, or choose so that nothing is adjusted at that edge", err)
	}
	if over := p.OverLimits(); len(over) > 0 {
		return p, s.violationError(over)
	}
	if violations := p.Validate(); len(violations) > 0 {
		// Each side is a garment, but not one with the other.
		return p, undraftableSides("the sides do not make one garment: %v", violations[0])
	}
	return p, nil
}

func undraftableSides(format string, args ...any) fault.List {
	return fault.List{{Code: fault.Undraftable, Field: "/alterations", Accepted: fmt.Sprintf(format, args...)}}
}

// draftOn calls the script's make on a drafted block and assembles the garment.
func (s *Style) draftOn(r *run, drafted pattern.Pattern, in inputs) (pattern.Pattern, error) {
	r.person = in.body.lookup
	result, err := starlark.Call(r.thread, s.make, append(in.args(), blockRecord(drafted)), nil)
	if refused := r.refusals(); len(refused) > 0 {
		return pattern.Pattern{}, refused
	}
	if err != nil {
		return pattern.Pattern{}, err
	}
	g, ok := result.(*garment)
	if !ok {
		return pattern.Pattern{}, &Error{Style: s.Head.Slug, Line: int(s.make.Position().Line),
			Reason: fmt.Sprintf("make returned %s, want garment(...)", result.Type())}
	}
	if r.trace != nil {
		r.trace.finish(g.pieces)
	}
	return s.assemble(r, g, drafted)
}

// inputs are the arguments of make before the block.
type inputs struct{ body, ease, choose *record }

func (in inputs) args() starlark.Tuple { return starlark.Tuple{in.body, in.ease, in.choose} }

func (s *Style) inputs(req block.Request, base block.Spec) inputs {
	in := inputs{newRecord("measurement"), newRecord("ease"), newRecord("choice")}
	for _, n := range req.Body.Names() {
		in.body.set(string(n), starlark.Float(req.Body.Value(n)))
	}
	in.body.set("bust_surplus", starlark.Float(req.Body.BustSurplus().Value))
	in.body.missing = func(name string) error {
		if _, known := body.Lookup(body.Name(name)); known {
			return fmt.Errorf("%s is unknown for this body; add it to measures in the head, or test body.has(%q)", name, name)
		}
		return fmt.Errorf("unknown measurement %q", name)
	}
	for _, f := range s.Head.Fits {
		if f.Name != req.Fit {
			continue
		}
		for _, e := range f.table(base).Ease {
			v := e.Value
			if ordered, ok := req.Ease[e.Name]; ok {
				v = ordered
			}
			in.ease.set(e.Name, starlark.Float(v))
		}
	}
	for _, c := range s.Head.Choices {
		v, ok := req.Choices[c.Name]
		if !ok {
			v = c.Default
		}
		in.choose.set(c.Name, choiceValue(c, v))
	}
	return in
}

// choiceValue returns the value of a choice as a script sees it.
func choiceValue(c block.Choice, v block.Value) starlark.Value {
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

// blockRequest returns the request by which the block is drafted for the style.
// It copies the block's ease to in where the script overrides it.
func (s *Style) blockRequest(t *starlark.Thread, base block.Spec, req block.Request, in inputs) (block.Request, error) {
	out := block.Request{Body: req.Body, Fit: base.Fits[0].Name, Ease: map[string]float64{}, Garment: true,
		Alterations: req.Alterations, Left: req.Left, Right: req.Right}
	for _, f := range s.Head.Fits {
		if f.Name == req.Fit {
			out.Fit = f.Like
			maps.Copy(out.Ease, f.Ease)
		}
	}
	maps.Copy(out.Ease, req.Ease)
	draft := s.Head.draft
	if fn, ok := draft.(*starlark.Function); ok {
		v, err := starlark.Call(t, fn, in.args(), nil)
		if err != nil {
			return out, err
		}
		draft = v
	}
	if draft == nil {
		return out, nil
	}
	d, ok := draft.(*starlark.Dict)
	if !ok {
		return out, fmt.Errorf("draft: %w", typeError(draft, "a dict of the block's choices"))
	}
	choices, ease, err := blockChoices(base, d)
	if err != nil {
		return out, err
	}
	out.Choices = choices
	maps.Copy(out.Ease, ease)
	for name, v := range ease {
		if _, known := in.ease.values[name]; known {
			in.ease.values[name] = starlark.Float(v)
		}
	}
	return out, nil
}

// blockChoices reads a dict of a block's choices and its ease.
func blockChoices(base block.Spec, d *starlark.Dict) (map[string]block.Value, map[string]float64, error) {
	choices, ease := map[string]block.Value{}, map[string]float64{}
	for _, kv := range d.Items() {
		name, _ := starlark.AsString(kv[0])
		if name == "ease" {
			var err error
			if ease, err = blockEase(base, kv[1]); err != nil {
				return nil, nil, fmt.Errorf("draft: ease: %w", err)
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

// blockEase reads a dict of a block's ease.
func blockEase(base block.Spec, v starlark.Value) (map[string]float64, error) {
	table, ok := v.(*starlark.Dict)
	if !ok {
		return nil, typeError(v, "a dict")
	}
	ease := map[string]float64{}
	for _, kv := range table.Items() {
		name, _ := starlark.AsString(kv[0])
		var mm number
		if err := mm.Unpack(kv[1]); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if !hasEase(base.Fits[0], name) {
			return nil, fmt.Errorf("the %s block has no ease %q", base.Name, name)
		}
		ease[name] = float64(mm)
	}
	return ease, nil
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
	var n number
	if err := n.Unpack(v); err != nil {
		return block.Value{}, err
	}
	if c.Kind == block.KindOption {
		return block.Value{}, fmt.Errorf("%g; want one of %v", float64(n), c.Options)
	}
	if !(float64(n) >= c.Min && float64(n) <= c.Max) {
		return block.Value{}, fmt.Errorf("%g; want one of %v, or %g to %g", float64(n), c.Options, c.Min, c.Max)
	}
	return block.Value{Number: float64(n)}, nil
}

// blockRecord returns the block's pieces with whole edges, each with its centre
// on the left: fronts are turned over, and turned back when the garment is
// assembled.
func blockRecord(drafted pattern.Pattern) *record {
	rec := newRecord("block")
	for _, p := range drafted.Pieces {
		q, over := AsSeen(p)
		rec.set(p.Name, &piece{q, over})
	}
	rec.missing = func(name string) error {
		return fmt.Errorf("the block as drafted here has no piece %q; it has %v", name, rec.names)
	}
	return rec
}

// AsSeen returns a block's piece as a script sees it: with whole edges, and turned
// over if its centre would lie on the right.
func AsSeen(p pattern.Piece) (seen pattern.Piece, over bool) {
	seen = cutting.Loose(p)
	if isSideOnLeft(p) {
		return seen.Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))), true
	}
	return seen, false
}

// isSideOnLeft reports whether a piece lies with its side on the left, and so
// its centre on the right.
func isSideOnLeft(p pattern.Piece) bool {
	middle := p.Outline().Bounds().Centre().X
	if side := p.Run("side"); len(side) > 0 {
		return side.Bounds().Centre().X < middle
	}
	centre := p.Run("centre_front") // a side panel lies beyond a front without a side
	return len(centre) > 0 && centre.Bounds().Centre().X > middle
}

// refusals returns the requirements that are not met and refuse the order.
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
