package sentence

import (
	"math/rand/v2"
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

const script = `# A top.
style(
    slug = "top",
    title = "Top",
    block = "torso",
    choices = [
        choice("depth", "Depth of the neck.", length = (0, 100), default = 30),
    ],
    allowances = {"default": 10},
)

def make(body, ease, choose, block):
    front, back = block.front, block.back

    # The neck
    front = drop(front, "neckline", centre_front = 30, shoulder = 15) # wide
    back = drop(back, "neckline", centre_back = 10, shoulder = 15)
    back = notch(allow(back, hem = 20), "hem", 40)
    if choose.depth > 20:
        front = true_up(front, "neckline")
    pieces = [front, back]
    seams = [
        seam("back/shoulder", "front/shoulder", ease = 5),
        seam("back/side", "front/side"), # both
    ]
    return garment(pieces, seams, ["Sew it."])
`

// sentenceSaying returns the sentence that begins with words.
func sentenceSaying(t *testing.T, s *Script, words string) Sentence {
	t.Helper()
	var found *Sentence
	s.Each(func(_ Section, st *Statement) {
		for i, x := range st.Sentences {
			if strings.HasPrefix(x.Text(), words) {
				found = &st.Sentences[i]
			}
		}
	})
	if found == nil {
		t.Fatalf("no sentence says %q", words)
	}
	return *found
}

// blankOf returns the blank of a parameter.
func blankOf(t *testing.T, x Sentence, param, name string) Span {
	t.Helper()
	for _, p := range x.Parts {
		if p.Blank != nil && p.Blank.Param == param && p.Blank.Name == name {
			return p.Blank.Span
		}
	}
	t.Fatalf("%q has no blank %s %s", x.Text(), param, name)
	return Span{}
}

// An editCase is an edit of script that replaces old by new.
type editCase struct {
	name     string
	edit     func(s *Script) (string, error)
	old, new string
}

// fillingCases fill in and add.
func fillingCases(t *testing.T) []editCase {
	t.Helper()
	number := func(v float64) Value { return Value{Form: Number, Number: v} }
	neck := "Lower the neckline of the front"
	spanOf := func(s *Script, words string) Span { return sentenceSaying(t, s, words).Span }
	return []editCase{
		{"set a number", func(s *Script) (string, error) {
			return s.Set(blankOf(t, sentenceSaying(t, s, neck), "neighbour", "shoulder"), number(22.5))
		}, "shoulder = 15) # wide", "shoulder = 22.5) # wide"},
		{"set the length of an edge", func(s *Script) (string, error) {
			v := Value{Form: EdgeLength, Piece: "back", Word: "shoulder", Plus: -3}
			return s.Set(blankOf(t, sentenceSaying(t, s, "Notch"), "at", ""), v)
		}, `"hem", 40)`, `"hem", length(back, "shoulder") - 3)`},
		{"set a share of a measurement", func(s *Script) (string, error) {
			v := Value{Form: Measurement, Word: "waist_girth", Times: 0.25}
			return s.Set(blankOf(t, sentenceSaying(t, s, "Notch"), "at", ""), v)
		}, `"hem", 40)`, `"hem", 0.25 * body.waist_girth)`},
		{"set an edge", func(s *Script) (string, error) {
			return s.Set(blankOf(t, sentenceSaying(t, s, "True up"), "edge", ""), Value{Form: Word, Word: "hem"})
		}, `true_up(front, "neckline")`, `true_up(front, "hem")`},
		{"give a blank that was left out", func(s *Script) (string, error) {
			return s.SetArgument(spanOf(s, "Notch"), "name", "", Value{Form: Word, Word: "zip end"})
		}, `"hem", 40)`, `"hem", 40, name = "zip end")`},
		{"give a further neighbour", func(s *Script) (string, error) {
			return s.SetArgument(spanOf(s, "Give the back"), "edge", "side", number(15))
		}, `hem = 20)`, `hem = 20, side = 15)`},
		{"leave a blank out", func(s *Script) (string, error) {
			return s.SetArgument(spanOf(s, "Sew back shoulder"), "ease", "", Value{})
		}, `"front/shoulder", ease = 5)`, `"front/shoulder")`},
		{"let the customer choose", func(s *Script) (string, error) {
			return s.Offer(blankOf(t, sentenceSaying(t, s, neck), "neighbour", "centre_front"),
				Choice{"neck", "How low the neck is.", 10, 90})
		}, "centre_front = 30", "centre_front = choose.neck"},
		{"add an instruction", func(s *Script) (string, error) {
			return s.Add(spanOf(s, "True up"), false, Call{Verb: "true_up", Args: []Arg{
				{Param: "piece", Value: Value{Form: Variable, Word: "back"}},
				{Param: "edge", Value: Value{Form: Word, Word: "hem"}}}})
		}, "(front, \"neckline\")\n", "(front, \"neckline\")\n        back = true_up(back, \"hem\")\n"},
		{"add a seam to a list", func(s *Script) (string, error) {
			return s.Add(spanOf(s, "Sew back side"), false, Call{Verb: "seam", Args: []Arg{
				{Param: "a", Value: Value{Form: Word, Word: "back/hem"}}, {Param: "gather", Value: number(2)}}})
		}, `"front/side"), # both`, "\"front/side\"),\n        seam(\"back/hem\", gather = 2), # both"},
	}
}

// arrangingCases remove and move.
func arrangingCases(t *testing.T) []editCase {
	t.Helper()
	neck := "Lower the neckline of the front"
	spanOf := func(s *Script, words string) Span { return sentenceSaying(t, s, words).Span }
	return []editCase{
		{"remove a statement", func(s *Script) (string, error) { return s.Remove(spanOf(s, neck)) },
			"    front = drop(front, \"neckline\", centre_front = 30, shoulder = 15) # wide\n", ""},
		{"remove an inner instruction", func(s *Script) (string, error) {
			return s.Remove(spanOf(s, "Give the back"))
		}, `allow(back, hem = 20)`, `back`},
		{"remove an outer instruction", func(s *Script) (string, error) { return s.Remove(spanOf(s, "Notch")) },
			`notch(allow(back, hem = 20), "hem", 40)`, `allow(back, hem = 20)`},
		{"remove the only statement", func(s *Script) (string, error) { return s.Remove(spanOf(s, "True up")) },
			`front = true_up(front, "neckline")`, `pass`},
		{"remove one of two assignments", func(s *Script) (string, error) {
			return s.Remove(spanOf(s, "Let front be"))
		}, "front, back = block.front, block.back", "back = block.back"},
		{"remove an element", func(s *Script) (string, error) { return s.Remove(spanOf(s, "Sew back shoulder")) },
			"seam(\"back/shoulder\", \"front/shoulder\", ease = 5),\n        ", ""},
		{"move an element", func(s *Script) (string, error) { return s.Move(spanOf(s, "Sew back shoulder"), true) },
			"seam(\"back/shoulder\", \"front/shoulder\", ease = 5),\n        seam(\"back/side\", \"front/side\")",
			"seam(\"back/side\", \"front/side\"),\n        seam(\"back/shoulder\", \"front/shoulder\", ease = 5)"},
		{"move a statement with its comment", func(s *Script) (string, error) {
			return s.Move(spanOf(s, neck), true)
		},
			"    # The neck\n    front = drop(front, \"neckline\", centre_front = 30, shoulder = 15) # wide\n" +
				"    back = drop(back, \"neckline\", centre_back = 10, shoulder = 15)\n",
			"    back = drop(back, \"neckline\", centre_back = 10, shoulder = 15)\n" +
				"    # The neck\n    front = drop(front, \"neckline\", centre_front = 30, shoulder = 15) # wide\n"},
	}
}

// An edit changes its own characters only.
func TestEdits(t *testing.T) {
	t.Parallel()
	for _, c := range append(fillingCases(t), arrangingCases(t)...) {
		got, err := c.edit(read(t, script))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if strings.Contains(got, "choose.neck") { // the choice itself is in the head
			declared := ",\n        choice(\"neck\", \"How low the neck is.\", length = (10, 90), default = 30)"
			if !strings.Contains(got, declared) {
				t.Errorf("%s: the choice is not declared:\n%s", c.name, got)
			}
			got = strings.Replace(got, declared, "", 1)
		}
		if want := strings.Replace(script, c.old, c.new, 1); !strings.Contains(script, c.old) || got != want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.name, got, want)
		}
	}
}

