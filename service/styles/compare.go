package styles

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"tapeline/drafting"
	"tapeline/drafting/proof"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
	"tapeline/service"
)

// An EdgeName names an edge of a piece.
type EdgeName struct{ Piece, Edge string }

func (e EdgeName) String() string { return e.Piece + "/" + e.Edge }

// Said returns the edge in words: front neckline.
func (e EdgeName) Said() string { return said(e.Piece, e.Edge) }

// Comparison holds the lengths of two edges on the body of a trial, and the ways to make
// them equal.
type Comparison struct {
	A, B             EdgeName
	LengthA, LengthB float64 // mm, darts closed
	Ways             []Way
	Problem          *Problem // why nothing can be compared
}

// Difference returns the length of A less that of B, mm.
func (c Comparison) Difference() float64 { return c.LengthA - c.LengthB }

// Equal reports whether the edges are equally long.
func (c Comparison) Equal() bool { return math.Abs(c.Difference()) <= equalTol }

// equalTol is the difference up to which two edges are equal, mm.
const equalTol = 0.05

// A Way is an edit that makes two edges equal, or takes up their difference in the seam
// between them. It was tried on the body of the trial and on the figures.
type Way struct {
	Edit  Edit
	Said  string  // the sentence as the edit makes it
	Eased bool    // the difference stays, and the seam takes it up
	Left  float64 // largest difference on the figures, mm, that the seam does not take up
	On    string  // the figure that has it
	Fails []string
}

// Limits of the search for ways.
const (
	maxWays      = 5
	maxBlanks    = 24    // that are tried
	maxSecant    = 12    // steps until the lengths are equal
	maxTurn      = 300.0 // mm by which a length is changed at most
	leastEffect  = 0.02  // mm of difference for each mm of a length; less is no effect
	probe        = 5.0   // mm, the first change of a length
	writtenMM    = 0.01  // lengths are written to that, mm
	sentenceSeam = "seam"
)

// Compare measures two edges on the body of a trial, and finds what can make them equal.
func (s *Service) Compare(ctx context.Context, caller service.Caller, t Trial, a, b EdgeName) (Comparison, error) {
	read, p := ReadSentences(t.Script, t.unit())
	if p != nil {
		return Comparison{Problem: p}, nil
	}
	c := comparer{service: s, trial: t, read: read, a: a, b: b}
	p, err := s.onCore(ctx, caller, func(ctx context.Context) error { return c.compare(ctx) })
	c.found.A, c.found.B, c.found.Problem = a, b, p
	return c.found, err
}

// comparer looks for ways to make two edges equal.
type comparer struct {
	service *Service
	trial   Trial
	read    *Sentences
	a, b    EdgeName
	found   Comparison
}

func (c *comparer) compare(ctx context.Context) error {
	trace := new(style.Trace)
	m := c.measure(ctx, c.trial.Script, trace)
	if m.missing != nil {
		return m.missing
	}
	c.found.LengthA, c.found.LengthB = m.a, m.b
	if c.found.Equal() {
		return ctx.Err()
	}
	for _, blank := range c.blanks(trace) {
		if len(c.found.Ways) == maxWays || ctx.Err() != nil {
			break
		}
		c.tryBlank(ctx, blank)
	}
	c.trySeams(ctx)
	slices.SortStableFunc(c.found.Ways, func(x, y Way) int {
		eased := map[bool]int{true: 1}
		return cmp.Or(cmp.Compare(len(x.Fails), len(y.Fails)), cmp.Compare(eased[x.Eased], eased[y.Eased]),
			cmp.Compare(x.Left, y.Left))
	})
	return ctx.Err()
}

// measured are the lengths of the edges in a draft.
type measured struct {
	a, b    float64
	missing error // why there are none
	failed  error // why the garment is not drafted although its edges are
}

func (m measured) difference() float64 { return m.a - m.b }

