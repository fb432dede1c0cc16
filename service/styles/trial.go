package styles

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/cost"
	"tapeline/drafting/document"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/work"
)

// Trial asks what a script makes for one body of the built-in panel in one variant
// of a proof. An unknown or empty name is the average body, or the first fit with
// the default choices.
type Trial struct {
	Script        string
	Body, Variant string
	Origins       bool // also ask for the shapes to pick and where each comes from
	Unit          Unit // of lengths in words; "" for centimetres
}

// unit returns the unit of lengths in words.
func (t Trial) unit() Unit { return cmp.Or(t.Unit, body.Centimetre) }

// Tried is what a script makes.
type Tried struct {
	Slug, Title      string
	Bodies, Variants []string // that can be tried, by name; nil if the script does not compile
	Body, Variant    string   // the ones tried
	Unit             Unit     // of lengths in words

	// Problem says why nothing is drafted, nil if something is. Of a garment that cannot
	// be sewn the pieces are shown.
	Problem *Problem

	Picture  []byte // SVG for screens
	Checks   []document.Check
	Pieces   []TriedPiece
	Faults   []string  // what a cutter would send back
	Notes    []string  // what the draft warns of
	Findings []Warning // what is probably a mistake in the script
	Origins  []TriedOrigin
	Shapes   []Shape  // to pick in the picture
	Sayings  []Saying // of the lines that Origins and Shapes name
}

// TriedPiece is a piece with the lengths of its edges.
type TriedPiece struct {
	Name, Title, Cut string
	Edges            []TriedEdge
	Darts            []string
	Lines, Marks     []string
}

// TriedEdge is an edge of a piece, its darts closed.
type TriedEdge struct {
	Name   string
	Length float64 // mm
}

// Problem says why a script drafts nothing.
type Problem struct {
	Code         service.Code   // CodeInvalidInput or CodeTooCostly
	Line, Column int            // in the script; 0 if unknown
	Piece, Edge  string         // "" if none is concerned
	Reason       string         // "" if Faults say it
	Faults       service.Faults // of the body or the choices
}

// Try drafts a script without storing anything. More trials of a shop at once than
// it may have fail with CodeTooManyAtOnce. What is wrong with the script is in the
// result.
func (s *Service) Try(ctx context.Context, caller service.Caller, t Trial) (Tried, error) {
	if len(t.Script) > MaxScript {
		return Tried{Problem: &Problem{Code: service.CodeInvalidInput,
			Reason: fmt.Sprintf("a script of %d bytes; at most %d", len(t.Script), MaxScript)}}, nil
	}
	leave, err := s.trials.Enter(caller.Owner())
	if err != nil {
		return Tried{}, err
	}
	defer leave()
	var tried Tried
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
		err := s.try(ctx, t, &tried)
		if ended := ctx.Err(); ended != nil && cost.Of(ctx, err) == nil {
			return ended
		}
		if err != nil {
			tried.Problem = problem(ctx, err)
			tried.Findings = slices.DeleteFunc(tried.Findings, func(f Warning) bool { return f.Rule == "not_drafted" }) // said
		}
		return nil
	})
	return tried, err
}

// try fills in what the script makes. Its error says why it makes nothing.
func (s *Service) try(ctx context.Context, t Trial, tried *Tried) error {
	garment, err := s.compile(t.Script)
	if err != nil {
		return err
	}
	plan := s.planOf(garment, t)
	tried.Unit = t.unit()
	tried.Slug, tried.Title = garment.Head.Slug, garment.Head.Title
	for _, b := range plan.Bodies {
		tried.Bodies = append(tried.Bodies, b.Name)
	}
	for _, v := range plan.Variants {
		tried.Variants = append(tried.Variants, v.Name)
	}
	tried.Body, tried.Variant = tried.Bodies[plan.body], tried.Variants[plan.chosen]
	if tried.Findings, err = s.findingsOf(ctx, garment, plan.Bodies); err != nil {
		return err
	}
	if !t.Origins {
		drafted, err := plan.draft(ctx, nil)
		if err != nil {
			return err
		}
		return tried.show(ctx, drafted, false)
	}
	trace := new(style.Trace)
	drafted, err := plan.draft(ctx, trace)
	if err != nil {
		unsewn, ok := loose(ctx, garment, trace)
		if !ok {
			return err
		}
		drafted = unsewn
	}
	if err := tried.show(ctx, drafted, true); err != nil {
		return err
	}
	tried.Origins = origins(trace, tried.Pieces)
	tried.Shapes = shapes(drafted, tried.Pieces, tried.Origins)
	tried.Sayings = sayings(t.Script, tried.Unit, tried.Shapes)
	if err != nil {
		tried.Faults = nil // of pieces that are not sewn
	}
	return err
}

