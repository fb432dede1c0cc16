package sheets_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/fault"
	"tapeline/drafting/sheets"
)

// ISO 216: A0 is 841 by 1189 mm; each next size is the one before halved
// across its long side, the half rounded down to whole mm.
func TestPapersISO216(t *testing.T) {
	t.Parallel()
	w, h := 841.0, 1189.0
	for _, name := range []string{"a0", "a1", "a2", "a3", "a4"} {
		p := paper(t, name)
		if p.Width != w || p.Height != h {
			t.Errorf("%s: got %g × %g mm, want %g × %g", name, p.Width, p.Height, w, h)
		}
		w, h = math.Floor(h/2), w
	}
}

// ASME Y14.1, inches: A (letter) 8.5 × 11, B (tabloid) 11 × 17, C 17 × 22,
// D 22 × 34, E 34 × 44. Legal, 8.5 × 14, is common practice.
func TestPapersASMEY141(t *testing.T) {
	t.Parallel()
	for name, in := range map[string][2]float64{
		"letter": {8.5, 11}, "tabloid": {11, 17}, "ansi-c": {17, 22}, "ansi-d": {22, 34}, "ansi-e": {34, 44},
		"legal": {8.5, 14},
	} {
		p := paper(t, name)
		if math.Abs(p.Width-in[0]*25.4) > 1e-9 || math.Abs(p.Height-in[1]*25.4) > 1e-9 {
			t.Errorf("%s: got %g × %g mm, want %g × %g in", name, p.Width, p.Height, in[0], in[1])
		}
	}
}

func TestParsePaperRolls(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]sheets.Paper{
		"roll-914":   {Name: "roll-914", Width: 914},
		"roll-36in":  {Name: "roll-914.4", Width: 914.4},
		"roll-609.6": {Name: "roll-609.6", Width: 609.6},
		"full":       {Name: "full"},
	} {
		if got := paper(t, name); math.Abs(got.Width-want.Width) > 1e-9 || got.Name != want.Name || got.Height != 0 {
			t.Errorf("%s: got %+v, want %+v", name, got, want)
		}
		if again := paper(t, paper(t, name).Name); again != paper(t, name) {
			t.Errorf("%s: its own name gives %+v", name, again)
		}
	}
}

func TestParsePaperRefuses(t *testing.T) {
	t.Parallel()
	for name, code := range map[string]fault.Code{
		"": fault.Choice, "A4": fault.Choice, "a5": fault.Choice, "roll": fault.Choice, "roll-": fault.Choice,
		"roll-wide": fault.Choice, "roll-914mm": fault.Choice, "a4\n": fault.Choice,
		"roll-0": fault.Range, "roll--914": fault.Range, "roll-NaN": fault.Range, "roll-inf": fault.Range,
		"roll-1e9": fault.Range, "roll-100": fault.Range, "roll-1in": fault.Range,
	} {
		_, err := sheets.ParsePaper(name)
		if err == nil {
			t.Errorf("%q is read as a paper", name)
			continue
		}
		f := faults(t, err)[0]
		if f.Code != code || f.Field != "/paper" || f.Accepted == "" {
			t.Errorf("%q: got %+v, want code %s at /paper", name, f, code)
		}
		if code == fault.Choice && !(strings.Contains(f.Accepted, "a4, ") && strings.Contains(f.Accepted, "full") &&
			strings.Contains(f.Accepted, "roll-914")) {
			t.Errorf("%q: what is accepted is not named: %s", name, f.Accepted)
		}
	}
}

func TestOptionsFaultsAllAtOnce(t *testing.T) {
	t.Parallel()
	o := sheets.Options{Margin: -1, Overlap: math.NaN(), Orientation: "diagonal", Placing: "heap"}
	_, err := sheets.Plan(t.Context(), plain(), o)
	got := faults(t, err)
	want := map[string]fault.Code{"/margin": fault.Range, "/overlap": fault.Range, "/orientation": fault.Choice,
		"/placing": fault.Choice, "/paper": fault.Missing}
	if len(got) != len(want) {
		t.Errorf("got %d faults, want %d:\n%v", len(got), len(want), err)
	}
	for _, f := range got {
		if want[f.Field] != f.Code {
			t.Errorf("unexpected fault %v", f)
		}
	}
	if _, err := sheets.PageCount(t.Context(), plain(), o); err == nil {
		t.Error("PageCount accepts what Plan refuses")
	}
	if _, err := sheets.Plan(t.Context(), plain(), sheets.Options{Paper: sheets.Paper{Name: "a4", Width: 1, Height: 1},
		Margin: 10}); err == nil {
		t.Error("a paper of 1 mm is accepted")
	}
}
