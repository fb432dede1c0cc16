package block

import (
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

// No seam has a stroke too short to be drawn or cut: its direction would mean
// nothing.
func TestNoSlivers(t *testing.T) {
	t.Parallel()
	people := surveytest.Women(t)
	for _, kind := range []torsoKind{shapedTorso, straightTorso, knitTorso, jacketTorso} {
		for i := 0; i < len(people); i += everyNth(15) {
			b, faults := body.New(people[i], torsoNeeds)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			p, err := draftTorso(t.Context(), Request{Body: b, Fit: "regular"}, kind)
			if err != nil {
				t.Errorf("row %d: %v", i, err)
				continue
			}
			for _, q := range p.Pieces {
				for _, e := range q.Edges {
					for _, s := range e.Path {
						if length := s.Length(); e.Run == edgeSide && length < 0.25 {
							t.Errorf("row %d, %s/%s: a stroke of %.3f mm", i, q.Name, e.Name, length)
						}
					}
				}
			}
		}
	}
}
