package style

import (
	"slices"
	"strings"
	"testing"
	"unicode"
)

// Every verb is said as a sentence, with a blank for everything that a call must
// state.
func TestVerbsAreSaidAsSentences(t *testing.T) {
	t.Parallel()
	for _, v := range Verbs() {
		blanks := map[string]bool{}
		Blanks(v.Phrases(), func(p Phrase) { blanks[p.Param] = true })
		for _, p := range v.Params() {
			if !blanks[p.Name] {
				t.Errorf("%s: the sentence has no blank for %s", v.Name(), p.Name)
			}
		}
		if len(v.Sentence) == 0 {
			continue
		}
		first := rune(v.Sentence[0])
		ends := slices.ContainsFunc([]string{".", ".]", "{message}", "{help}"}, func(end string) bool {
			return strings.HasSuffix(v.Sentence, end)
		})
		if v.Acts() && (!unicode.IsUpper(first) || !ends) {
			t.Errorf("%s: %q is no sentence", v.Name(), v.Sentence)
		}
		if !v.Acts() && (unicode.IsUpper(first) || strings.HasSuffix(v.Sentence, ".")) {
			t.Errorf("%s: %q is no phrase", v.Name(), v.Sentence)
		}
	}
}

// What is said of an edge, dart or line names its piece.
func TestNamesBelongToPieces(t *testing.T) {
	t.Parallel()
	of := []Kind{KindEdge, KindEdges, KindDart, KindDarts, KindLine, KindMark, KindPosition}
	for _, v := range Verbs() {
		piece := false
		for _, p := range v.Params() {
			if p.Kind == KindPiece || p.Kind == KindShape {
				piece = true
			}
			if slices.Contains(of, p.Kind) && !piece {
				t.Errorf("%s: %s is of no piece before it", v.Name(), p.Name)
			}
		}
	}
}

func TestParseSignature(t *testing.T) {
	t.Parallel()
	params, returns, err := parseSignature(`slash(piece, start position, to end|start="end", edge length=mm, ...) piece`)
	want := []Param{{Name: "piece", Kind: KindPiece}, {Name: "start", Kind: KindPosition},
		{Name: "to", Kind: "end|start", Default: `"end"`}, {Name: "edge", Kind: KindLength, Default: "mm", Rest: Named}}
	if err != nil || returns != KindPiece || !slices.Equal(params, want) {
		t.Errorf("got %v, %q, %v; want %v", params, returns, err, want)
	}
	for _, s := range []string{"f", "f(a nonsense)", "f(piece) nonsense"} {
		if _, _, err := parseSignature(s); err == nil {
			t.Errorf("%s was accepted", s)
		}
	}
}

func TestParseSentence(t *testing.T) {
	t.Parallel()
	params := []Param{{Name: "a", Kind: KindPiece}, {Name: "b", Kind: KindLength, Default: "mm", Rest: Named}}
	if _, err := ParseSentence("Cut {a}[, by <{b} at {b.name}>].", params); err != nil {
		t.Error(err)
	}
	for _, s := range []string{"{c}", "{a", "[{a}", "{a}]", "<{a}", "{a.name}", "a}"} {
		if _, err := ParseSentence(s, params); err == nil {
			t.Errorf("%s was accepted", s)
		}
	}
}