// loose returns the pieces of a garment that cannot be sewn, and false if its script ends
// before it returns them.
func loose(ctx context.Context, garment *style.Style, trace *style.Trace) (finish.Pattern, bool) {
	pieces := trace.Loose()
	if len(pieces) == 0 || ctx.Err() != nil {
		return finish.Pattern{}, false
	}
	p := pattern.Pattern{Pieces: pieces, Allowances: garment.Head.Allowances}
	if len(p.OverLimits()) > 0 || len(p.Validate()) > 0 {
		return finish.Pattern{}, false
	}
	finished, err := finish.Finish(ctx, p, finish.Rules{})
	return finished, err == nil
}

// trialPlan is a proof's plan with the body and the variant of a trial.
type trialPlan struct {
	proof.Plan
	body, chosen int
}

// planOf returns the bodies and variants of a garment, and which of them a trial asks
// for.
func (s *Service) planOf(garment *style.Style, t Trial) trialPlan {
	panel := s.panel(garment)
	p := trialPlan{Plan: proof.Plan{Bodies: panel,
		Variants: proof.Every(garment.Spec(), proof.Base(garment.Head.Slug, garment))}}
	named := func(name string) int {
		return slices.IndexFunc(panel, func(b proof.Body) bool { return b.Name == name })
	}
	if p.body = named(t.Body); p.body < 0 {
		p.body = proof.Middle(panel)
	}
	p.chosen = max(0, slices.IndexFunc(p.Variants, func(v proof.Variant) bool { return v.Name == t.Variant }))
	return p
}

// draft drafts the garment to the trial's body, with a trace unless it is nil.
func (p trialPlan) draft(ctx context.Context, trace *style.Trace) (finish.Pattern, error) {
	return drafting.Draft(ctx, p.order(p.body, trace))
}

// order returns the order of the garment for a body in the trial's variant.
func (p trialPlan) order(body int, trace *style.Trace) drafting.Order {
	o := p.Variants[p.chosen].Order
	o.Measurements = p.Bodies[body].Given
	if trace != nil {
		o.Garment = o.Garment.Tracing(trace)
	}
	return o
}

// show fills in what is said of a draft, and its picture, with what can be picked in it.
func (t *Tried) show(ctx context.Context, p finish.Pattern, picks bool) error {
	t.Checks, t.Notes = document.Checks(p.Checks), p.Warnings
	for _, f := range proof.Faults(p) {
		t.Faults = append(t.Faults, f.Rule+": "+f.Reason)
	}
	for _, q := range p.Pieces {
		t.Pieces = append(t.Pieces, triedPiece(q.Piece))
	}
	var err error
	t.Picture, err = draw(ctx, p, picks)
	return err
}

func triedPiece(q pattern.Piece) TriedPiece {
	p := TriedPiece{Name: q.Name, Title: q.Title, Cut: q.Cut.String()}
	for _, run := range q.Runs() {
		p.Edges = append(p.Edges, TriedEdge{run, q.Run(run).Length()})
	}
	for _, d := range q.Darts {
		p.Darts = append(p.Darts, d.Name)
	}
	for _, l := range q.Lines {
		p.Lines = append(p.Lines, l.Name)
	}
	for _, m := range q.Marks {
		p.Marks = append(p.Marks, m.Name)
	}
	return p
}

// problem says in words why a script drafts nothing.
func problem(ctx context.Context, err error) *Problem {
	p := &Problem{Code: service.CodeInvalidInput, Reason: err.Error()}
	if list, ok := errors.AsType[fault.List](err); ok {
		p.Reason, p.Faults = "", list
	}
	if e, ok := errors.AsType[*style.Error](err); ok {
		p.Line, p.Column, p.Piece, p.Edge, p.Reason = e.Line, e.Column, e.Piece, e.Edge, e.Reason
	}
	if e := cost.Of(ctx, err); e != nil {
		p.Code = service.CodeTooCostly
		if p.Line == 0 {
			p.Reason = e.Error()
		}
	}
	return p
}

