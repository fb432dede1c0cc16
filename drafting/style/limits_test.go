package style_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// The built-in garments stay below a tenth of every limit, over the panel of
// bodies and the ends of every choice. The size of a piece stays below a fifth:
// a garment of 33 m would not be one. What narrow pleats multiply stays below a half.
func TestGarmentsStayBelowTheLimits(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	limits := pattern.Limits()
	most := make([]int, len(limits))
	var steps, memory uint64
	for _, s := range all {
		spec := s.Spec()
		bodies := proof.Panel(s.Head.Block, spec.Requires...)
		for n, end := range proof.Ends(spec) {
			person, faults := body.New(bodies[(7*n)%len(bodies)].Given, spec.Requires)
			if len(faults) > 0 {
				continue
			}
			req := block.Request{Body: person, Fit: spec.Fits[n%len(spec.Fits)].Name, Choices: end.Choices}
			p, used, err := style.DraftCounted(t.Context(), s, req)
			if err != nil {
				continue // the garment refuses the body
			}
			steps, memory = max(steps, used.Steps), max(memory, used.Memory)
			for i, l := range limits {
				most[i] = max(most[i], l.Of(p))
			}
		}
	}
	for i, l := range limits {
		share := 10
		switch {
		case strings.HasPrefix(l.Name, "mm "):
			share = 5
		case slices.Contains(pleated, l.Name):
			share = 2
		}
		t.Logf("%6d of %6d %s", most[i], l.Max, l.Name)
		if most[i]*share > l.Max {
			t.Errorf("%d %s: more than 1/%d of the limit of %d", most[i], l.Name, share, l.Max)
		}
	}
	t.Logf("%6d of %d steps, %d of %d kB of memory", steps, style.MaxSteps, memory>>10, style.MaxMemory>>10)
	if steps*10 > style.MaxSteps || memory*10 > style.MaxMemory {
		t.Errorf("%d steps or %d kB are more than a tenth of the limits", steps, memory>>10)
	}
}

// pleated are the limits of what a pleat has.
var pleated = []string{"seams", "strokes in all", "edges of a piece", "strokes of a piece's outline",
	"strokes of a piece's darts and lines", "darts of a piece", "notches of a piece", "lines of a piece"}

// zigzag is a piece with an edge of n strokes.
func zigzag(n int) string {
	return fmt.Sprintf(`z = line(*[point(i, 10 * (i %% 2)) for i in range(%d)])
e = point(%d, 10 * (%d %% 2))
p = piece("p", "P", top = z, rest = line(e, point(%[2]d, 400), point(0, 400), point(0, 0)))
`, n+1, n, n)
}

// What a hostile shop's script makes is refused by the limits before it costs
// much, and within the limits the script's steps bound it.
func TestHostileGarments(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, lines, reason string
		costly              bool
	}{
		{"twelve pieces with an edge of 1900 strokes", zigzag(1900) +
			`return garment([copy(p, "p%d" % i, "P") for i in range(12)], [], ["sew"])`, "want 2 to 600 points", false},
		{"pieces with an edge of 500 strokes", zigzag(500) +
			`return garment([copy(p, "p%d" % i, "P") for i in range(12)], [], ["sew"])`,
			"strokes of a piece's outline; at most 300", false},
		{"twelve pieces of 280 strokes", zigzag(280) +
			`return garment([copy(p, "p%d" % i, "P") for i in range(12)], [], ["sew"])`,
			"strokes in all; at most 3000", false},
		{"costly for one body only", `if body.bust_girth > 900:
    for i in range(1000000):
        x = length(block.back, "hem")
return garment([block.back], [], ["sew"])`, "steps: check that loops end", true},
		{"the length of long paths", zigzag(500)[:strings.Index(zigzag(500), "\n")+1] +
			"for i in range(1000000):\n    x = length(z)\n", "steps: check that loops end", true},
		{"900 lines on 16 pieces", `q = block.back
for i in range(900):
    q = draw(q, "l%d" % i, line(point(50, 100 + i / 10), point(60, 100 + i / 10)))
return garment([copy(q, "q%d" % i, "Q") for i in range(16)], [], ["sew"])`, "lines of a piece; at most 150", false},
		{"strokes made and dropped", zigzag(290) + "for i in range(100000):\n    q = copy(p, \"q\", \"Q\")\n",
			"steps: check that loops end", true},
		{"twenty pieces cut forty times", zigzag(58) + `q = cutting(p, count = 40)
return garment([copy(q, "q%d" % i, "Q") for i in range(20)], [], ["sew"])`,
			"pieces of cloth cut in all; at most 600", false},
	} {
		_, err := runScript(t, inMake(tt.lines))
		e, ok := errors.AsType[*style.Error](err)
		if !ok || !strings.Contains(e.Reason, tt.reason) || (e.Cost != nil) != tt.costly {
			t.Errorf("%s: %+v, want %q", tt.name, err, tt.reason)
		}
	}
}
