package sentence_test

import (
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
)

// drafted drafts a garment with a trace, to the average body of its panel.
func drafted(t testing.TB, g *style.Style) *style.Trace {
	t.Helper()
	spec := g.Spec()
	person, faults := body.NewIn(body.Millimetre, proof.Average(proof.Panel(g.Head.Block, g.Head.Measures...)).Given,
		spec.Requires, spec.Uses)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	trace := new(style.Trace)
	if _, err := g.Tracing(trace).Draft(t.Context(), block.Request{Body: person, Fit: spec.Fits[0].Name}); err != nil {
		t.Fatal(err)
	}
	return trace
}

// A maker is told of each piece how it was built, with the numbers of the order in its
// unit and without the names and lines that only the script knows.
func TestBuilt(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range all {
		trace := drafted(t, g)
		for _, unit := range body.OrderUnits() {
			told := sentence.Built(trace, unit)
			text := strings.Join(told, "\n")
			for _, bad := range []string{"drawn line", "marked point", "  ", " ,", "{", "named", "“”"} {
				if strings.Contains(text, bad) {
					t.Errorf("%s: %q in %s", g.Head.Slug, bad, text)
				}
			}
			if g.Head.Slug != "torso-toile" && !strings.Contains(text, " "+string(unit)) {
				t.Errorf("%s tells no length in %s: %s", g.Head.Slug, unit, text)
			}
			// The jacket's pieces are drawn from lines of the block's, after its neck is cut.
			if g.Head.Slug == "dolman-jacket" && !strings.Contains(text, "Cut the neck of the front and the back") {
				t.Errorf("the jacket's neck is not told: %s", text)
			}
			t.Logf("%s: %s", g.Head.Slug, text)
		}
	}
}

// TestBuiltOfAShirt compares the telling of a small style with its draft.
func TestBuiltOfAShirt(t *testing.T) {
	t.Parallel()
	g, err := style.Compile([]byte(`style(slug = "plain", title = "Plain", block = "torso", allowances = {"default": 10},
    choices = [choice("low", "Depth of the neck.", length = (0, 90), default = 35)])

def make(body, ease, choose, block):
    front, back = necklines(block.front, block.back, depth = choose.low, width = 12.7)
    for i in range(3):
        front = drop(front, "hem", side = 10 * i, centre_front = 10)
    back = flare(back, "side", "hem", 0.25 * body.hip_girth / 10)
    ring = allow(band("ring", "Ring", 508, 50.8), top = 8)
    return garment([role(front, side = "edge", shoulder = "edge"),
        role(back, side = "edge", shoulder = "edge"),
        role(ring, top = "edge", bottom = "edge", start = "edge", end = "edge")], [], ["Sew it."])
`))
	if err != nil {
		t.Fatal(err)
	}
	trace := drafted(t, g)
	hip := 0.0
	for _, c := range trace.Calls() {
		if c.Verb().Name() == "flare" {
			hip = c.Arguments("by")[0].Number
		}
	}
	for unit, want := range map[body.Unit][]string{
		body.Centimetre: {
			"Front: Cut the neck of the front and the back, 3.5 cm lower at the front, 1.3 cm wider at each shoulder. " +
				"Lower the hem of the front by 0 cm at the side and 1 cm at the centre front. Lower the hem of the front by " +
				"1 cm at the side and 1 cm at the centre front. Lower the hem of the front by 2 cm at the side and 1 cm at " +
				"the centre front.",
			"Back: Swing the side of the back out by " + strings.TrimSuffix(body.Centimetre.Tape(hip), ".0") + " cm at the hem.",
			"Ring: Make the band, 50.8 cm long and 5.1 cm wide."},
		body.Inch: {"", "", "Ring: Make the band, 20 inch long and 2 inch wide."},
	} {
		got := sentence.Built(trace, unit)
		for i, w := range want {
			if len(got) != 3 || w != "" && got[i] != w {
				t.Errorf("got %q, want %q", got, w)
			}
		}
	}
}

func TestBuiltIsLimited(t *testing.T) {
	t.Parallel()
	g, err := style.Compile([]byte(`style(slug = "long", title = "Long", block = "torso", allowances = {"default": 10})

def make(body, ease, choose, block):
    front = block.front
    for i in range(200):
        front = drop(front, "hem", side = 0.001 * i, centre_front = 0.001)
    return garment([role(front, side = "edge", shoulder = "edge")], [], ["Sew it."])
`))
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range sentence.Built(drafted(t, g), body.Centimetre) {
		if len(line) > 1300 {
			t.Errorf("%d bytes", len(line))
		}
	}
}

