package workroom

import (
	"cmp"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tapeline/service/styles"
)

// garments returns the scripts of the built-in garments and the template.
func garments(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob("../../drafting/style/garments/*.star")
	if err != nil || len(files) == 0 {
		t.Fatal("no garments", err)
	}
	all := map[string]string{"template": styles.Template()}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(file)] = string(text)
	}
	return all
}

// submit returns what a form with these ways sends if nobody touches it.
func submit(form url.Values, ways []way) {
	for _, w := range ways {
		if w.Chosen {
			form.Set(w.Name, w.Form)
		}
		for _, f := range w.Fields {
			submitField(form, f)
		}
	}
}

func submitField(form url.Values, f field) {
	switch f.Kind {
	case "checks":
		for _, o := range f.Options {
			if o.Chosen {
				form.Add(f.Name, o.Value)
			}
		}
	case "select":
		i := max(0, slices.IndexFunc(f.Options, func(o option) bool { return o.Chosen }))
		if len(f.Options) > 0 {
			form.Set(f.Name, f.Options[i].Value)
		}
	default:
		form.Set(f.Name, f.Value)
	}
}

// The form of every blank of every garment says what the blank has: sent as it opens, it
// changes nothing.
func TestBlankSentUnchanged(t *testing.T) {
	t.Parallel()
	for name, script := range garments(t) {
		for _, unit := range []styles.Unit{"cm", "inch"} {
			s := read(t, script, unit)
			m := columnMaker{read: s, unit: unit}
			blanks := 0
			for _, section := range m.make().Sections {
				eachItem(section.Items, func(it *item) {
					for _, q := range it.Parts {
						if !q.Blank {
							continue
						}
						blanks++
						p := panelAt(s, styles.Tried{}, unit, q.Place())
						form, err := url.ParseQuery(p.Edit)
						if err != nil {
							t.Fatal(err)
						}
						submit(form, p.Ways)
						e, faults := readEdit(form, s, unit)
						b, _ := styles.BlankAt(s, e.At)
						if len(faults) > 0 || !sameValue(e.Value, b.Value) {
							t.Errorf("%s, %s: sentence %d, %q: sent as %+v, faults %v, want %+v", name, unit, it.Number, q.Words, e.Value,
								faults, b.Value)
						}
					}
				})
			}
			if blanks < 20 {
				t.Errorf("%s has %d blanks", name, blanks)
			}
		}
	}
}

func eachItem(list []*item, f func(*item)) {
	for _, it := range list {
		f(it)
		eachItem(it.Items, f)
	}
}

// sameValue reports whether a value is written as another is.
func sameValue(got, want styles.Value) bool {
	plain := func(text string) string { return strings.Join(strings.Fields(text), "") }
	if got.Form == "by_hand" {
		return plain(got.Script) == plain(want.Script)
	}
	return got.Form == want.Form && got.Number == want.Number && got.Word == want.Word && got.Piece == want.Piece &&
		cmp.Or(got.Times, 1) == cmp.Or(want.Times, 1) && got.Plus == want.Plus && slices.Equal(got.Words, want.Words)
}

// The form of an offer sends its first guesses as they stand. What it still needs is said
// by the field.
func TestOfferSentUnchanged(t *testing.T) {
	t.Parallel()
	script := styles.Template()
	s := read(t, script, "cm")
	tried := styles.Tried{Pieces: []styles.TriedPiece{
		{Name: "front", Edges: []styles.TriedEdge{{Name: "hem"}, {Name: "side"}, {Name: "neckline"}},
			Darts: []string{"bust"}},
		{Name: "back", Edges: []styles.TriedEdge{{Name: "hem"}, {Name: "side"}}}}}
	for _, pick := range []string{"pick_kind=edge&pick_piece=front&pick_name=side", "pick_kind=piece&pick_piece=back",
		"pick_kind=dart&pick_piece=front&pick_name=bust"} {
		base, err := url.ParseQuery(pick)
		if err != nil {
			t.Fatal(err)
		}
		offers := styles.Offers(pickOf(base, s, tried))
		if len(offers) < 3 {
			t.Errorf("%s: %d offers", pick, len(offers))
		}
		for _, o := range offers {
			base.Set("verb", o.Verb)
			a := addingFor(base, s, tried, "cm")
			form, err := url.ParseQuery(a.Edit)
			if err != nil {
				t.Fatal(err)
			}
			for _, arg := range a.Args {
				form.Set(arg.Prefix+"param", arg.Param)
				if arg.Names != nil {
					submitField(form, *arg.Names)
				}
				submit(form, arg.Ways)
			}
			e, faults := readEdit(form, s, "cm")
			for _, guess := range o.Args {
				i := slices.IndexFunc(e.Call.Args, func(arg styles.Arg) bool {
					return arg.Param == guess.Param && arg.Name == guess.Name
				})
				if i < 0 || !sameValue(e.Call.Args[i].Value, guess.Value) {
					t.Errorf("%s, %s: sent %+v, want %+v", pick, o.Verb, e.Call.Args, guess)
				}
			}
			if len(faults) > 0 && len(o.Missing) == 0 {
				t.Errorf("%s, %s: faults %v, and nothing is missing", pick, o.Verb, faults)
			}
		}
	}
}