// findingsOf returns what is probably a mistake in a script. It is drafted for that once,
// not for every body on which it is tried.
func (s *Service) findingsOf(ctx context.Context, garment *style.Style, panel []proof.Body) ([]Warning, error) {
	if kept, ok := s.findings.GetIfPresent(garment.Hash); ok {
		return slices.Clone(kept), nil
	}
	found, err := proof.Findings(ctx, garment, proof.Average(panel))
	if err == nil {
		s.findings.Set(garment.Hash, slices.Clone(found))
	}
	return found, err
}

// findingsBytes limits the memory of the findings that are kept.
const findingsBytes = 1 << 20

// weighFindings estimates the memory of findings, bytes.
func weighFindings(list []Warning) int {
	n := 128
	for _, f := range list {
		n += 128 + len(f.Detail)
	}
	return n
}

// panel returns the built-in panel for a garment.
func (s *Service) panel(garment *style.Style) []proof.Body {
	key := fmt.Sprint(garment.Head.Block, garment.Head.Measures)
	if kept, ok := s.panels.GetIfPresent(key); ok {
		return kept
	}
	panel := proof.Panel(garment.Head.Block, garment.Head.Measures...)
	s.panels.Set(key, panel)
	return panel
}

// panelBytes limits the memory of the panels that are kept. One takes about 150 kB;
// few combinations of block and measures are in use.
const panelBytes = 4 << 20

// weighPanel estimates the memory of a panel, bytes.
func weighPanel(panel []proof.Body) int {
	n := 0
	for _, b := range panel {
		n += 128 + len(b.Name) + 64*len(b.Given)
	}
	return n
}

// Size is a body of the panel as a person tells it from the others.
type Size struct {
	Figure  string // such as full bust
	Name    string // in the panel
	Girths  string // of bust, waist and hip in the trial's unit, such as 96 · 80 · 104
	Shown   bool   // the trial's own body
	Drafts  bool
	Problem string // why it does not draft, or what a cutter would send back
}

// TrySizes drafts a script to six bodies of the panel that differ, in the trial's
// variant, and says of each whether it drafts. A script that does not compile has
// none.
func (s *Service) TrySizes(ctx context.Context, caller service.Caller, t Trial) ([]Size, error) {
	var sizes []Size
	_, err := s.onCore(ctx, caller, func(ctx context.Context) error {
		garment, err := s.compile(t.Script)
		if err != nil {
			return nil //nolint:nilerr // Try says why
		}
		plan := s.planOf(garment, t)
		for _, f := range proof.Figures(plan.Bodies) {
			size := trySize(ctx, plan.order(f.Body, nil))
			size.Figure, size.Name = f.Name, plan.Bodies[f.Body].Name
			size.Girths, size.Shown = girths(plan.Bodies[f.Body].Given, t.unit()), f.Body == plan.body
			sizes = append(sizes, size)
			if ctx.Err() != nil {
				break
			}
		}
		return ctx.Err()
	})
	return sizes, err
}

// girths says bust, waist and hip as a tape reads them.
func girths(m body.Measures, u Unit) string {
	var said []string
	for _, n := range []body.Name{body.BustGirth, body.WaistGirth, body.HipGirth} {
		if m[n] > 0 {
			said = append(said, strings.TrimSuffix(u.Tape(m[n]), ".0"))
		}
	}
	return strings.Join(said, " · ")
}

func trySize(ctx context.Context, o drafting.Order) Size {
	drafted, err := drafting.Draft(ctx, o)
	if err != nil {
		p := problem(ctx, err)
		if p.Reason == "" {
			p.Reason = p.Faults[0].Accepted
		}
		return Size{Problem: p.Reason}
	}
	size := Size{Drafts: true}
	if faults := proof.Faults(drafted); len(faults) > 0 {
		size.Problem = faults[0].Rule + ": " + faults[0].Reason
	}
	return size
}
