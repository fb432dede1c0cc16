package block

import (
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"sync"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/pattern"
)

// shared finds a file of the shared data beside the project, or skips.
func shared(t testing.TB, name string) string {
	t.Helper()
	path := filepath.Join("..", "..", "..", "shared", "data", name)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("the survey is not here: %v", err)
	}
	return path
}

// survey reads the real bodies (ANSUR II, see the data's own README), cm.
func survey(t testing.TB, name string) []body.Measures {
	t.Helper()
	file, err := os.Open(shared(t, name))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var people []body.Measures
	for _, row := range rows[1:] {
		m := body.Measures{}
		for i, column := range rows[0] {
			if _, ok := body.Lookup(body.Name(column)); !ok {
				continue
			}
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			m[body.Name(column)] = 10 * v
		}
		people = append(people, m)
	}
	return people
}

// tally drafts every body in both ways of parallel and counts outcomes.
type tally struct {
	sync.Mutex
	drafted, refused int
	reasons          map[string]int
	failed           map[string]int
	worst            map[string]float64
}

func (y *tally) add(t *testing.T, label string, p pattern.Pattern, err error) {
	y.Lock()
	defer y.Unlock()
	var refusal fault.List
	switch {
	case err == nil:
		y.drafted++
		for _, c := range p.Checks {
			if d := abs(c.Difference()); d > y.worst[c.Name] {
				y.worst[c.Name] = d
			}
		}
	case errors.As(err, &refusal):
		y.refused++
		y.reasons[refusal[0].Accepted]++
	default:
		if len(y.failed) < 8 {
			t.Errorf("%s: %v", label, err)
		}
		y.failed[label]++
	}
}

func newTally() *tally {
	return &tally{reasons: map[string]int{}, failed: map[string]int{}, worst: map[string]float64{}}
}

func (y *tally) report(t *testing.T) {
	t.Logf("drafted %d, refused %d, failed %d", y.drafted, y.refused, len(y.failed))
	for why, n := range y.reasons {
		t.Logf("  refused %d: %s", n, why)
	}
	var names []string
	for n := range y.worst {
		names = append(names, n)
	}
	sort.Slice(names, func(i, j int) bool { return y.worst[names[i]] > y.worst[names[j]] })
	for _, n := range names[:min(8, len(names))] {
		t.Logf("  worst %s %.4f mm", n, y.worst[n])
	}
}

func words(kv ...string) map[string]Value {
	m := map[string]Value{}
	for i := 0; i+1 < len(kv); i += 2 {
		m[kv[i]] = Value{Word: kv[i+1]}
	}
	return m
}

func TestEveryBody(t *testing.T) {
	people := survey(t, "bodies-women.csv")
	variants := []map[string]Value{
		words(), words("bust_dart", "shoulder"), words("bust_dart", "armhole"), words("bust_dart", "neck"), words("bust_dart", "waist"), words("bust_dart", "centre_front"),
		words("length", "waist"), words("length", "waist", "bust_dart", "waist"), words("length", "knee", "sleeve", "short", "suppression", "half"), words("length", "thigh", "sleeve", "three_quarter", "suppression", "none", "back_shoulder", "ease"),
	}
	for _, v := range variants {
		y := newTally()
		for i, m := range people {
			b, faults := body.New(m, torsoNeeds)
			if faults != nil {
				t.Fatalf("row %d: %v", i, faults)
			}
			for _, fit := range []string{"close", "regular", "loose"} {
				p, err := draftTorso(Request{Body: b, Fit: fit, Choices: v}, true)
				y.add(t, "row "+strconv.Itoa(i)+" "+fit, p, err)
			}
		}
		t.Log(v)
		y.report(t)
	}
}

func BenchmarkTorso(b *testing.B) {
	bd, _ := body.New(body.Measures{"bust_girth": 880, "waist_girth": 720, "hip_girth": 960, "neck_base_girth": 370, "shoulder_length": 122, "back_width": 344, "nape_to_waist": 410, "upper_arm_girth": 280, "wrist_girth": 160, "arm_length": 580, "height": 1640}, torsoNeeds)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := draftTorso(Request{Body: bd, Fit: "regular"}, true); err != nil {
			b.Fatal(err)
		}
	}
}