// What cannot be is refused with the reason.
func TestRefusedEdits(t *testing.T) {
	t.Parallel()
	s := read(t, script)
	depth := blankOf(t, sentenceSaying(t, s, "Lower the neckline of the front"), "neighbour", "centre_front")
	call := sentenceSaying(t, s, "Notch").Span
	seam := sentenceSaying(t, s, "Sew back side").Span
	set := func(v Value) func() (string, error) { return func() (string, error) { return s.Set(depth, v) } }
	for _, c := range []struct {
		edit func() (string, error)
		want string
	}{
		{set(Value{Form: Variable, Word: "nowhere"}), "undefined: nowhere"},
		{set(Value{Form: Variable, Word: "a); evil("}), "want the name of a variable"},
		{set(Value{Form: ByHand, Script: "1) # "}), "line"},
		{set(Value{Form: ByHand, Script: "1 # x"}), ""},
		{set(Value{Form: ByHand, Script: "min(1,"}), "line"},
		{set(Value{Form: Chosen, Word: "width"}), `no choice "width"`},
		{set(Value{Form: Measurement, Word: "nose"}), `unknown measurement "nose"`},
		{set(Value{Form: Number, Number: 1e9}), "want a number"},
		{set(Value{}), "unknown form"},
		{func() (string, error) { return s.Set(Span{3, 9}, Value{Form: Number}) }, "no blank"},
		{func() (string, error) { return s.SetArgument(call, "edge", "", Value{}) }, "edge is required"},
		{func() (string, error) { return s.SetArgument(call, "colour", "", Value{Form: Number}) }, `no blank "colour"`},
		{func() (string, error) { return s.Offer(depth, Choice{"depth", "Again.", 0, 90}) }, "declared twice"},
		{func() (string, error) { return s.Offer(depth, Choice{"neck", "Low.", 40, 90}) }, "want them around 30"},
		{func() (string, error) { return s.Add(seam, false, Call{Verb: "sew"}) }, `unknown verb "sew"`},
		{func() (string, error) { return s.Add(seam, false, Call{Verb: "true_up"}) }, "0 values for the blank piece"},
		{func() (string, error) { return s.Remove(sentenceSaying(t, s, "Let pieces be").Span) }, "undefined: pieces"},
		{func() (string, error) { return s.Move(sentenceSaying(t, s, "The garment").Span, true) }, "end of its block"},
	} {
		got, err := c.edit()
		if c.want == "" {
			if err == nil {
				if _, err := style.Compile([]byte(got)); err != nil {
					t.Error(err)
				}
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// Nothing of any garment changes by reading it and setting each blank to its own value.
func TestOwnValues(t *testing.T) {
	t.Parallel()
	for _, g := range builtins(t) {
		s := read(t, g.Source())
		if s.Source() != g.Source() {
			t.Errorf("%s: reading changes it", g.Head.Slug)
		}
		for _, b := range blanks(s) {
			if got, err := s.Set(b.Span, b.Value); err != nil || got != g.Source() {
				t.Errorf("%s: %s = %q: %v", g.Head.Slug, b.Param, b.Said, err)
			}
			if b.Value.Form == Phrase || b.Value.Form == ByHand {
				continue
			}
			// As another form of it would be written.
			if _, err := expression(b.Value.write()); err != nil {
				t.Errorf("%s: %s is written %q: %v", g.Head.Slug, b.Said, b.Value.write(), err)
			}
		}
	}
}

func blanks(s *Script) []*Blank {
	var all []*Blank
	s.Each(func(_ Section, st *Statement) {
		for _, x := range st.Sentences {
			for _, p := range x.Parts {
				if p.Blank != nil {
					all = append(all, p.Blank)
				}
			}
		}
	})
	return all
}

// Any edit of any garment gives a script that compiles, or says why not.
func TestRandomEdits(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(15, 1))
	all := builtins(t)
	made, refused := 0, 0
	for range 120 {
		g := all[rnd.IntN(len(all))]
		s := read(t, g.Source())
		got, err := randomEdit(rnd, s)
		if err != nil {
			refused++
			if err.Error() == "" {
				t.Error("an error without a reason")
			}
			continue
		}
		made++
		if _, err := style.Compile([]byte(got)); err != nil {
			t.Errorf("%s: %v", g.Head.Slug, err)
		}
		for _, line := range strings.Split(g.Source(), "\n") { // comments stay
			if c := strings.TrimSpace(line); strings.HasPrefix(c, "#") && !strings.Contains(got, c) {
				t.Errorf("%s lost %q", g.Head.Slug, c)
			}
		}
	}
	t.Logf("%d made, %d refused", made, refused)
	if made < refused {
		t.Errorf("%d made, %d refused", made, refused)
	}
}

func randomEdit(rnd *rand.Rand, s *Script) (string, error) {
	list := blanks(s)
	b := list[rnd.IntN(len(list))]
	var sentences []Sentence
	s.Each(func(_ Section, st *Statement) { sentences = append(sentences, st.Sentences...) })
	x := sentences[rnd.IntN(len(sentences))]
	switch rnd.IntN(6) {
	case 0:
		return s.Set(b.Span, Value{Form: Number, Number: float64(rnd.IntN(200))})
	case 1:
		return s.Set(b.Span, list[rnd.IntN(len(list))].Value)
	case 2:
		return s.Remove(x.Span)
	case 3:
		return s.Move(x.Span, rnd.IntN(2) == 0)
	case 4:
		return s.Offer(b.Span, Choice{"own_choice", "A choice.", b.Value.Number - 1, b.Value.Number + 10})
	}
	message := Arg{Param: "message", Value: Value{Form: Word, Word: "Mind."}}
	return s.Add(x.Span, rnd.IntN(2) == 0, Call{Verb: "caution", Args: []Arg{message}})
}

// Reading any text ends with sentences or an error; the blanks are where they say.
func FuzzRead(f *testing.F) {
	f.Add(script)
	f.Add(builtins(f)[0].Source())
	f.Add("x, = (1,)[0:1:], -y\nif a: b = c[d]; e += [f\r\n]\n")
	f.Fuzz(func(t *testing.T, source string) {
		s, err := Read(source, body.Inch)
		if err != nil {
			return
		}
		for i, b := range blanks(s) {
			if b.Start < 0 || b.Start > b.End || b.End > len(source) {
				t.Fatalf("%s at %v of %d bytes", b.Param, b.Span, len(source))
			}
			if i%50 != 0 {
				continue
			}
			if got, err := s.Set(b.Span, b.Value); err == nil && got != source {
				t.Fatalf("setting %s to itself changes the script", b.Param)
			}
		}
	})
}