// Where the sides of a body differ, the maker is told both.
func TestBuiltOfSides(t *testing.T) {
	t.Parallel()
	g, err := style.Compile([]byte(`style(slug = "bound", title = "Bound", block = "torso", draft = {"sleeve": "none"},
    allowances = {"default": 10})

def make(body, ease, choose, block):
    front, back = block.front, block.back
    strip = band("strip", "Strip", length(front, "armhole") + length(back, "armhole"), 30)
    strip = role(strip, top = "edge", end = "edge", bottom = "edge", start = "edge")
    return garment([drop(front, "hem", side = 5, centre_front = 5), back, strip], [
        seam("back/shoulder", "front/shoulder", ease = length(back, "shoulder") - length(front, "shoulder")),
        seam("back/side", "front/side", ease = length(back, "side") - length(front, "side") + 5),
    ], ["Sew it."])
`))
	if err != nil {
		t.Fatal(err)
	}
	spec := g.Spec()
	person, faults := body.NewIn(body.Millimetre, proof.Average(proof.Panel(g.Head.Block, g.Head.Measures...)).Given,
		spec.Requires, spec.Uses)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	trace := new(style.Trace)
	request := block.Request{Body: person, Fit: spec.Fits[0].Name, Left: map[string]float64{"shoulder_height": -12}}
	if _, err := g.Tracing(trace).Draft(t.Context(), request); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(sentence.Built(trace, body.Centimetre), "\n")
	if !strings.Contains(text, "Right side, Strip: ") || !strings.Contains(text, "Left side, Strip: ") ||
		strings.Count(text, "Lower the hem of the front by 0.5 cm") != 1 {
		t.Error(text)
	}
	for _, name := range []string{"right_front", "left_front", "front"} {
		if o, ok := trace.Origin(style.Thing{Piece: name, Kind: style.KindEdge, Name: "hem"}); !ok || o.Changed.At.Line != 8 {
			t.Errorf("%s: %v, %v", name, o, ok)
		}
	}
}

// Whatever number is set in a sentence, the script drafts or the error says why not, with
// the line of the script or the measurement.
func TestChangedNumbersDraftOrSayWhy(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(15, 2))
	g, _ := style.Builtin("shift-dress")
	read, err := sentence.Read(g.Source(), body.Centimetre)
	if err != nil {
		t.Fatal(err)
	}
	var numbers []sentence.Span
	read.Each(func(_ sentence.Section, st *sentence.Statement) {
		for _, x := range st.Sentences {
			for _, p := range x.Parts {
				if p.Blank != nil && p.Blank.Value.Form == sentence.Number && x.Verb != "style" {
					numbers = append(numbers, p.Blank.Span)
				}
			}
		}
	})
	person := proof.Average(proof.Panel(g.Head.Block, g.Head.Measures...)).Given
	drafts, refused := 0, 0
	for range 60 {
		at := numbers[rnd.IntN(len(numbers))]
		value := []float64{-30, 0, 0.5, 7, 55, 400, 9999}[rnd.IntN(7)]
		text, err := read.Set(at, sentence.Value{Form: sentence.Number, Number: value})
		if err == nil {
			err = draftScript(t, text, person)
		}
		if err == nil {
			drafts++
			continue
		}
		refused++
		e, script := errors.AsType[*style.Error](err)
		_, faults := errors.AsType[fault.List](err)
		if script && (e.Line == 0 || e.Reason == "") || !script && !faults {
			t.Errorf("%s = %g: %v", g.Source()[at.Start:at.End], value, err)
		}
	}
	t.Logf("%d numbers, %d drafted, %d refused", len(numbers), drafts, refused)
	if drafts == 0 || refused == 0 {
		t.Errorf("%d drafted, %d refused", drafts, refused)
	}
}

// draftScript drafts a script with its default choices.
func draftScript(t *testing.T, text string, person body.Measures) error {
	t.Helper()
	s, err := style.Compile([]byte(text))
	if err != nil {
		return err
	}
	spec := s.Spec()
	b, faults := body.NewIn(body.Millimetre, person, spec.Requires, spec.Uses)
	if len(faults) > 0 {
		return faults
	}
	_, err = s.Draft(t.Context(), block.Request{Body: b, Fit: spec.Fits[0].Name})
	return err
}

// BenchmarkBuilt measures the telling after a traced draft.
func BenchmarkBuilt(b *testing.B) {
	for _, slug := range []string{"shift-dress", "princess-dress"} {
		g, _ := style.Builtin(slug)
		trace := drafted(b, g)
		b.Run(slug, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				sentence.Built(trace, body.Centimetre)
			}
		})
	}
}
