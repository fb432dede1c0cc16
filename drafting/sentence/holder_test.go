package sentence_test

import (
	"slices"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	"tapeline/drafting/proof"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
)

// draftAverage drafts a script to the average body with its default choices.
func draftAverage(t testing.TB, source string) finish.Pattern {
	t.Helper()
	g, err := style.Compile([]byte(source))
	if err != nil {
		t.Fatalf("%v\n%s", err, source)
	}
	order := proof.Every(g.Spec(), proof.Base(g.Head.Slug, g))[0].Order
	order.Measurements = proof.Average(proof.Panel(g.Head.Block, g.Head.Measures...)).Given
	p, err := drafting.Draft(t.Context(), order)
	if err != nil {
		t.Fatalf("%s: %v\n%s", g.Head.Slug, err, source)
	}
	return p
}

func read(t testing.TB, source string) *sentence.Script {
	t.Helper()
	s, err := sentence.Read(source, body.Centimetre)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// unheld are pieces that a garment makes where it lists them, or several at once in a
// function of its own.
var unheld = map[string][]string{
	"bias-slip":            {"front_strip", "back_strip", "arm_strip", "strap"},
	"bodysuit":             {"front_facing", "back_facing", "neck_band", "leg_band", "arm_band"},
	"button-shirt":         {"collar", "placket_over", "placket_under"},
	"coat":                 {"top_sleeve", "under_sleeve", "collar", "pocket_welt", "pocket_bag"},
	"dolman-jacket":        {"cuff", "pocket"},
	"gathered-skirt-dress": {"neck_strip", "arm_strip"},
	"hooded-sweatshirt":    {"pocket", "hood", "hood_lining"},
	"knit-top":             {"neckband"},
	"leggings":             {"band"},
	"maternity-dress":      {"front", "back"},
	"maternity-skirt":      {"front", "back", "band_front", "band_back"},
	"straight-trousers":    {"fly_facing", "fly_shield", "pocket_under", "pocket_upper", "waistband"},
	"tailored-jacket": {"top_sleeve", "under_sleeve", "collar", "under_collar", "pocket_jet", "pocket_flap",
		"pocket_bag"},
	"waistcoat": {"pocket_welt", "pocket_bag", "strap"},
}

// A sentence that is added where Holder says reaches the piece in the garment, for every
// piece of every built-in garment.
func TestHolder(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range all {
		source, held := g.Source(), map[string]bool{}
		for _, p := range draftAverage(t, source).Pieces {
			s := read(t, source)
			variable, after, ok := s.Holder(p.Name)
			if !ok {
				if !slices.Contains(unheld[g.Head.Slug], p.Name) {
					t.Errorf("%s: no variable holds the %s", g.Head.Slug, p.Name)
				}
				continue
			}
			held[p.Name] = true
			source, err = s.Add(after, false, sentence.Call{Verb: "cutting", Args: []sentence.Arg{
				{Param: "piece", Value: sentence.Value{Form: sentence.Variable, Word: variable}},
				{Param: "note", Value: sentence.Value{Form: sentence.Word, Word: "This is the " + p.Name + "."}}}})
			if err != nil {
				t.Fatalf("%s: %s: %v", g.Head.Slug, p.Name, err)
			}
		}
		for _, p := range draftAverage(t, source).Pieces {
			if held[p.Name] && !slices.Contains(p.Notes, "This is the "+p.Name+".") {
				t.Errorf("%s: a sentence about the %s does not reach it: %v", g.Head.Slug, p.Name, p.Notes)
			}
		}
	}
	for _, name := range []string{"", "front", "nobody"} {
		if variable, _, ok := read(t, "x = 1\n").Holder(name); ok {
			t.Errorf("%s holds the piece %q", variable, name)
		}
	}
}
