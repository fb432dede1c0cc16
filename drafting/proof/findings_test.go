package proof_test

import (
	"strings"
	"testing"

	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// unsewn is a coat whose sleeve is set into no armhole.
const unsewn = `
style(slug = "coat", title = "Coat", block = "straight", draft = {"sleeve": "full"}, allowances = {"default": 10},
    choices = [choice("lined", "Line the coat.")])
def make(body, ease, choose, block):
    front = block.front
    return garment([block.back, front, block.sleeve], [
        seam("back/side", "front/side"),
        seam("back/shoulder", "front/shoulder", ease = length(block.back, "shoulder") - length(front, "shoulder")),
        seam("sleeve/underarm_back", "sleeve/underarm_front",
            ease = length(block.sleeve, "underarm_back") - length(block.sleeve, "underarm_front")),
    ], ["Sew."])
`

// A garment that leaves an edge unsewn is found to, and fails its proof.
func TestUnsewnEdges(t *testing.T) {
	t.Parallel()
	s, err := style.Compile([]byte(unsewn))
	if err != nil {
		t.Fatal(err)
	}
	findings, err := proof.Findings(t.Context(), s, proof.Average(proof.Panel(s.Head.Block, s.Head.Measures...)))
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]int{"choice_unused": 3, "opening_unsaid": 4, "seam_unpaired sleeve/cap_back": 6,
		"seam_unpaired sleeve/cap_front": 6,
		"seam_unpaired back/armhole":     6, "seam_unpaired front/armhole": 5, "seam_unpaired back/neckline": 6,
		"seam_unpaired front/neckline": 5}
	for _, f := range findings {
		key := f.Rule
		if f.Piece != "" {
			key += " " + f.Piece + "/" + f.Edge
		}
		if line, ok := want[key]; !ok || line != f.Line {
			t.Errorf("found %+v", f)
		}
		delete(want, key)
	}
	if len(want) > 0 {
		t.Errorf("not found: %v", want)
	}
	p := proof.Plan{Bodies: proof.Panel("straight")[:2],
		Variants: []proof.Variant{{Name: "regular", Order: proof.Base("coat", s)}}}
	tally, _, err := p.Run(t.Context(), 0, proof.Pace{})
	if err != nil {
		t.Fatal(err)
	}
	if r := p.Report(tally); r.Failed != 2 || len(r.Failures) != 1 ||
		!strings.Contains(r.Failures[0].Reason, "sleeve/cap_back is an edge of role cap, but in no seam") {
		t.Errorf("proved: %+v", r)
	}
}
