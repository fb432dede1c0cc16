package cutting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// frontWithStand is a torso's front without darts, with a button stand of 20 mm.
func frontWithStand(t *testing.T, pieces map[string]pattern.Piece) pattern.Piece {
	t.Helper()
	front := plain(t, pieces["front"])
	front, err := cutting.Extend(front, "centre_front", 20, "centre")
	if err != nil {
		t.Fatal(err)
	}
	return front
}

func plain(t *testing.T, p pattern.Piece) pattern.Piece {
	t.Helper()
	for _, d := range p.Darts {
		var err error
		if p, err = cutting.Undart(p, d.Name, 0); err != nil {
			t.Fatal(err)
		}
	}
	return p
}

var jacketLapel = cutting.LapelShape{Stand: 28, Width: 85, Gorge: 75, Slope: 15 * math.Pi / 180, Step: 38}

// The lapel is as wide as asked, its gorge slopes as asked where it lies turned over, and
// the neckline runs beside the roll line.
func TestLapel(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		front := frontWithStand(t, blockPieces(t, figure, nil))
		s := jacketLapel
		s.Breaks = front.RunLength("centre_front") - 330
		got, err := cutting.Lapel(front, s)
		if err != nil {
			t.Fatalf("figure %d: %v", i, err)
		}
		roll := got.Lines[len(got.Lines)-1].Path
		u := roll.EndTangent()
		tip := got.Run("lapel").End()
		if d := tip.Sub(roll.Start()).Dot(u.Left()); math.Abs(d-85) > 1e-6 {
			t.Errorf("figure %d: the lapel is %.3f mm wide, want 85", i, d)
		}
		worn := got.Run("gorge").Move(geom.Reflect(roll.Start(), u))
		out := worn.StartTangent().Neg()
		if slope := math.Atan2(out.Y, out.X) * 180 / math.Pi; math.Abs(slope-15) > 1e-6 {
			t.Errorf("figure %d: the gorge slopes by %.3f degrees as worn, want 15", i, slope)
		}
		if got.RunLength("step") != 38 && math.Abs(got.RunLength("step")-38) > 1e-6 {
			t.Errorf("figure %d: the step is %.3f mm, want 38", i, got.RunLength("step"))
		}
		if turn := geom.AngleBetween(u, got.Run("neckline").StartTangent()); math.Abs(turn) > 1e-9 {
			t.Errorf("figure %d: the neckline turns by %g from the roll line", i, turn)
		}
		into := got.Run("neckline").EndTangent().Neg()
		if at := geom.AngleBetween(got.Run("shoulder").StartTangent(), into) * 180 / math.Pi; math.Abs(at-75) > 1e-6 {
			t.Errorf("figure %d: the neckline meets the shoulder at %.2f degrees, want 75", i, at)
		}
		if d := got.Run("centre_front").Length(); math.Abs(d-s.Breaks) > 1e-6 {
			t.Errorf("figure %d: the lapel breaks %.3f mm up, want %.3f", i, d, s.Breaks)
		}
	}
}

// The collar's neck edge equals the neck it is sewn to, part by part. Its outer edge behind
// the shoulder is as long as the line where it lies and the turn of cloth, so that it neither
// stands off nor pulls up. A handbook's collar of this size swings by 20 to 30 mm (from memory).
func TestRollCollar(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		pieces := blockPieces(t, figure, nil)
		front, back := frontWithStand(t, pieces), plain(t, pieces["back"])
		s := jacketLapel
		s.Breaks = front.RunLength("centre_front") - 330
		front, err := cutting.Lapel(front, s)
		if err != nil {
			t.Fatal(err)
		}
		shape := cutting.RollCollarShape{Stand: 28, Fall: 42, Point: 40, Notch: 75 * math.Pi / 180, Thickness: 1.5}
		got, err := cutting.RollCollar(front, back, "collar", "Collar", shape)
		if err != nil {
			t.Fatalf("figure %d: %v", i, err)
		}
		behind := back.RunLength("neckline")
		want := front.RunLength("gorge") + front.RunLength("neckline") + behind
		if d := got.RunLength("neck") - want; math.Abs(d) > 0.01 {
			t.Errorf("figure %d: the neck edge is %.3f mm longer than the neck", i, d)
		}
		neck, outer := got.Run("neck"), got.Run("outer")
		at := neck.Length() - behind
		from, across := neck.At(at), neck.TangentAt(at-1).Right()
		crossings := outer.Crossings(geom.Polyline(from, from.Add(across.Mul(200))))
		if len(crossings) != 1 {
			t.Fatalf("figure %d: %d crossings of the outer edge above the shoulder", i, len(crossings))
		}
		lies := back.Run("neckline").Offset(-14, geom.OffsetTol).Length()
		if d := crossings[0].A - lies - 1.5*math.Pi; math.Abs(d) > 0.1 {
			t.Errorf("figure %d: the outer edge is %.2f mm longer than where it lies and the turn of cloth", i, d)
		}
		if wide := got.RunLength("centre_back"); math.Abs(wide-70) > 1e-6 {
			t.Errorf("figure %d: the collar is %.3f mm wide at the centre back, want 70", i, wide)
		}
		if turn := math.Abs(geom.AngleBetween(outer.StartTangent(), geom.Pt(1, 0))); turn > 1e-6 {
			t.Errorf("figure %d: the outer edge turns at the centre back by %g", i, turn)
		}
		swing := behind * math.Sin(math.Abs(geom.AngleBetween(neck.TangentAt(at-1), neck.EndTangent()))/2)
		if swing < 8 || swing > 32 {
			t.Errorf("figure %d: the collar swings by %.1f mm", i, swing)
		}
	}
}

