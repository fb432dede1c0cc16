package proof_test

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"golang.org/x/sync/errgroup"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// everyNth is how many bodies of the survey a run leaves out between two: with
// TAPELINE_WHOLE=1 none, with TAPELINE_NTH as many as it says.
func everyNth(t *testing.T, usual int) int {
	t.Helper()
	if os.Getenv("TAPELINE_WHOLE") == "1" {
		return 1
	}
	if v := os.Getenv("TAPELINE_NTH"); v != "" {
		n, err := strconv.Atoi(v)
		if err != nil || n < 1 {
			t.Fatalf("TAPELINE_NTH=%q, want a number from 1", v)
		}
		return n
	}
	return usual
}

// row counts the drafts of a garment that have a fault, by rule.
type row struct {
	sync.Mutex
	drafted, refused, failed int
	faults                   map[string]int
	first                    map[string]string // a fault of each rule
}

func (r *row) add(at int, faults []proof.Fault) {
	seen := map[string]bool{}
	for _, f := range faults {
		if !seen[f.Rule] {
			seen[f.Rule] = true
			r.faults[f.Rule]++
			if r.first[f.Rule] == "" {
				r.first[f.Rule] = fmt.Sprintf("body %d: %s", at, f.Reason)
			}
		}
	}
}

// TestFinishedGarments reads every garment as a cutter would, drafted to every
// body of the survey in every fit: can it be put on, has each limb room, do the
// edges run on over the seams, is the hem square, do seams, closings and notches
// lie in their places. With -v it prints the table of DEVELOPERS.md.
func TestFinishedGarments(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	nth := everyNth(t, 60)
	t.Logf("| garment | bodies | drafted | refused | %s |", strings.Join(proof.Rules(), " | "))
	for _, s := range all {
		groups := map[string][]body.Measures{"women": surveytest.WithBellies(surveytest.Women(t))}
		if slices.Contains([]string{"straight", "jacket", "trousers", "knit_leg", "knit_torso"}, s.Head.Block) &&
			!slices.Contains(s.Head.Measures, body.BellyGirth) {
			groups["men"] = surveytest.Men(t)
		}
		for _, sex := range slices.Backward(slices.Sorted(maps.Keys(groups))) {
			r := readGarment(t, s, groups[sex], nth)
			var cells []string
			for _, rule := range proof.Rules() {
				cells = append(cells, strconv.Itoa(r.faults[rule]))
				if r.faults[rule] > 0 && !slices.Contains(unmended, s.Head.Slug) {
					t.Errorf("%s: %s: %s", s.Head.Slug, rule, r.first[rule])
				}
			}
			t.Logf("| %s | %s | %d | %d | %s |", s.Head.Slug, sex, r.drafted, r.refused, strings.Join(cells, " | "))
			if r.failed > 0 {
				t.Errorf("%s: %d failed: %s", s.Head.Slug, r.failed, r.first["failed"])
			}
		}
	}
}

// unmended are the garments whose faults are listed and not yet failures.
var unmended = []string{"gathered-skirt-dress", "princess-dress", "shift-dress", "torso-toile"}

func readGarment(t *testing.T, s *style.Style, people []body.Measures, nth int) *row {
	t.Helper()
	r := &row{faults: map[string]int{}, first: map[string]string{}}
	var g errgroup.Group
	g.SetLimit(2)
	for k, f := range s.Spec().Fits {
		for i := k % nth; i < len(people); i += nth {
			g.Go(func() error {
				o := proof.Base(s.Head.Slug)
				o.Fit, o.Measurements = f.Name, maps.Clone(people[i])
				// The survey took the back's width at the armpits.
				o.Measurements[body.BackWidthArmpitLevel] = people[i][body.BackWidth]
				delete(o.Measurements, body.BackWidth)
				p, err := drafting.Draft(t.Context(), o)
				r.Lock()
				defer r.Unlock()
				_, refused := errors.AsType[fault.List](err)
				switch {
				case refused:
					r.refused++
				case err != nil:
					r.failed++
					r.first["failed"] = fmt.Sprintf("body %d, %s: %v", i, f.Name, err)
				default:
					r.drafted++
					r.add(i, proof.Faults(p))
				}
				return nil
			})
		}
	}
	_ = g.Wait()
	return r
}
