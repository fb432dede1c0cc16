package style_test

import (
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// traced drafts a garment with a trace.
func traced(t testing.TB, s *style.Style) *style.Trace {
	t.Helper()
	spec := s.Spec()
	person, faults := body.New(standard, spec.Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	trace := new(style.Trace)
	if _, err := s.Tracing(trace).Draft(t.Context(), block.Request{Body: person, Fit: spec.Fits[0].Name}); err != nil {
		t.Fatal(err)
	}
	return trace
}

// The trace says which line of the script made and which last changed each thing.
func TestOrigins(t *testing.T) {
	t.Parallel()
	s, err := style.Compile([]byte(`style(slug = "traced", title = "Traced", block = "torso", allowances = {"default": 10})

def lower(p):
    return drop(p, "neckline", centre_front = 20, shoulder = 5)

def make(body, ease, choose, block):
    front, back = block.front, block.back
    front = lower(front)
    front = shift(front, right = 10)
    front = dart(undart(front, "bust_dart"), "neck_dart", "neckline", 60, 15, mark(front, "bust_point"))
    front = draw(front, "pocket", line(point(60, 180), point(120, 180)))
    front = allow(front, hem = 30)
    let_pass("front/neckline", "head", closing = ["back/centre_back"])
    seams = [seam("front/side", "back/side", ease = length(front, "side") - length(back, "side"))]
    band_piece = band("tie", "Tie", 300, 20)
    return garment([front, role(back, side = "edge", shoulder = "edge"), role(band_piece, top = "edge")], [], ["Sew."])
`))
	if err != nil {
		t.Fatal(err)
	}
	trace := new(style.Trace)
	person, faults := body.New(standard, s.Spec().Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	// What is not sewn does not matter here: the pieces are there before they are assembled.
	_, _ = s.Tracing(trace).Draft(t.Context(), block.Request{Body: person, Fit: s.Spec().Fits[0].Name})
	for _, c := range []struct {
		of            style.Thing
		made, changed int // lines; 0 is the block
		inMake        int // the line of make that changed it
	}{
		{style.Thing{Piece: "front", Kind: style.KindEdge, Name: "neckline"}, 0, 10, 10},
		{style.Thing{Piece: "front", Kind: style.KindEdge, Name: "shoulder"}, 0, 4, 8},
		{style.Thing{Piece: "front", Kind: style.KindEdge, Name: "armhole"}, 0, 0, 0},
		{style.Thing{Piece: "front", Kind: style.KindEdge, Name: "hem"}, 0, 12, 12},
		{style.Thing{Piece: "front", Kind: style.KindDart, Name: "neck_dart"}, 10, 10, 10},
		{style.Thing{Piece: "front", Kind: style.KindLine, Name: "pocket"}, 11, 11, 11},
		{style.Thing{Piece: "front", Kind: style.KindMark, Name: "bust_point"}, 0, 0, 0},
		{style.Thing{Piece: "front"}, 0, 11, 11},
		{style.Thing{Piece: "left_front", Kind: style.KindEdge, Name: "hem"}, 0, 12, 12},
		{style.Thing{Piece: "tie", Kind: style.KindEdge, Name: "bottom"}, 15, 15, 15},
		{style.Thing{Piece: "tie", Kind: style.KindEdge, Name: "top"}, 15, 16, 16},
	} {
		got, ok := trace.Origin(c.of)
		if !ok || got.Made.At.Line != c.made || got.Changed.At.Line != c.changed || got.Changed.Make.Line != c.inMake {
			t.Errorf("%v: made at %v, changed at %v, %v; want lines %d and %d in %d", c.of, got.Made, got.Changed, ok, c.made,
				c.changed, c.inMake)
		}
	}
	for _, of := range []style.Thing{{Piece: "skirt"}, {Piece: "front", Kind: style.KindEdge, Name: "toe"}} {
		if _, ok := trace.Origin(of); ok {
			t.Errorf("%v has an origin", of)
		}
	}
}

// Every edge, dart and line of every built-in garment comes from the block or from a
// call in its script.
func TestOriginsOfGarments(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		trace := traced(t, s)
		lines := strings.Split(s.Source(), "\n")
		spec := s.Spec()
		person, _ := body.New(standard, spec.Requires)
		p, err := s.Draft(t.Context(), block.Request{Body: person, Fit: spec.Fits[0].Name})
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range p.Pieces {
			var things []style.Thing
			for _, run := range q.Runs() {
				things = append(things, style.Thing{Piece: q.Name, Kind: style.KindEdge, Name: run})
			}
			for _, d := range q.Darts {
				things = append(things, style.Thing{Piece: q.Name, Kind: style.KindDart, Name: d.Name})
			}
			for _, of := range append(things, style.Thing{Piece: q.Name}) {
				got, ok := trace.Origin(of)
				if !ok {
					t.Errorf("%s: %v has no origin", s.Head.Slug, of)
				}
				if line := got.Changed.At.Line; line > 0 && !strings.Contains(lines[line-1], "(") {
					t.Errorf("%s: %v was changed at line %d, %q", s.Head.Slug, of, line, lines[line-1])
				}
			}
		}
	}
}

// BenchmarkTrace drafts each garment with a trace; compare BenchmarkDraft.
func BenchmarkTrace(b *testing.B) {
	benchGarments(b, func(s *style.Style) *style.Style { return s.Tracing(new(style.Trace)) })
}
