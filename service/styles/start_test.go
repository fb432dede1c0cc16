package styles

import (
	"strings"
	"testing"

	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// Every start drafts on the whole panel without a fault and is said in sentences. What is
// left to decide is found: how neck and armholes are finished, and how it is put on.
func TestStarts(t *testing.T) {
	t.Parallel()
	for _, s := range Starts() {
		t.Run(s.Name, func(t *testing.T) {
			t.Parallel()
			for _, f := range proveClean(t, s.Script()) {
				open := f.Edge == "neckline" || f.Edge == "armhole" || f.Rule == "opening_unsaid"
				if !open {
					t.Errorf("%+v", f)
				}
			}
			read, p := ReadSentences(s.Script(), "cm")
			if p != nil {
				t.Fatal(p)
			}
			if all, said := read.Count(); all != said {
				t.Errorf("%d of %d statements are sentences", said, all)
			}
		})
	}
}

// proveClean fails the test unless a script drafts on the whole panel, with every fit and
// choice, without a fault. It returns what is probably a mistake in it.
func proveClean(t *testing.T, script string) []style.Finding {
	t.Helper()
	garment, err := style.Compile([]byte(script))
	if err != nil {
		t.Fatalf("%v\n%s", err, script)
	}
	plan := proof.Plan{Bodies: proof.Panel(garment.Head.Block, garment.Head.Measures...),
		Variants: proof.Every(garment.Spec(), proof.Base(garment.Head.Slug, garment))}
	tally, _, err := plan.Run(t.Context(), 0, proof.Pace{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	report := plan.Report(tally)
	t.Logf("%d drafts, %d refused", plan.Len(), report.Refused)
	if report.Failed > 0 || report.Faulty > 0 || report.Refused > 0 {
		t.Errorf("%d failed, %d refused, %d with faults: %+v %+v\n%s", report.Failed, report.Refused, report.Faulty,
			report.Failures, report.Faults, script)
	}
	found, err := proof.Findings(t.Context(), garment, proof.Average(plan.Bodies))
	if err != nil {
		t.Error(err)
	}
	return found
}

// A new style has a slug of its own, and any text is a title or refused with the reason.
func TestTitles(t *testing.T) {
	t.Parallel()
	taken := []string{"market-day-dress", "market-day-dress-2"}
	for title, want := range map[string]string{
		"Market-day dress":            "market-day-dress-3",
		`<script>alert("1")</script>`: "script-alert-1-script",
		"Ёлка":                        "style",
		"Trousers":                    "trousers-2",
		"Shift dress":                 "shift-dress-2",
		"3/4 \\ \"coat\"":             "style-3-4-coat",
		strings.Repeat("wide ", 16):   strings.Repeat("wide-", 9) + "wide",
		"ملابس":                       "style",
	} {
		if faults := CheckTitle(title); len(faults) > 0 {
			t.Errorf("%q: %v", title, faults)
		}
		slug := unused(slugOf(title), taken)
		if slug != want {
			t.Errorf("%q has the slug %q, want %q", title, slug, want)
		}
		for _, s := range Starts() {
			script, err := retitled(s.Script(), slug, strings.TrimSpace(title))
			if err != nil {
				t.Fatalf("%s: %q: %v", s.Name, title, err)
			}
			g, err := style.Compile([]byte(script))
			if err != nil || g.Head.Slug != slug || g.Head.Title != strings.TrimSpace(title) {
				t.Fatalf("%s: %q: %v\n%s", s.Name, title, err, script)
			}
		}
	}
	for _, title := range []string{"", "  ", "a\nb", strings.Repeat("x", 81), "\x00"} {
		if CheckTitle(title) == nil {
			t.Errorf("%q is accepted as a title", title)
		}
	}
}
