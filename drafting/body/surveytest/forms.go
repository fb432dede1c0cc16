package surveytest

import (
	"bufio"
	"bytes"
	_ "embed"
	"encoding/json"
	"math/rand/v2"
	"testing"

	"tapeline/drafting/body"
)

//go:embed testdata/forms-women.jsonl
var forms []byte

// A Form is a body measured on a surface, in mm, with measurements that the
// survey lacks, and girths of its trunk.
type Form struct {
	Given    body.Measures `json:"given"`
	Sections []Section     `json:"sections"` // from the top down
}

// A Section is the tape girth of the trunk at a height above the floor, in mm.
type Section struct {
	Level  string  `json:"level"`
	Height float64 `json:"height"`
	Girth  float64 `json:"girth"`
}

// Forms returns 80 women measured on their surfaces.
func Forms(t testing.TB) []Form {
	t.Helper()
	var all []Form
	lines := bufio.NewScanner(bytes.NewReader(forms))
	for lines.Scan() {
		var f Form
		if err := json.Unmarshal(lines.Bytes(), &f); err != nil {
			t.Fatal(err)
		}
		all = append(all, f)
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// GirthAt returns the girth of the trunk at a height above the floor, between
// those measured, in mm. known is false above and below them.
func (f Form) GirthAt(height float64) (girth float64, known bool) {
	for i := 1; i < len(f.Sections); i++ {
		a, b := f.Sections[i-1], f.Sections[i]
		if height <= a.Height && height >= b.Height {
			return a.Girth + (b.Girth-a.Girth)*(a.Height-height)/(a.Height-b.Height), true
		}
	}
	return 0, false
}

// Vary returns the measurements with each of names that is not given, every
// other time, off its estimate by up to two of the estimate's spreads, within
// the hard limits.
func Vary(rng *rand.Rand, given body.Measures, requires, names []body.Name) (body.Measures, error) {
	b, faults := body.NewIn(body.Millimetre, given, requires, names)
	if len(faults) > 0 {
		return nil, faults
	}
	varied := body.Measures{}
	for n, v := range given {
		varied[n] = v
	}
	for _, n := range names {
		m, chosen, by := b.Get(n), rng.IntN(2) == 0, 4*rng.Float64()-2
		if !chosen || b.Given(n) || m.Spread == 0 {
			continue
		}
		info, _ := body.Lookup(n)
		varied[n] = min(max(m.Value+by*m.Spread, info.Min), info.Max)
	}
	return varied, nil
}
