package style_test

import (
	"math"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// The neckline of a dress runs on over its shoulder seam, whatever its shape,
// and a facing has the same shoulders as its other half, so that it can be
// interfaced and need not be eased.
func TestNecksOfDresses(t *testing.T) {
	t.Parallel()
	pieces := map[string][2]string{
		"shift-dress": {"front", "back"}, "princess-dress": {"front_panel", "back_panel"},
		"gathered-skirt-dress": {"front", "back"},
	}
	people := surveytest.WithBellies(surveytest.Women(t))
	for slug, names := range pieces {
		s, _ := style.Builtin(slug)
		for i := 0; i < len(people); i += 97 {
			b, faults := body.New(people[i], s.Spec().Requires)
			if faults != nil {
				t.Fatal(faults)
			}
			for _, shape := range []string{"round", "v", "square", "boat"} {
				if slug == "gathered-skirt-dress" && shape == "square" {
					continue // its bias strip cannot turn such a corner
				}
				p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: s.Head.Fits[0].Name,
					Choices: map[string]block.Value{"neck": word(shape)}})
				if err != nil {
					t.Errorf("%s, woman %d, %s: %v", slug, i, shape, err)
					continue
				}
				front, _ := p.Piece(names[0])
				back, _ := p.Piece(names[1])
				if sum := atNeck(front) + atNeck(back); math.Abs(sum-180) > 0.5 {
					t.Errorf("%s, woman %d, %s: the neckline turns by %.1f degrees at the shoulder", slug, i, shape, sum-180)
				}
				if f, ok := p.Piece("front_facing"); ok {
					k, _ := p.Piece("back_facing")
					if d := f.RunLength("shoulder") - k.RunLength("shoulder"); math.Abs(d) > pattern.SeamTol {
						t.Errorf("%s, woman %d, %s: the facing's shoulders differ by %.2f mm", slug, i, shape, d)
					}
				}
			}
		}
	}
}

// atNeck returns the angle in degrees between neckline and shoulder, in the
// cloth.
func atNeck(p pattern.Piece) float64 {
	neck, shoulder := p.Run("neckline"), p.Run("shoulder")
	if neck.End().Near(shoulder.Start(), 0.1) {
		return geom.AngleBetween(shoulder.StartTangent(), neck.EndTangent().Neg()) * 180 / math.Pi
	}
	return geom.AngleBetween(neck.StartTangent(), shoulder.EndTangent().Neg()) * 180 / math.Pi
}
