package styles

import (
	"strings"
	"testing"

	"tapeline/service"
)

// The shapes of the template: each edge with its length and the sentences that it comes
// from, and none if they are not asked for.
func TestShapes(t *testing.T) {
	t.Parallel()
	tried, err := trying().Try(t.Context(), service.Caller{}, Trial{Script: Template(), Origins: true, Unit: "inch"})
	if err != nil || tried.Problem != nil {
		t.Fatal(tried.Problem, err)
	}
	lengths := map[string]float64{}
	for _, p := range tried.Pieces {
		for _, e := range p.Edges {
			lengths[p.Name+"/"+e.Name] = e.Length
		}
	}
	texts := map[int]string{}
	for _, s := range tried.Sayings {
		texts[s.Line] = s.Text
	}
	edges, kinds := 0, map[string]int{}
	for _, s := range tried.Shapes {
		kinds[s.Kind]++
		if s.Kind == "edge" {
			edges++
			if s.Length != lengths[s.Piece+"/"+s.Name] {
				t.Errorf("%s is %g mm long, of the piece's edges it is %g", s.Said, s.Length, lengths[s.Piece+"/"+s.Name])
			}
		}
		if s.Said == "front neckline" && (s.MadeIn != 0 || !strings.Contains(texts[s.ChangedIn], "front")) {
			t.Errorf("the neckline was made at line %d and changed by %q", s.MadeIn, texts[s.ChangedIn])
		}
		if s.Changed > 0 && texts[s.Changed] == "" {
			t.Errorf("nothing is said of line %d", s.Changed)
		}
	}
	if edges != len(lengths) || kinds[""] != len(tried.Pieces) || kinds["line"] == 0 {
		t.Errorf("%d edges of %d, %v", edges, len(lengths), kinds)
	}
	if !strings.Contains(string(tried.Picture), `class="picks"`) {
		t.Error("nothing can be pointed at in the picture")
	}
	tried, err = trying().Try(t.Context(), service.Caller{}, Trial{Script: Template()})
	if err != nil || tried.Shapes != nil || tried.Sayings != nil || strings.Contains(string(tried.Picture), "picks") {
		t.Errorf("%d shapes, %v", len(tried.Shapes), err)
	}
}

// Of a garment whose seam does not fit the pieces are shown, to be compared; of a script
// that ends before there are any nothing is.
func TestUnsewn(t *testing.T) {
	t.Parallel()
	script := strings.Replace(Template(), "centre_back = 20, shoulder = 40", "centre_back = 20, shoulder = 34", 1)
	tried, err := trying().Try(t.Context(), service.Caller{}, Trial{Script: script, Origins: true})
	if err != nil || tried.Problem == nil || !strings.Contains(tried.Problem.Reason, "off by") {
		t.Fatal(tried.Problem, err)
	}
	if len(tried.Pieces) != 2 || !strings.Contains(string(tried.Picture), "picks") || len(tried.Shapes) < 10 ||
		tried.Faults != nil {
		t.Errorf("%d pieces, %d shapes, %v", len(tried.Pieces), len(tried.Shapes), tried.Faults)
	}
	script = strings.Replace(Template(), "    return garment(", "    fail(\"no\")\n    return garment(", 1)
	tried, err = trying().Try(t.Context(), service.Caller{}, Trial{Script: script, Origins: true})
	if err != nil || tried.Problem == nil || tried.Picture != nil || tried.Shapes != nil {
		t.Errorf("%+v, %d shapes, %v", tried.Problem, len(tried.Shapes), err)
	}
}
