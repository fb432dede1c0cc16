package cutting_test

import (
	"math"
	"strings"
	"testing"

	"tapeline/drafting/cutting"
)

// A slit runs square into the piece from its edge, with a drill hole at its end.
func TestSlit(t *testing.T) {
	t.Parallel()
	p, err := cutting.Slit(square(), "slit", cutting.Position{Run: "hem", At: 60}, 130)
	if err != nil {
		t.Fatal(err)
	}
	line := p.Lines[len(p.Lines)-1].Path
	if math.Abs(line.Length()-130) > 1e-9 || line.Start() != p.Run("hem").At(60) || line.StartTangent().Y > -1+1e-9 {
		t.Errorf("the slit runs from %v to %v", line.Start(), line.End())
	}
	if at := p.Marks[len(p.Marks)-1].At; !at.Near(line.End(), 1e-9) {
		t.Errorf("its drill hole lies at %v, want %v", at, line.End())
	}
	if _, err := cutting.Slit(square(), "slit", cutting.Position{Run: "hem", At: 60}, 330); err == nil ||
		!strings.Contains(err.Error(), "the slit ends 30.0 mm outside the piece") {
		t.Errorf("a slit through the piece: %v", err)
	}
}

// The plackets suit the slit: the under placket binds its whole length, the over placket reaches
// beyond it.
func TestPlacket(t *testing.T) {
	t.Parallel()
	over, under, err := cutting.Placket(130, 25)
	if err != nil {
		t.Fatal(err)
	}
	if got := under.RunLength("top"); math.Abs(got-130) > 1e-9 {
		t.Errorf("the under placket is %.1f mm long, want 130", got)
	}
	if got := over.Outline().Bounds().Height(); math.Abs(got-170) > 1e-9 {
		t.Errorf("the over placket is %.1f mm long, want 170", got)
	}
	if _, _, err := cutting.Placket(20, 5); err == nil || !strings.Contains(err.Error(), "width 5.0 mm; must be from 15") {
		t.Errorf("a placket of 20 by 5 mm: %v", err)
	}
}
