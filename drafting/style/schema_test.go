package style_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

func TestLint(t *testing.T) {
	t.Parallel()
	s, err := style.Compile([]byte(`style(slug = "probe", title = "P 服", block = "straight", draft = {"sleeve": "none"},
    choices = [choice("used", "A choice."), choice("unused", "Another.")], allowances = {"hem": 20, "neckline": 6})
def make(body, ease, choose, block):
    if choose.used:
        return None
    return garment([block.back], [], ["Sew.", "縫う"])
`))
	if err != nil {
		t.Fatal(err)
	}
	got := fmt.Sprint(s.LintScript())
	if !strings.Contains(got, "choice_unused 2") || strings.Contains(got, "choice used") {
		t.Errorf("findings %v", got)
	}
	p, err := s.Draft(t.Context(), block.Request{Body: person(t), Fit: "regular"})
	if err != nil {
		t.Fatal(err)
	}
	got = fmt.Sprint(s.LintDraft(p))
	for _, want := range []string{"allowance_unsaid 6 back side", "seam_unpaired 6 back side",
		"seam_unpaired 6 back neckline", "seam_unpaired 6 back shoulder", "seam_unpaired 6 back armhole",
		"letters_missing 1   the printed font lacks letters of the title \"P 服\"", "letters_missing 6   "} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in %v", want, got)
		}
	}
	if strings.Contains(got, "back hem") || strings.Contains(got, "\"Sew.\"") {
		t.Errorf("findings %v", got)
	}
}

// The built-in garments are without findings, whatever is chosen.
func TestGarmentsLint(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		for _, f := range s.LintScript() {
			t.Errorf("%s: %+v", s.Head.Slug, f)
		}
		spec := s.Spec()
		b, faults := body.New(standard, spec.Requires)
		if faults != nil {
			t.Fatal(faults)
		}
		for _, choices := range variantsOf(spec) {
			p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: spec.Fits[0].Name, Choices: choices})
			if err != nil {
				t.Errorf("%s %v: %v", s.Head.Slug, choices, err)
				continue
			}
			for _, f := range s.LintDraft(p) {
				t.Errorf("%s %v: %s", s.Head.Slug, choices, f.Detail)
			}
		}
	}
}

// A customer whose sides differ gets whole pieces where there was a fold and
// one for each side where there was a pair, every rule kept.
func TestSidesThatDiffer(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		spec := s.Spec()
		if len(spec.Alterations) == 0 {
			continue
		}
		b, faults := body.New(standard, spec.Requires)
		if faults != nil {
			t.Fatal(faults)
		}
		for _, sides := range []struct{ left, right map[string]float64 }{
			// What a block knows none of changes nothing.
			{map[string]float64{"shoulder_height": -12, "leg_length": -12}, nil},
			{map[string]float64{"shoulder_height": -8, "leg_length": 5},
				map[string]float64{"shoulder_height": 6, "upper_arm": 30}},
		} {
			for _, f := range spec.Fits {
				p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: f.Name, Left: sides.left, Right: sides.right})
				if err != nil {
					t.Errorf("%s %v: %v", s.Head.Slug, sides, err)
					continue
				}
				if !slices.ContainsFunc(p.Pieces, func(q pattern.Piece) bool {
					return slices.ContainsFunc(q.Edges, func(e pattern.Edge) bool { return strings.HasPrefix(e.Name, "left_") }) ||
						strings.HasPrefix(q.Name, "left_")
				}) {
					t.Errorf("%s: no left side", s.Head.Slug)
				}
				if _, err := finish.Finish(t.Context(), p, finish.Rules{}); err != nil {
					t.Errorf("%s %v: %v", s.Head.Slug, sides, err)
				}
			}
		}
	}
}
