package sentence

import (
	"slices"
	"testing"

	"tapeline/drafting/style"
)

// What can be said of an edge, a dart, a line and a piece, and each sentence without a
// missing blank compiles as it is guessed.
func TestOffers(t *testing.T) {
	t.Parallel()
	s := read(t, script)
	at := sentenceSaying(t, s, "Lower the neckline of the front").Span
	for _, c := range []struct {
		pick      Pick
		some, not []string
	}{
		{Pick{Kind: style.KindEdge, Piece: "front", As: "front", Name: "neckline", Before: "centre_front", After: "shoulder"},
			[]string{"drop", "true_up", "facing", "notch", "allow", "role", "seam", "level_to", "split", "spread"},
			[]string{"undart", "line", "band", "choice", "shift"}},
		{Pick{Kind: style.KindDart, Piece: "front", As: "front", Name: "bust_dart"}, []string{"move_dart", "undart"},
			[]string{"drop", "seam", "copy"}},
		{Pick{Kind: style.KindPiece, Piece: "back", As: "back"}, []string{"copy", "lining", "shift", "grain", "cutting"},
			[]string{"drop", "true_up", "seam", "redraw"}},
	} {
		var offered []string
		for _, o := range Offers(c.pick) {
			offered = append(offered, o.Verb)
			if len(o.Missing) > 0 {
				continue
			}
			if _, err := s.Add(at, false, o.Call); err != nil {
				t.Errorf("%s of %s: %v", o.Verb, c.pick.Name, err)
			}
		}
		for _, verb := range c.some {
			if !slices.Contains(offered, verb) {
				t.Errorf("%s is not offered for a %s: %v", verb, c.pick.Kind, offered)
			}
		}
		for _, verb := range c.not {
			if slices.Contains(offered, verb) {
				t.Errorf("%s is offered for a %s", verb, c.pick.Kind)
			}
		}
	}
	edge := Pick{Kind: style.KindEdge, Piece: "front", As: "front", Name: "neckline", Before: "centre_front",
		After: "shoulder"}
	for _, o := range Offers(edge) {
		verb, ok := newReader(s).verbs[o.Verb]
		if !ok {
			t.Fatalf("unknown verb %s", o.Verb)
		}
		text, err := s.writtenCall(verb, o.Call)
		want := map[string]string{
			"drop":     `drop(front, "neckline", centre_front = 60, shoulder = 60)`,
			"allow":    `allow(front, neckline = 10)`,
			"seam":     `seam("front/neckline")`,
			"level_to": `level_to(front, "neckline", length(front, "neckline"), "shoulder")`,
			"flare":    `flare(front, "neckline", "shoulder", 70)`,
		}[o.Verb]
		if want != "" && (text != want || err != nil) {
			t.Errorf("%s is guessed %s, %v; want %s", o.Verb, text, err, want)
		}
	}
}
