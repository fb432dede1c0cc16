package cutting_test

import (
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

func ref(s string) pattern.EdgeRef {
	piece, edge, _ := strings.Cut(s, "/")
	return pattern.EdgeRef{Piece: piece, Edge: edge}
}

func refs(list ...string) []pattern.EdgeRef {
	var r []pattern.EdgeRef
	for _, s := range list {
		r = append(r, ref(s))
	}
	return r
}

func named(name string, p pattern.Piece) pattern.Piece {
	p.Name = name
	return p
}

// One band sewn to two pieces is cut and notched where they meet, and the
// seams are stated part to part.
func TestAssembleCutsTheBand(t *testing.T) {
	t.Parallel()
	back, front := named("back", square()), named("front", square().Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1))))
	band, err := cutting.Rectangle("band", "Band", 400, 40)
	if err != nil {
		t.Fatal(err)
	}
	// Seen from outside the back lies left of the front: back, then front along
	// the band's lower edge walked backwards.
	pieces, seams, errs := cutting.Assemble([]pattern.Piece{back, front, band}, []cutting.Pairing{
		{A: refs("back/top", "front/top"), B: refs("band/bottom")},
		{A: refs("back/side"), B: refs("front/side")},
	})
	if errs != nil {
		t.Fatal(errs)
	}
	if len(seams) != 3 || seams[0].A.String() != "back/top" || seams[0].B.String() != "band/bottom_2" ||
		seams[1].B.String() != "band/bottom_1" {
		t.Errorf("seams %v", seams)
	}
	p := pattern.Pattern{Pieces: pieces, Seams: seams}
	if broken := p.Validate(); broken != nil {
		t.Error(broken)
	}
	got := pieces[2]
	at := slices.IndexFunc(got.Notches, func(n pattern.Notch) bool { return n.Edge == "bottom_2" && n.At == 0 })
	if at < 0 {
		t.Errorf("the band is not notched where the pieces meet: %v", got.Notches)
	}
	if e, _ := got.Edge("bottom_1"); e.Run != "bottom" || e.Path.Length() != 200 {
		t.Errorf("bottom_1: %+v", e)
	}
}

// A notch on one side is given its mate, with ease in proportion.
func TestAssembleMatesNotches(t *testing.T) {
	t.Parallel()
	a := named("a", square())
	b, err := cutting.Level(named("b", square()), "side", "hem", 306)
	if err != nil {
		t.Fatal(err)
	}
	b.Notches = nil
	pieces, seams, errs := cutting.Assemble([]pattern.Piece{a, b}, []cutting.Pairing{
		{A: refs("b/side"), B: refs("a/side"), Ease: 6, How: "eased"},
	})
	if errs != nil {
		t.Fatal(errs)
	}
	near(t, "ease", seams[0].Ease, 6, 1e-6)
	near(t, "mate", pieces[1].Notches[0].At, 200*306/300.0, 1e-5) // b is walked down, a up
	if broken := (pattern.Pattern{Pieces: pieces, Seams: seams}).Validate(); broken != nil {
		t.Error(broken)
	}
}

func TestAssembleRefuses(t *testing.T) {
	t.Parallel()
	a, b := named("a", square()), named("b", square())
	short, err := cutting.Level(b, "side", "hem", 290)
	if err != nil {
		t.Fatal(err)
	}
	two := a
	two.Notches = append(slices.Clone(a.Notches), pattern.Notch{Edge: "side", At: 200, Kind: pattern.NotchSingle})
	other := b
	other.Notches = []pattern.Notch{{Edge: "side", At: 100, Kind: pattern.NotchDouble}}
	far := b
	far.Notches = []pattern.Notch{{Edge: "side", At: 210, Kind: pattern.NotchSingle}}
	folded := named("b", square())
	for i, e := range folded.Edges {
		if e.Name == "side" {
			folded.Edges[i].Role = pattern.RoleFold
		}
	}
	pair := cutting.Pairing{A: refs("a/side"), B: refs("b/side"), Line: 12}
	for _, tt := range []struct {
		name string
		a, b pattern.Piece
		pair cutting.Pairing
		want string
	}{
		{"lengths", a, short, pair, "300.0 mm to 290.0 mm"},
		{"a stated ease that is not there", a, b, cutting.Pairing{A: refs("a/side"), B: refs("b/side"), Ease: 5},
			"off by -5.00 mm"},
		{"no such piece", a, b, cutting.Pairing{A: refs("a/side"), B: refs("c/side")}, `no piece "c"`},
		{"no such edge", a, b, cutting.Pairing{A: refs("a/cap"), B: refs("b/side")}, `unknown edge "cap"`},
		{"an empty side", a, b, cutting.Pairing{A: refs("a/side")}, "a side names no edge"},
		{"a fold", a, folded, pair, "b/side is cut on the fold there and has no seam"},
		{"notches in number", two, b, pair, "2 notches on one side, 1 on the other"},
		{"notches of a kind", a, other, pair, "a single notch meets a double one"},
		{"notches apart", a, far, pair, "notches do not meet"},
		{"a notch beyond", a, b, cutting.Pairing{A: refs("a/side"), B: refs("b/side"), Notches: []float64{400}},
			"a notch at 400.0 mm"},
	} {
		_, _, errs := cutting.Assemble([]pattern.Piece{tt.a, tt.b}, []cutting.Pairing{tt.pair})
		if len(errs) != 1 || !strings.Contains(errs[0].Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.name, errs, tt.want)
		}
	}
}