// A shawl collar's neck equals the back's, and its outer edge lies on the back.
func TestShawl(t *testing.T) {
	t.Parallel()
	for i, figure := range figures {
		pieces := blockPieces(t, figure, nil)
		front, back := frontWithStand(t, pieces), plain(t, pieces["back"])
		s := cutting.ShawlShape{Breaks: front.RunLength("centre_front") - 330, Stand: 28, Fall: 45, Width: 90, Thickness: 1}
		got, err := cutting.Shawl(front, back, s)
		if err != nil {
			t.Fatalf("figure %d: %v", i, err)
		}
		neck, outer := got.Run("collar_neck"), got.Run("collar_outer")
		if d := neck.Length() - back.RunLength("neckline"); math.Abs(d) > 1e-6 {
			t.Errorf("figure %d: the collar's neck is %.3f mm longer than the back's", i, d)
		}
		if !neck.End().Near(got.Run("shoulder").Start(), 1e-6) {
			t.Errorf("figure %d: the collar does not end at the neck point", i)
		}
		across := geom.Polyline(neck.End(), neck.End().Add(neck.EndTangent().Right().Mul(200)))
		crossings := outer.Crossings(across)
		if len(crossings) != 1 {
			t.Fatalf("figure %d: %d crossings above the shoulder", i, len(crossings))
		}
		lies := back.Run("neckline").Offset(-17, geom.OffsetTol).Length() + math.Pi
		if d := outer.Length() - crossings[0].A - lies; math.Abs(d) > 0.1 {
			t.Errorf("figure %d: the outer edge is %.2f mm longer than where it lies and the turn of cloth", i, d)
		}
		if wide := got.RunLength("collar_back"); math.Abs(wide-73) > 1e-6 {
			t.Errorf("figure %d: %.2f mm wide at the centre back, want 73", i, wide)
		}
		s.Fall = 30
		if _, err := cutting.Shawl(front, back, s); err == nil || !strings.Contains(err.Error(), "fall 30.0 mm") {
			t.Errorf("figure %d: a fall within the stand: %v", i, err)
		}
	}
}

func TestHood(t *testing.T) {
	t.Parallel()
	for _, s := range []cutting.HoodShape{
		{Neck: 220, Height: 350, Depth: 250, Drop: 25}, {Neck: 190, Height: 330, Depth: 230, Drop: 0},
		{Neck: 300, Height: 400, Depth: 280, Drop: 40},
	} {
		p, err := cutting.Hood("hood", "Hood", s)
		if err != nil {
			t.Fatalf("%+v: %v", s, err)
		}
		if d := p.RunLength("neck") - s.Neck; math.Abs(d) > 1e-6 {
			t.Errorf("%+v: the neck edge is %.3f mm too long", s, d)
		}
		box := p.Run("crown").Bounds()
		if high := -box.Min.Y; math.Abs(high-s.Height) > 0.06*s.Height {
			t.Errorf("%+v: %.1f mm high", s, high)
		}
		level := geom.Polyline(geom.Pt(-500, -s.Height/2), geom.Pt(900, -s.Height/2))
		across := p.Outline().Crossings(level)
		if len(across) != 2 || math.Abs(across[0].At.Dist(across[1].At)-s.Depth) > 0.05*s.Depth {
			t.Errorf("%+v: %d crossings half way up, %v", s, len(across), across)
		}
		if turn := math.Abs(p.Run("crown").StartTangent().Dot(p.Run("neck").EndTangent())); turn > 1e-6 {
			t.Errorf("%+v: the neck edge runs over the seam with a corner", s)
		}
	}
}

