package cutting_test

import (
	"math"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A neckline runs on over the shoulder seam and is square to the centre,
// whatever its shape; a round one bows from the straight line between its ends
// by 0.18 to 0.21 of it (common practice), and meets the shoulder at about 105
// degrees in front, seen from the neck, where it is as wide as it is deep.
func TestNecklines(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		pieces := blockPieces(t, figure, shoulderEased)
		for _, n := range []cutting.Neckline{
			{Shape: cutting.NeckRound, Depth: 35, Width: 20, Fullness: 0.19},
			{Shape: cutting.NeckRound, Depth: 0, Width: 0, Fullness: 0.20},
			{Shape: cutting.NeckRound, Depth: 100, Width: 30, Fullness: 0.19},
			{Shape: cutting.NeckRound, Depth: 0, Width: 60, Fullness: 0.19},
			{Shape: cutting.NeckV, Depth: 140, Width: 20},
			{Shape: cutting.NeckV, Depth: 20, Width: 60},
			{Shape: cutting.NeckSquare, Depth: 70, Width: 35},
			{Shape: cutting.NeckBoat, Depth: 0, Width: 60, Fullness: 0.19},
		} {
			front, back, err := cutting.Necklines(pieces["front"], pieces["back"], n)
			if err != nil {
				t.Fatalf("figure %d, %+v: %v", i, n, err)
			}
			sound(t, front)
			sound(t, back)
			near(t, "shoulder", front.RunLength("shoulder"), pieces["front"].RunLength("shoulder")-n.Width, 1e-6)
			near(t, "centre", front.RunLength("centre_front"), pieces["front"].RunLength("centre_front")-n.Depth, 1e-6)
			near(t, "over the shoulder", atShoulder(front)+atShoulder(back), 180, 0.01)
			near(t, "back square to its centre", back.Run("neckline").StartTangent().Y, 0, 1e-6)
			if n.Shape != cutting.NeckV {
				near(t, "front square to its centre", front.Run("neckline").StartTangent().Y, 0, 1e-6)
			}
			if n.Shape != cutting.NeckRound {
				continue
			}
			if bow := bowOf(front.Run("neckline")); n.Width < 50 && (bow < 0.17 || bow > 0.21) {
				t.Errorf("figure %d, %+v: bows by %.3f", i, n, bow)
			}
			if seen := 180 - atShoulder(front); n.Depth == 35 {
				near(t, "front angle", seen, 105, 6)
			}
		}
	}
	pieces := blockPieces(t, figures[0], shoulderEased)
	for _, n := range []cutting.Neckline{
		{Shape: cutting.NeckRound, Depth: -80, Width: 90},
		{Shape: cutting.NeckRound, Width: 400},
	} {
		_, _, err := cutting.Necklines(pieces["front"], pieces["back"], n)
		wantError(t, err, "front", map[bool]string{true: "shoulder", false: "neckline"}[n.Width > 200])
	}
}

// shoulderEased leaves no dart in the back shoulder.
var shoulderEased = map[string]block.Value{"back_shoulder": {Word: "ease"}}

// atShoulder returns the angle in degrees between a neckline and the shoulder,
// in the cloth.
func atShoulder(p pattern.Piece) float64 {
	return geom.AngleBetween(p.Run("shoulder").StartTangent(), p.Run("neckline").EndTangent().Neg()) * 180 / math.Pi
}

// bowOf returns how far a path bows from the straight line between its ends, as
// a share of it.
func bowOf(p geom.Path) float64 {
	chord := p.End().Sub(p.Start())
	most := 0.0
	for at := 0.0; at <= p.Length(); at++ {
		most = max(most, math.Abs(chord.Cross(p.At(at).Sub(p.Start()))))
	}
	return most / chord.Dot(chord)
}

// A flare takes the curve of the hip on: the side of a pear-shaped figure leaves
// it without turning upright, keeps its length, and reaches as far out.
func TestFlareTakesTheHipOn(t *testing.T) {
	t.Parallel()
	pear := body.Measures{"height": 1600, "bust_girth": 948, "waist_girth": 800, "hip_girth": 1188, "neck_base_girth": 370,
		"shoulder_length": 122, "back_width": 355, "nape_to_waist": 410, "waist_to_hip": 190, "upper_arm_girth": 310,
		"wrist_girth": 160, "arm_length": 560}
	for i, figure := range append(figures, pear) {
		p := blockPieces(t, figure, map[string]block.Value{"length": {Word: "knee"}})["back"]
		q, err := cutting.FlareOn(p, "side", "hem", 40)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, q)
		near(t, "length of the side", q.RunLength("side"), p.RunLength("side"), 0.01)
		// From the flared hem up, the side never leans less than at the hem until
		// it is above the hip.
		side := q.Run("side")
		lean := func(at float64) float64 {
			_, rest := side.SplitAt(at)
			return 90 - rest.StartTangent().Angle()*180/math.Pi
		}
		hem := lean(side.Length() - 1)
		for at := side.Length() - 5; at > 0.6*side.Length(); at -= 5 {
			if lean(at) < 0.8*hem {
				t.Errorf("figure %d: the side leans %.1f degrees %.0f mm along it, %.1f at the hem", i, lean(at), at, hem)
				break
			}
		}
	}
}

// However deep it is, a back neckline leaves its centre level, without a corner there.
func TestBackNecklinesAreLevelAtTheCentre(t *testing.T) {
	t.Parallel()
	const most = 20 * math.Pi / 180 // over a tenth of its width to one side
	for i, figure := range figures {
		pieces := blockPieces(t, figure, shoulderEased)
		for depth := 0.0; depth <= 200; depth += 20 {
			for _, width := range []float64{0, 20, 50} {
				_, back, err := cutting.Necklines(pieces["front"], pieces["back"],
					cutting.Neckline{Depth: 60, BackDepth: depth, Width: width, Fullness: 0.19})
				if err != nil {
					t.Fatal(err)
				}
				neck := back.Run("neckline")
				tenth := (neck.End().X - neck.Start().X) / 10
				turn := math.Abs(geom.AngleBetween(neck.StartTangent(), neck.TangentAt(tenth)))
				if turn > most {
					t.Errorf("figure %d: %g mm deep, %g wider: it turns by %.0f degrees over %.0f mm", i, depth, width,
						turn*180/math.Pi, tenth)
				}
			}
		}
	}
}