// measure drafts a script to the body of the trial.
func (c *comparer) measure(ctx context.Context, script string, trace *style.Trace) measured {
	garment, err := c.service.compile(script)
	if err != nil {
		return measured{missing: err}
	}
	plan := c.service.planOf(garment, c.trial)
	return c.measureOn(ctx, plan, plan.body, trace)
}

func (c *comparer) measureOn(ctx context.Context, plan trialPlan, body int, trace *style.Trace) measured {
	_, err := drafting.Draft(ctx, plan.order(body, trace))
	m := measured{failed: err}
	var okA, okB bool
	m.a, okA = trace.Length(c.a.Piece, c.a.Edge)
	m.b, okB = trace.Length(c.b.Piece, c.b.Edge)
	switch {
	case okA && okB:
	case err != nil:
		m.missing = err
	case okA:
		m.missing = fmt.Errorf("the garment has no edge %s", c.b)
	default:
		m.missing = fmt.Errorf("the garment has no edge %s", c.a)
	}
	return m
}

// blanks returns the blanks with a plain length in the sentences that made the pieces of
// the edges: those that made or changed the edges themselves first, then from the last.
func (c *comparer) blanks(trace *style.Trace) []Blank {
	var lines []int
	for _, e := range []EdgeName{c.a, c.b} {
		if o, ok := trace.Origin(style.Thing{Piece: e.Piece, Kind: style.KindEdge, Name: e.Edge}); ok {
			lines = append(lines, o.Changed.Make.Line, o.Changed.At.Line, o.Made.Make.Line, o.Made.At.Line)
		}
	}
	for _, e := range []EdgeName{c.a, c.b} {
		for _, site := range slices.Backward(trace.Sites(e.Piece)) {
			lines = append(lines, site.Make.Line, site.At.Line)
		}
	}
	var blanks []Blank
	for i, line := range lines {
		st := c.read.Containing(line)
		if line == 0 || st == nil || slices.Contains(lines[:i], line) {
			continue
		}
		for _, x := range st.Sentences {
			if x.Verb != sentenceSeam {
				blanks = appendLengths(blanks, x)
			}
		}
	}
	return blanks[:min(len(blanks), maxBlanks)]
}

// appendLengths appends the blanks of a sentence that hold a plain length.
func appendLengths(list []Blank, x Sentence) []Blank {
	for _, p := range x.Parts {
		if b := p.Blank; b != nil && isPlainLength(*b) &&
			!slices.ContainsFunc(list, func(o Blank) bool { return o.Span == b.Span }) {
			list = append(list, *b)
		}
	}
	return list
}

// isPlainLength reports whether a blank holds a length as a number.
func isPlainLength(b Blank) bool {
	return b.Value.Form == sentence.Number && (b.Kind == style.KindLength || b.Kind == style.KindAlong)
}

// tryBlank finds the length that makes the edges equal, and tries the length of the other
// edge in its place.
func (c *comparer) tryBlank(ctx context.Context, b Blank) {
	v, ok := c.solve(ctx, b)
	if !ok {
		return
	}
	c.offer(ctx, Edit{Act: SetBlank, At: b.Span, Value: Value{Form: sentence.Number, Number: v}})
	for _, e := range []EdgeName{c.a, c.b} {
		if as, _, ok := c.read.Holder(e.Piece); ok {
			c.offer(ctx, Edit{Act: SetBlank, At: b.Span,
				Value: Value{Form: sentence.EdgeLength, Piece: as, Word: e.Edge}})
		}
	}
}

// solve returns the length of a blank with which the edges are equal, by the secant
// method, and false if it does not matter to them or none is near.
func (c *comparer) solve(ctx context.Context, b Blank) (mm float64, ok bool) {
	start := b.Value.Number
	at := func(v float64) (float64, error) {
		text, err := c.read.Set(b.Span, Value{Form: sentence.Number, Number: v})
		if err != nil {
			return 0, err
		}
		m := c.measure(ctx, text, new(style.Trace))
		return m.difference(), m.missing
	}
	x0, y0 := start, c.found.Difference()
	x1 := start + probe
	y1, err := at(x1)
	if err != nil {
		x1 = start - probe
		y1, err = at(x1)
	}
	for range maxSecant {
		if err != nil || math.Abs(y1-y0) < leastEffect*math.Abs(x1-x0) {
			return 0, false
		}
		if math.Abs(y1) <= equalTol/2 {
			return x1, true
		}
		next := math.Round((x1-y1*(x1-x0)/(y1-y0))/writtenMM) * writtenMM
		if next == x1 {
			return x1, math.Abs(y1) <= equalTol
		}
		if math.Abs(next-start) > maxTurn || next < 0 && start >= 0 {
			return 0, false
		}
		x0, y0, x1 = x1, y1, next
		y1, err = at(x1)
	}
	return 0, false
}

