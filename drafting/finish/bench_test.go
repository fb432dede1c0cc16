package finish

import (
	"testing"

	"tapeline/drafting/pattern"
)

// Three pieces, as a torso block with its sleeve has.
func BenchmarkFinish(b *testing.B) {
	p := pattern.Pattern{Pieces: []pattern.Piece{skirtFront(), bodiceFront(), sleeve()}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := finishLettered(p, Rules{}); err != nil {
			b.Fatal(err)
		}
	}
}