// A vent keeps the edge above it, and its layers lie over each other.
func TestVent(t *testing.T) {
	t.Parallel()
	back := plain(t, blockPieces(t, figures[0], nil)["back"])
	got, err := cutting.Vent(back, "centre_back", 180, 45)
	if err != nil {
		t.Fatal(err)
	}
	if d := back.RunLength("centre_back") - got.RunLength("centre_back"); math.Abs(d-180) > 1e-6 {
		t.Errorf("the centre back is %.3f mm shorter, want 180", d)
	}
	if wide := got.RunLength("hem") - back.RunLength("hem"); math.Abs(wide-45) > 1e-6 {
		t.Errorf("the hem is %.3f mm wider, want 45", wide)
	}
	other, err := cutting.Vent(back, "side", 120, 30)
	if err != nil {
		t.Fatal(err)
	}
	wider := other.RunLength("hem") - back.RunLength("hem")
	if other.EdgeIndex("vent_top") != other.EdgeIndex("side")+1 || math.Abs(wider-30) > 1e-6 {
		t.Errorf("a vent before the hem has the edges %v", other.Edges)
	}
	if got.HasFold() || !got.Cut.Pair {
		t.Errorf("cut %+v with a fold, want a pair", got.Cut)
	}
}

func TestCollarsRefuse(t *testing.T) {
	t.Parallel()
	pieces := blockPieces(t, figures[0], nil)
	front, back := frontWithStand(t, pieces), plain(t, pieces["back"])
	s := jacketLapel
	s.Breaks = front.RunLength("centre_front") - 330
	made, err := cutting.Lapel(front, s)
	if err != nil {
		t.Fatal(err)
	}
	lapel := func(change func(*cutting.LapelShape)) func() error {
		return func() error { s := s; change(&s); _, err := cutting.Lapel(front, s); return err }
	}
	roll := cutting.RollCollarShape{Stand: 28, Fall: 42, Point: 40, Notch: 1.3, Thickness: 1}
	collar := func(change func(*cutting.RollCollarShape)) func() error {
		return func() error {
			s := roll
			change(&s)
			_, err := cutting.RollCollar(made, back, "collar", "Collar", s)
			return err
		}
	}
	for name, test := range map[string]struct {
		do   func() error
		want string
	}{
		"lapel above the neck": {lapel(func(s *cutting.LapelShape) { s.Breaks = 5000 }), "breaks 5000.0 mm"},
		"lapel too narrow":     {lapel(func(s *cutting.LapelShape) { s.Width = 10 }), "width 10.0 mm; must be from 40"},
		"gorge at the break":   {lapel(func(s *cutting.LapelShape) { s.Gorge, s.Breaks = 295, s.Breaks+120 }), "must remain"},
		"fall within stand":    {collar(func(s *cutting.RollCollarShape) { s.Fall = 30 }), "fall 30.0 mm; must be from 33"},
		"notch":                {collar(func(s *cutting.RollCollarShape) { s.Notch = 0 }), "notch 0 degrees"},
		"front without a lapel": {func() error {
			_, err := cutting.RollCollar(front, back, "collar", "Collar", roll)
			return err
		}, "gorge"},
		"hood too deep for its neck": {func() error {
			_, err := cutting.Hood("hood", "Hood", cutting.HoodShape{Neck: 110, Height: 300, Depth: 400})
			return err
		}, "its face would lean"},
		"vent above the edge": {func() error { _, err := cutting.Vent(back, "centre_back", 3000, 45); return err },
			"height of the vent 3000.0 mm"},
		"vent on a neckline": {func() error { _, err := cutting.Vent(back, "neckline", 30, 45); return err },
			"does not meet a hem"},
		"turn of cloth": {func() error { _, err := cutting.TurnOfCloth(back, []string{"hem"}, 40); return err },
			"turn of cloth 40.0 mm; must be from 0.2 to 15 mm"},
	} {
		if err := test.do(); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, want %q", name, err, test.want)
		}
	}
}
