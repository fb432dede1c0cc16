package finish

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"tapeline/drafting/geom"
	"tapeline/drafting/lettering"
	"tapeline/drafting/pattern"
)

// inAllowance reports whether a text lies between seam and cut line.
func inAllowance(p Piece, l Text) bool {
	for _, c := range l.Corners() {
		if p.Outline().Contains(c) || !p.CutLine.Contains(c) {
			return false
		}
	}
	return len(boxPath(l).Crossings(p.CutLine)) == 0
}

// lettered checks that every label of a piece can be read and lies inside its
// seam line and clear of its darts.
func lettered(t *testing.T, p Piece) {
	t.Helper()
	seam := p.Outline()
	for _, l := range p.Texts {
		if l.Size < foldedLetters || l.Size > 6+1e-9 {
			t.Errorf("%s: letters of %.2f mm in %q", p.Name, l.Size, l.Lines)
		}
		if len(l.Lines) == 0 {
			t.Errorf("%s: a label without lines", p.Name)
		}
		for _, line := range l.Lines {
			if !utf8.ValidString(line) || strings.TrimSpace(line) == "" || lettering.Regular().Clean(line) != line {
				t.Errorf("%s: line %q", p.Name, line)
			}
		}
		box := boxPath(l)
		if c := box.Crossings(seam); len(c) > 0 {
			t.Errorf("%s: %q runs out of the seam line at %v", p.Name, l.Lines[0], c[0].At)
		}
		if l.Fixed && inAllowance(p, l) {
			continue
		}
		for _, corner := range l.Corners() {
			if !seam.Contains(corner) {
				t.Errorf("%s: %q has a corner outside the seam line at %v", p.Name, l.Lines[0], corner)
			}
		}
		for _, dart := range p.Darts {
			for _, leg := range dart.Legs {
				if len(box.Crossings(leg)) > 0 {
					t.Errorf("%s: %q runs over %s", p.Name, l.Lines[0], dart.Name)
				}
			}
		}
	}
	for i, l := range p.Texts {
		for _, m := range p.Texts[:i] {
			shared := boxPath(l).Crossings(boxPath(m))
			// Title and text touch along one edge.
			if len(shared) > 0 && math.Abs(l.Corners()[0].Dist(m.Corners()[3])) > 1e-6 {
				t.Errorf("%s: %q runs over %q", p.Name, l.Lines[0], m.Lines[0])
			}
		}
	}
}

func boxPath(l Text) geom.Path {
	c := l.Corners()
	return geom.Polyline(c[0], c[1], c[2], c[3], c[0])
}

// all the words on a piece
func words(p Piece) string {
	var lines []string
	for _, l := range p.Texts {
		lines = append(lines, l.Lines...)
	}
	return strings.Join(lines, "\n")
}

// said lists the texts of pieces that do not describe the piece itself.
type said struct {
	style string
	label Label
}

var hostile = map[string]said{
	"nothing": {},
	"long": {strings.Repeat("Very long style ", 30), Label{
		Reference: strings.Repeat("R", 5000), Customer: strings.Repeat("word ", 4000),
		Date: strings.Repeat("2026", 100), Revision: math.MaxInt, Measures: []string{strings.Repeat("9", 300), "", "  "},
	}},
	"many measures": {label: Label{Reference: "1", Measures: strings.Fields(strings.Repeat("Bust Waist Hip ", 20))}},
	"other scripts": {"裙子 スカート 👗👩‍👩‍👧", Label{
		Reference: "طلب ١٠٤٢", Customer: "שרה\u200f 12", Measures: []string{"胸 92"},
	}},
	"broken": {"e\u0301\u0301\u0301\u0301", Label{Reference: "a\nb\r\tc\x00\u202e\u2066", Customer: "\xff\xfe\xfd",
		Date: "\u200b\ufeff\u00ad"}},
	"markup": {"%PDF-1.7 0 obj &amp;", Label{Reference: `</svg><script>`, Customer: `\) Tj ET (`}},
}

func TestLetteringStaysInside(t *testing.T) {
	t.Parallel()
	hostile := mapsWith(hostile, "ordinary", said{testStyle, testLabel})
	for name, info := range hostile {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, err := letteredAs(testPattern(), info)
			if err != nil {
				t.Fatal(err)
			}
			for i, piece := range p.Pieces {
				lettered(t, piece)
				if len(piece.Texts) == 0 || !strings.Contains(words(piece), piece.Title) {
					t.Errorf("%s does not say which piece it is: %q", piece.Name, words(piece))
				}
				if want := []string{"Piece 1 of 5", "Piece 2 of 5", "Piece 3 of 5", "Piece 4 of 5",
					"Piece 5 of 5"}[i]; !strings.Contains(words(piece), want) {
					t.Errorf("%s does not say %q: %q", piece.Name, want, words(piece))
				}
			}
		})
	}
}

