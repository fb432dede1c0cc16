package styles

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tapeline/drafting"
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
	Origins       bool // also ask where each part of the pattern comes from
}

// Tried is what a script makes.
type Tried struct {
	Slug, Title      string
	Bodies, Variants []string // that can be tried, by name; nil if the script does not compile
	Body, Variant    string   // the ones tried

	// Problem says why nothing is drafted, nil if something is.
	Problem *Problem

	Picture  []byte // SVG for screens
	Checks   []document.Check
	Pieces   []TriedPiece
	Faults   []string  // what a cutter would send back
	Notes    []string  // what the draft warns of
	Findings []Warning // what is probably a mistake in the script
	Origins  []TriedOrigin
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
	panel := s.panel(garment)
	plan := proof.Plan{Bodies: panel, Variants: proof.Every(garment.Spec(), proof.Base(garment.Head.Slug, garment))}
	tried.Slug, tried.Title = garment.Head.Slug, garment.Head.Title
	for _, b := range plan.Bodies {
		tried.Bodies = append(tried.Bodies, b.Name)
	}
	for _, v := range plan.Variants {
		tried.Variants = append(tried.Variants, v.Name)
	}
	at := slices.Index(tried.Bodies, t.Body)
	if at < 0 {
		at = slices.Index(tried.Bodies, proof.Average(panel).Name)
	}
	variant := max(0, slices.Index(tried.Variants, t.Variant))
	tried.Body, tried.Variant = tried.Bodies[at], tried.Variants[variant]
	if tried.Findings, err = s.findingsOf(ctx, garment, panel); err != nil {
		return err
	}
	trace := new(style.Trace)
	if t.Origins {
		plan.Variants[variant].Order.Garment = garment.Tracing(trace)
	}
	drafted, err := plan.Draft(ctx, variant*len(plan.Bodies)+at)
	if err != nil {
		return err
	}
	if err := tried.show(ctx, drafted); err != nil {
		return err
	}
	if t.Origins {
		tried.Origins = origins(trace, tried.Pieces)
	}
	return nil
}

// show fills in what is said of a draft.
func (t *Tried) show(ctx context.Context, p finish.Pattern) error {
	t.Checks, t.Notes = document.Checks(p.Checks), p.Warnings
	for _, f := range proof.Faults(p) {
		t.Faults = append(t.Faults, f.Rule+": "+f.Reason)
	}
	for _, q := range p.Pieces {
		t.Pieces = append(t.Pieces, triedPiece(q.Piece))
	}
	var err error
	t.Picture, err = draw(ctx, p)
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
	Name    string
	Drafts  bool
	Problem string // why it does not draft, or what a cutter would send back
}

// sizesShown is the number of bodies beside the one that is shown.
const sizesShown = 6

// TrySizes drafts a script to six bodies spread over the panel, in the trial's
// variant, and says of each whether it drafts. A script that does not compile has
// none.
func (s *Service) TrySizes(ctx context.Context, caller service.Caller, t Trial) ([]Size, error) {
	leave, err := s.trials.Enter(caller.Owner())
	if err != nil {
		return nil, err
	}
	defer leave()
	var sizes []Size
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
		garment, err := s.compile(t.Script)
		if err != nil {
			return nil //nolint:nilerr // Try says why
		}
		panel := s.panel(garment)
		variants := proof.Every(garment.Spec(), proof.Base(garment.Head.Slug, garment))
		i := max(0, slices.IndexFunc(variants, func(v proof.Variant) bool { return v.Name == t.Variant }))
		for n := range sizesShown {
			b := panel[(2*n+1)*len(panel)/(2*sizesShown)]
			o := variants[i].Order
			o.Measurements = b.Given
			sizes = append(sizes, trySize(ctx, b.Name, o))
			if ctx.Err() != nil {
				break
			}
		}
		return nil
	})
	return sizes, err
}

func trySize(ctx context.Context, name string, o drafting.Order) Size {
	drafted, err := drafting.Draft(ctx, o)
	if err != nil {
		p := problem(ctx, err)
		if p.Reason == "" {
			p.Reason = p.Faults[0].Accepted
		}
		return Size{Name: name, Problem: p.Reason}
	}
	size := Size{Name: name, Drafts: true}
	if faults := proof.Faults(drafted); len(faults) > 0 {
		size.Problem = faults[0].Rule + ": " + faults[0].Reason
	}
	return size
}
