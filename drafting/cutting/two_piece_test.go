package cutting_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// uprightSleeve is the sleeve of a torso to be cut in two, nil for a body that a torso
// with it does not suit.
func uprightSleeve(t *testing.T, m body.Measures) *pattern.Piece {
	t.Helper()
	spec, _ := block.Find("torso")
	b, faults := body.New(m, spec.Requires)
	if faults != nil {
		t.Fatal(faults)
	}
	p, err := block.Draft(t.Context(), spec.Name, block.Request{Body: b, Fit: "loose", Garment: true,
		Choices: map[string]block.Value{"elbow": {Word: "upright"}}})
	if err != nil {
		return nil
	}
	i := slices.IndexFunc(p.Pieces, func(p pattern.Piece) bool { return p.Name == "sleeve" })
	sleeve := cutting.Loose(p.Pieces[i])
	return &sleeve
}

// Both seams of a two-piece sleeve pair to the length, the cap is as long as that of the
// sleeve and has its notches, the girths are those asked for, and the lines run on
// smoothly from one piece to the other.
func TestTwoPieceSleeve(t *testing.T) {
	t.Parallel()
	figures := slices.Clone(figures)
	for i, m := range surveytest.Women(t) {
		if i%50 == 0 {
			figures = append(figures, m)
		}
	}
	made := 0
	for i, figure := range figures {
		sleeve := uprightSleeve(t, figure)
		if sleeve == nil {
			continue
		}
		width := sleeve.Run("cap_front").End().X - sleeve.Run("cap_back").Start().X
		s := cutting.TwoPieceSleeve{Elbow: 0.86 * width, Wrist: 0.7 * width, Bend: 7 * math.Pi / 180, Front: 25, Back: 15}
		top, under, err := cutting.CutTwoPiece(*sleeve, s)
		if err != nil {
			t.Errorf("figure %d: %v", i, err)
			continue
		}
		made++
		sound(t, top)
		sound(t, under)
		for _, seam := range []string{"front_seam", "back_seam"} {
			near(t, seam, top.RunLength(seam), under.RunLength(seam), 1e-3)
		}
		for _, half := range []string{"cap_back", "cap_front"} {
			near(t, half, top.RunLength(half)+under.RunLength(half), sleeve.RunLength(half), 1e-3)
		}
		if notches := len(top.Notches) + len(under.Notches) - 4; notches != len(sleeve.Notches)-upperNotches(*sleeve) {
			t.Errorf("figure %d: %d notches on the cap", i, notches)
		}
		elbow := func(p pattern.Piece) float64 { return p.Lines[0].Path.Length() }
		near(t, "elbow", elbow(top)+elbow(under), s.Elbow, 1e-6)
		near(t, "wrist", chord(top.Run("hem"))+chord(under.Run("hem")), s.Wrist, 8)
		// Sewn, hem and cap run on across each seam: the angles at its ends add up to two right ones.
		for _, seam := range []string{"front_seam", "back_seam"} {
			near(t, "hem at the "+seam, corner(top, seam, "hem")+corner(under, seam, "hem"), math.Pi, 0.01)
		}
		near(t, "cap at the front seam", corner(top, "front_seam", "cap_front")+corner(under, "front_seam", "cap_front"),
			math.Pi, 0.01)
		if turn := sharpest(under.Run("cap_front")) + math.Abs(geom.AngleBetween(under.Run("cap_front").EndTangent(),
			under.Run("cap_back").StartTangent())); turn > 0.05 {
			t.Errorf("figure %d: the under sleeve's cap turns by %.3f", i, turn)
		}
	}
	if made < 15 {
		t.Errorf("%d sleeves made", made)
	}
}

// upperNotches counts the notches of a sleeve that do not lie on its cap.
func upperNotches(p pattern.Piece) int {
	n := 0
	for _, k := range p.Notches {
		if !strings.HasPrefix(k.Edge, "cap") {
			n++
		}
	}
	return n
}

func chord(p geom.Path) float64 { return p.Start().Dist(p.End()) }

// corner returns the angle inside a piece between two edges that meet.
func corner(p pattern.Piece, a, b string) float64 {
	first, second := p.Run(a), p.Run(b)
	if !first.End().Near(second.Start(), geom.JoinTol) {
		first, second = second, first
	}
	return math.Pi - geom.AngleBetween(first.EndTangent(), second.StartTangent())
}

func TestTwoPieceSleeveRefuses(t *testing.T) {
	t.Parallel()
	sleeve := uprightSleeve(t, figures[0])
	good := cutting.TwoPieceSleeve{Elbow: 300, Wrist: 250, Bend: 0.1, Front: 25, Back: 15}
	for _, bad := range []struct {
		change func(*cutting.TwoPieceSleeve)
		want   string
	}{
		{func(s *cutting.TwoPieceSleeve) { s.Elbow = 900 }, "elbow"},
		{func(s *cutting.TwoPieceSleeve) { s.Wrist = 310 }, "wrist"},
		{func(s *cutting.TwoPieceSleeve) { s.Front = 80 }, "front"},
		{func(s *cutting.TwoPieceSleeve) { s.Back = math.NaN() }, "back"},
		{func(s *cutting.TwoPieceSleeve) { s.Bend = 1 }, "0 to 15"},
	} {
		s := good
		bad.change(&s)
		if _, _, err := cutting.CutTwoPiece(*sleeve, s); err == nil || !strings.Contains(err.Error(), bad.want) {
			t.Errorf("%+v: %v, want %q", s, err, bad.want)
		}
	}
	leaning := blockPieces(t, figures[0], nil)["sleeve"]
	if _, _, err := cutting.CutTwoPiece(leaning, good); err == nil || !strings.Contains(err.Error(), "upright elbow") {
		t.Errorf("a leaning sleeve: %v", err)
	}
}