func mapsWith(m map[string]said, key string, v said) map[string]said {
	out := map[string]said{key: v}
	for k, v := range m {
		out[k] = v
	}
	return out
}

func TestWhatIsLettered(t *testing.T) {
	t.Parallel()
	p, err := finishLettered(testPattern(), Rules{})
	if err != nil {
		t.Fatal(err)
	}
	got := words(p.Pieces[1])
	for _, want := range []string{
		"Front", "Cut 1 on fold", "Piece 2 of 5", "Torso block, regular fit", "Order A-1042", "Customer K-0077",
		"Bust 92.0 cm", "Waist 76.0 cm", "Hip 100.0 cm", "Nape to waist 41.0 cm", "2026-01-31, revision 2", "FOLD", "GRAIN",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("the front does not say %q:\n%s", want, got)
		}
	}
}

func TestCutInstruction(t *testing.T) {
	t.Parallel()
	for want, cut := range map[string]pattern.Cut{
		"Cut 1":           {Count: 1},
		"Cut 1 on fold":   {Count: 1, OnFold: true},
		"Cut 2":           {Count: 2},
		"Cut 2 (1 pair)":  {Count: 2, Pair: true},
		"Cut 4 (2 pairs)": {Count: 4, Pair: true},
		"Cut 2 on fold":   {Count: 2, OnFold: true},
	} {
		if got := cut.String(); got != want {
			t.Errorf("%+v: %q, want %q", cut, got, want)
		}
	}
}

// Pieces from a metre down to what holds no letter at all.
func TestSmallAndNarrowPieces(t *testing.T) {
	t.Parallel()
	for _, size := range [][2]float64{
		{1200, 24}, {24, 1200}, {900, 14}, {14, 900}, {400, 11}, {11, 400}, {120, 40}, {40, 120}, {60, 60}, {40, 40}, {25,
			25}, {18, 12}, {8, 8}, {3, 3},
	} {
		s := pattern.RoleSeam
		p := quad([4]pattern.Role{s, s, s, s}, [4]geom.Point{{}, {X: size[0]}, {X: size[0], Y: size[1]}, {Y: size[1]}})
		p.Grain = geom.Line(geom.Pt(size[0]*0.1, size[1]/2), geom.Pt(size[0]*0.9, size[1]/2))
		out, err := finishLettered(pattern.Pattern{Pieces: []pattern.Piece{p}}, Rules{})
		if err != nil {
			t.Fatal(err)
		}
		lettered(t, out.Pieces[0])
		if title := strings.Contains(words(out.Pieces[0]), "Quad"); title != (len(out.Warnings) == 0) {
			t.Errorf("%v: titled %t and warnings %q", size, title, out.Warnings)
		}
		if min(size[0], size[1]) >= 11 && max(size[0], size[1]) >= 40 && !strings.Contains(words(out.Pieces[0]), "A-1042") {
			t.Errorf("%v: no order reference in %q", size, words(out.Pieces[0]))
		}
		t.Logf("%v: %d labels, %q", size, len(out.Pieces[0].Texts), words(out.Pieces[0]))
	}
}

func FuzzLettering(f *testing.F) {
	f.Add("A-1042", "K-7", "Torso", "Bust 92", 30.0, 300.0)
	f.Add("\u202e👗", strings.Repeat("long ", 50), "", "\x00", 300.0, 14.0)
	f.Fuzz(func(t *testing.T, reference, customer, style, measure string, width, height float64) {
		if !(width > 1 && width < 2000 && height > 1 && height < 2000) {
			t.Skip()
		}
		s := pattern.RoleSeam
		p := quad([4]pattern.Role{s, s, s, s}, [4]geom.Point{{}, {X: width}, {X: width * 0.8, Y: height},
			{X: width * 0.1, Y: height}})
		p.Title = customer
		out, err := letteredAs(pattern.Pattern{Pieces: []pattern.Piece{p}},
			said{style, Label{Reference: reference, Customer: customer, Measures: []string{measure}}})
		if err != nil {
			t.Skip()
		}
		lettered(t, out.Pieces[0])
	})
}

// The same input gives the same output, from any number of goroutines.
func TestSameInputSameOutput(t *testing.T) {
	t.Parallel()
	want, err := finishLettered(testPattern(), Rules{})
	if err != nil {
		t.Fatal(err)
	}
	for range 4 {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			got, err := finishLettered(testPattern(), Rules{})
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("another pattern (%v)", err)
			}
		})
	}
}