// trySeams lets the seam between the edges take up their difference.
func (c *comparer) trySeams(ctx context.Context) {
	eachSentence(c.read, func(x Sentence) {
		if x.Verb != sentenceSeam {
			return
		}
		edges := [2]EdgeName{c.a, c.b}
		words := map[string]string{}
		for _, p := range x.Parts {
			if p.Blank != nil && p.Blank.Value.Form == sentence.Word {
				words[p.Blank.Param] = p.Blank.Value.Word
			}
		}
		if words["a"] == c.b.String() && words["b"] == c.a.String() {
			edges = [2]EdgeName{c.b, c.a}
		} else if words["a"] != c.a.String() || words["b"] != c.b.String() {
			return
		}
		ease := c.found.Difference()
		if edges[0] != c.a {
			ease = -ease
		}
		c.offer(ctx, Edit{Act: SetArgument, At: x.Span, Param: "ease", Value: Value{Form: sentence.Number,
			Number: math.Round(ease/writtenMM) * writtenMM}})
		first, _, ok := c.read.Holder(edges[0].Piece)
		second, _, ok2 := c.read.Holder(edges[1].Piece)
		if ok && ok2 {
			c.offer(ctx, Edit{Act: SetArgument, At: x.Span, Param: "ease", Value: Value{Form: sentence.ByHand,
				Script: fmt.Sprintf("length(%s, %q) - length(%s, %q)", first, edges[0].Edge, second, edges[1].Edge)}})
		}
	})
}

// offer tries an edit on the body of the trial and on the figures, and adds it to the ways
// if the garment is drafted and the edges are equal or sewn with ease.
func (c *comparer) offer(ctx context.Context, e Edit) {
	text, err := e.apply(c.read)
	if err != nil {
		return
	}
	m := c.measure(ctx, text, new(style.Trace))
	w := Way{Edit: e, Eased: e.Act == SetArgument}
	if m.missing != nil || m.failed != nil || !w.Eased && math.Abs(m.difference()) > equalTol {
		return
	}
	if w.Said = saidAfter(text, e, c.trial.unit()); w.Said == "" {
		return
	}
	garment, err := c.service.compile(text)
	if err != nil {
		return
	}
	plan := c.service.planOf(garment, c.trial)
	for _, f := range proof.Figures(plan.Bodies) {
		m := c.measureOn(ctx, plan, f.Body, new(style.Trace))
		if m.failed != nil {
			w.Fails = append(w.Fails, f.Name)
		}
		left := math.Abs(m.difference())
		if w.Eased && e.Value.Form == sentence.ByHand {
			left = 0
		} else if w.Eased {
			left = math.Abs(math.Abs(m.difference()) - math.Abs(e.Value.Number))
		}
		if m.missing == nil && left > max(w.Left, equalTol) {
			w.Left, w.On = left, f.Name
		}
	}
	if !errors.Is(ctx.Err(), context.Canceled) {
		c.found.Ways = append(c.found.Ways, w)
	}
}

// saidAfter returns the sentence that an edit changed as it is afterwards.
func saidAfter(text string, e Edit, u Unit) string {
	read, p := ReadSentences(text, u)
	if p != nil {
		return ""
	}
	var saying string
	eachSentence(read, func(x Sentence) {
		if x.Start <= e.At.Start && e.At.Start < x.End {
			saying = x.Text()
		}
	})
	return saying
}
