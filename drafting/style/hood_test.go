package style_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// The hood of a sweatshirt is as long at its neck as the neck that it is sewn to, is as high
// and deep as shares of the head's girth ask for (0.6 and 0.43: common practice, from
// memory), and its face lets the head through.
func TestHoods(t *testing.T) {
	t.Parallel()
	s, _ := style.Builtin("hooded-sweatshirt")
	people := slices.Concat(surveytest.Women(t), surveytest.Men(t))
	for i := 0; i < len(people); i += 307 {
		b, faults := body.New(people[i], s.Spec().Requires)
		if faults != nil {
			t.Fatal(faults)
		}
		head, ok := b.Find(body.HeadGirth)
		if !ok {
			head = 600
		}
		for _, c := range []map[string]block.Value{
			nil,
			{"closing": word("zip"), "hood": word("three_pieces")},
			{"hood_front": word("lap"), "hood_inside": word("turned")},
			{"hood_front": word("lap"), "hood": word("three_pieces"), "stretch": number(10)},
		} {
			p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: s.Head.Fits[0].Name, Choices: c})
			if err != nil {
				t.Errorf("body %d, %v: %v", i, c, err)
				continue
			}
			checkHood(t, fmt.Sprintf("body %d, %v", i, c), p, head)
		}
	}
}

func checkHood(t *testing.T, name string, p pattern.Pattern, head float64) {
	t.Helper()
	side, _ := p.Piece("hood")
	middle, _ := p.Piece("hood_middle")
	front, _ := p.Piece("front")
	back, _ := p.Piece("back")
	neck := front.RunLength("neckline") + back.RunLength("neckline")
	if d := side.RunLength("neck") + middle.RunLength("neck") - neck; math.Abs(d) > pattern.SeamTol {
		t.Errorf("%s: the hood is %.2f mm longer at the neck than the neck", name, d)
	}
	box := side.Outline().Bounds()
	strip := middle.RunLength("neck") // half its width
	if deep := box.Width() + strip; deep < 0.43*head {
		t.Errorf("%s: %.0f mm deep, for a head of %.0f", name, deep, head)
	}
	if face := 2 * (side.RunLength("face") + strip); face < head {
		t.Errorf("%s: the face is %.0f mm round, the head %.0f", name, face, head)
	}
	if high := box.Height() + strip; high < 0.6*head || high > 0.6*head+100 {
		t.Errorf("%s: %.0f mm high, for a head of %.0f", name, high, head)
	}
}
