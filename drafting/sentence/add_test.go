package sentence

import (
	"strings"
	"testing"
)

func arg(param string, v Value) Arg { return Arg{Param: param, Value: v} }

// Without a place a sentence is added where it belongs, and what it makes is among the
// garment's pieces under a name of its own.
func TestAddWhereItBelongs(t *testing.T) {
	t.Parallel()
	front, back := Value{Form: Variable, Word: "front"}, Value{Form: Variable, Word: "back"}
	word := func(text string) Value { return Value{Form: Word, Word: text} }
	number := func(v float64) Value { return Value{Form: Number, Number: v} }
	facing := Call{Verb: "facing", Args: []Arg{arg("piece", front), arg("edges", word("neckline")),
		arg("title", word("Front facing")), arg("width", number(60))}}
	strip := Call{Verb: "binding", Args: []Arg{arg("title", word("Band")), arg("length", number(400)),
		arg("width", number(30))}}
	for _, c := range []struct {
		call Call
		want []string
	}{
		{Call{Verb: "true_up", Args: []Arg{arg("piece", back), arg("edge", word("hem"))}},
			[]string{"front = true_up(front, \"neckline\")\n    back = true_up(back, \"hem\")\n    pieces = "}},
		{facing, []string{"    front_facing = facing(front, \"neckline\", \"front_facing\", \"Front facing\", width = 60)\n" +
			"    pieces = [front, back, front_facing]"}},
		{strip, []string{"    band_piece = binding(\"band\", \"Band\", 400, 30)\n", "[front, back, band_piece]"}},
		{Call{Verb: "seam", Args: []Arg{arg("a", word("back/hem"))}},
			[]string{"seam(\"back/side\", \"front/side\"),\n        seam(\"back/hem\"), # both"}},
		{Call{Verb: "caution", Args: []Arg{arg("message", word("Mind."))}},
			[]string{"    caution(\"Mind.\")\n    return garment"}},
		{Call{Verb: "buttons", Args: []Arg{arg("count", number(3)), arg("size", number(12))}},
			[]string{`["Sew it."], notions = [buttons(3, 12)])`}},
		{Call{Verb: "join", Args: []Arg{arg("a", front), arg("edge", word("side")), arg("b", back),
			arg("other_edge", word("side"))}}, []string{"front = join(front, \"side\", back, \"side\")", "pieces = [front]"}},
	} {
		got, err := read(t, script).Add(Span{}, false, c.call)
		if err != nil {
			t.Errorf("%s: %v", c.call.Verb, err)
			continue
		}
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%s: got\n%s\nwant in it\n%s", c.call.Verb, got, want)
			}
		}
	}
	once, err := read(t, script).Add(Span{}, false, facing)
	if err != nil {
		t.Fatal(err)
	}
	twice, err := read(t, once).Add(Span{}, false, facing)
	if err != nil || !strings.Contains(twice, "pieces = [front, back, front_facing, front_facing_2]") {
		t.Errorf("a second facing: %v\n%s", err, twice)
	}
	if _, err := read(t, "x = 1\n").Add(Span{}, false, facing); err == nil {
		t.Error("a sentence is added where there is no garment")
	}
}

// Each entry of a table of the head is a blank. An entry is given, and left out again.
func TestTableEntries(t *testing.T) {
	t.Parallel()
	s := read(t, script)
	head := sentenceSaying(t, s, "The style")
	blankOf(t, head, "allowances", "default")
	for param, name := range map[string]string{"allowances": "hem", "draft": "centre_back"} {
		value, text := Value{Form: Number, Number: 64}, "64"
		if param == "draft" {
			value, text = Value{Form: Word, Word: "seam"}, `"seam"`
		}
		given, err := s.SetArgument(head.Span, param, name, value)
		if err != nil {
			t.Fatal(err)
		}
		again := read(t, given)
		if !strings.Contains(given, `"`+name+`": `+text) || len(again.Entries(param)) != len(s.Entries(param))-1 {
			t.Errorf("%s: %v\n%s", param, again.Entries(param), given)
		}
		without, err := again.SetArgument(sentenceSaying(t, again, "The style").Span, param, name, Value{})
		if err != nil || strings.Contains(without, `"`+name+`": `+text) {
			t.Errorf("%s left out: %v\n%s", name, err, without)
		}
		if _, err := s.SetArgument(head.Span, param, "no name", value); err == nil {
			t.Error("a name with a space is taken")
		}
	}
	if got, err := s.SetArgument(head.Span, "draft", "length", Value{Form: Word, Word: "sideways"}); err == nil {
		t.Errorf("a length sideways:\n%s", got)
	}
}
