package finish

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/pattern"
)

// drafted is a block on a body; ok is false where the block refuses it, which
// is the block's own matter.
func drafted(t testing.TB, name string, m body.Measures, fit string, choices map[string]block.Value) (pattern.Pattern,
	bool) {
	t.Helper()
	spec, ok := block.Find(name)
	if !ok {
		t.Fatalf("no block %q", name)
	}
	b, faults := body.New(m, spec.Requires)
	if faults != nil {
		return pattern.Pattern{}, false
	}
	p, err := block.Draft(t.Context(), spec.Name, block.Request{Body: b, Fit: fit, Choices: choices})
	return p, err == nil
}

// choices reads "name=value name=value".
func choices(s string) map[string]block.Value {
	m := map[string]block.Value{}
	for _, f := range strings.Fields(s) {
		name, value, _ := strings.Cut(f, "=")
		m[name] = block.Value{Word: value}
	}
	return m
}

var blockVariants = []struct{ block, choices string }{
	{"straight", ""},
	{"torso", ""},
	{"torso", "bust_dart=shoulder"},
	{"torso", "bust_dart=armhole centre_back=seam"},
	{"torso", "bust_dart=neck elbow=dart"},
	{"torso", "bust_dart=waist length=waist"},
	{"torso", "bust_dart=centre_front"},
	{"torso", "length=waist sleeve=short"},
	{"torso", "length=knee sleeve=elbow suppression=half centre_front=seam"},
	{"torso", "length=thigh sleeve=three_quarter suppression=none back_shoulder=ease"},
}

var blockRules = []map[string]float64{
	nil,
	{"default": 15, "hem": 50, "neckline": 6, "armhole": 10, "cap": 10},
	{"default": 0, "hem": 0},
	{"seam": 20, "hem": 12, "neckline": 0},
}

// Every real body finishes, each in one of the variants in turn (with
// TAPELINE_BODIES=all, each in all of them); on every twelfth everything that
// holds for a finished piece is measured.
func TestRealBodies(t *testing.T) {
	t.Parallel()
	for k, variant := range blockVariants {
		t.Run(variant.block+" "+variant.choices, func(t *testing.T) {
			t.Parallel()
			people := map[string]func(testing.TB) []body.Measures{"torso": surveytest.Women,
				"straight": surveytest.Men}[variant.block](t)
			var worst measured
			pieces, deep := 0, 0
			for i, m := range people {
				if os.Getenv("TAPELINE_BODIES") != "all" && i%len(blockVariants) != k {
					continue
				}
				fit := []string{"close", "regular", "loose"}[(i/7)%3]
				p, ok := drafted(t, variant.block, m, fit, choices(variant.choices))
				if !ok {
					continue
				}
				nth := i / len(blockVariants)
				rules := Rules{Allowances: blockRules[(nth+nth/12)%len(blockRules)]}
				out, err := finishLettered(p, rules)
				if err != nil {
					t.Errorf("row %d %s %v: %v", i, fit, rules, err)
					continue
				}
				pieces += len(out.Pieces)
				if nth%12 != 0 {
					continue
				}
				for _, piece := range out.Pieces {
					deep++
					t.Run(fmt.Sprintf("row %d %s", i, fit), func(t *testing.T) {
						lettered(t, piece)
						if got := sound(t, piece); got.worst > worst.worst {
							worst = got
						}
					})
				}
			}
			t.Logf("%d pieces finished, %d of them measured: worst allowance %.4f mm (%s)", pieces, deep, worst.worst,
				worst.where)
		})
	}
}

// BenchmarkTorso finishes a real torso block of three pieces.
func BenchmarkTorso(b *testing.B) {
	m := surveytest.Women(b)[0]
	p, ok := drafted(b, "torso", m, "regular", nil)
	if !ok {
		b.Skip("the block refuses the first body")
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := finishLettered(p, Rules{}); err != nil {
			b.Fatal(err)
		}
	}
}