// A block taken apart and sewn again has the seams it came with.
func TestAssembleABlock(t *testing.T) {
	t.Parallel()
	for _, figure := range figures {
		pieces := blockPieces(t, figure, nil)
		front := pieces["front"].Move(geom.Reflect(geom.Point{}, geom.Pt(0, 1)))
		back, sleeve := pieces["back"], pieces["sleeve"]
		ease := func(a pattern.Piece, ea string, b pattern.Piece, eb string) float64 {
			return a.RunLength(ea) - b.RunLength(eb)
		}
		out, seams, errs := cutting.Assemble([]pattern.Piece{back, front, sleeve}, []cutting.Pairing{
			{A: refs("back/shoulder"), B: refs("front/shoulder"), Ease: ease(back, "shoulder", front, "shoulder")},
			{A: refs("back/side"), B: refs("front/side")},
			{A: refs("sleeve/cap_back"), B: refs("back/armhole"), Ease: ease(sleeve, "cap_back", back, "armhole")},
			{A: refs("sleeve/cap_front"), B: refs("front/armhole"), Ease: ease(sleeve, "cap_front", front, "armhole")},
			{A: refs("sleeve/underarm_back"), B: refs("sleeve/underarm_front"),
				Ease: ease(sleeve, "underarm_back", sleeve, "underarm_front")},
		})
		if errs != nil {
			t.Fatal(errs)
		}
		if broken := (pattern.Pattern{Pieces: out, Seams: seams}).Validate(); broken != nil {
			t.Error(broken)
		}
		if len(seams) != 7 { // shoulder and side in two, where the darts open
			t.Errorf("%d seams: %v", len(seams), seams)
		}
	}
}

// What does not hold is found, and named.
func TestCheck(t *testing.T) {
	t.Parallel()
	good := func() pattern.Pattern {
		a, b := named("a", square()), named("b", square())
		pieces, seams, errs := cutting.Assemble([]pattern.Piece{a, b},
			[]cutting.Pairing{{A: refs("a/side"), B: refs("b/side"), SameWay: true}})
		if errs != nil {
			t.Fatal(errs)
		}
		return pattern.Pattern{Pieces: pieces, Seams: seams}
	}
	if broken := good().Validate(); broken != nil {
		t.Fatal(broken)
	}
	for _, tt := range []struct {
		name  string
		spoil func(p *pattern.Pattern)
		rule  string
		edge  string
	}{
		{"no grain", func(p *pattern.Pattern) { p.Pieces[0].Grain = geom.Segment{} }, "grain", ""},
		{"grain outside", func(p *pattern.Pattern) { p.Pieces[0].Grain = geom.Line(geom.Pt(50, 0), geom.Pt(50, 900)) },
			"grain", ""},
		{"no title", func(p *pattern.Pattern) { p.Pieces[0].Title = "" }, "label", ""},
		{"not cut", func(p *pattern.Pattern) { p.Pieces[0].Cut.Count = 0 }, "cut", ""},
		{"not on the fold", func(p *pattern.Pattern) { p.Pieces[0].Cut.OnFold = false }, "cut", ""},
		{"an odd pair", func(p *pattern.Pattern) { p.Pieces[0].Cut.Pair = true }, "cut", ""},
		{"one name", func(p *pattern.Pattern) { p.Pieces[1].Name = "a" }, "label", ""},
		{"open", func(p *pattern.Pattern) {
			p.Pieces[0].Edges[1].Path = geom.Polyline(geom.Pt(200, 0), geom.Pt(200, 299))
		}, "outline", ""},
		{"crossed", func(p *pattern.Pattern) {
			p.Pieces[0].Edges[1].Path = geom.Polyline(geom.Pt(200, 0), geom.Pt(80, 320), geom.Pt(120, 320), geom.Pt(200, 300))
		}, "outline", "side"},
		{"a curved fold", func(p *pattern.Pattern) {
			p.Pieces[0].Edges[3].Path = geom.Polyline(geom.Pt(0, 300), geom.Pt(-5, 100), geom.Pt(0, 0))
		}, "outline", "fold"},
		{"a notch without mate", func(p *pattern.Pattern) { p.Pieces[0].Notches = nil }, "notch", "side"},
		{"a notch moved", func(p *pattern.Pattern) { p.Pieces[0].Notches[0].At += 5 }, "notch", "side"},
		{"a seam too long", func(p *pattern.Pattern) { p.Seams[0].Ease = 2 }, "seam", "side"},
		{"a seam to nothing", func(p *pattern.Pattern) { p.Seams[0].B.Edge = "cap" }, "seam", "side"},
	} {
		p := good()
		p.Pieces[0].Edges = slices.Clone(p.Pieces[0].Edges)
		p.Pieces[0].Notches = slices.Clone(p.Pieces[0].Notches)
		tt.spoil(&p)
		found := slices.ContainsFunc(p.Validate(), func(b pattern.Violation) bool {
			return b.Rule == tt.rule &&
				(tt.edge == "" || b.Edge == tt.edge)
		})
		if !found {
			t.Errorf("%s: %v", tt.name, p.Validate())
		}
	}
}

// Loose and numbered again, a block's edges have their names and lengths.
func TestLooseAndNumbered(t *testing.T) {
	t.Parallel()
	for _, figure := range figures {
		for _, p := range blockPieces(t, figure, nil) {
			q := cutting.Numbered(p)
			again := cutting.Loose(q)
			for _, run := range p.Runs() {
				near(t, run, again.RunLength(run), p.RunLength(run), 1e-9)
				near(t, run+" by its parts", q.RunLength(run), p.RunLength(run), 1e-9)
			}
			if len(again.Notches) != len(p.Notches) {
				t.Errorf("%s: %d notches, want %d", p.Name, len(again.Notches), len(p.Notches))
			}
			names := map[string]bool{}
			for _, e := range q.Edges {
				if names[e.Name] {
					t.Errorf("%s: two edges %s", p.Name, e.Name)
				}
				names[e.Name] = true
			}
		}
	}
}
