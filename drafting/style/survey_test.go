package style_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"

	"golang.org/x/sync/errgroup"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// variantsOf are the choices that a proof tries.
func variantsOf(spec block.Spec) []map[string]block.Value {
	var all []map[string]block.Value
	for _, e := range proof.Ends(spec) {
		all = append(all, e.Choices)
	}
	return all
}

// everyNth is how many bodies a sampled run leaves out between two; with
// TAPELINE_WHOLE=1 all are drafted.
func everyNth(n int) int {
	if os.Getenv("TAPELINE_WHOLE") == "1" {
		return 1
	}
	return n
}

// tally counts outcomes.
type tally struct {
	sync.Mutex
	drafted, refused, failed int
	reasons                  map[string]int
	failures                 map[string]int
}

func (y *tally) add(label string, err error) {
	y.Lock()
	defer y.Unlock()
	var refusal fault.List
	switch {
	case err == nil:
		y.drafted++
	case errors.As(err, &refusal):
		y.refused++
		y.reasons[refusal[0].Accepted]++
	default:
		y.failed++
		if len(y.failures) < 12 {
			y.failures[label+": "+err.Error()]++
		}
	}
}

// proveStyle drafts and finishes bodies in every fit and variant.
func proveStyle(s *style.Style, people []body.Measures, nth int) *tally {
	y := &tally{reasons: map[string]int{}, failures: map[string]int{}}
	spec := s.Spec()
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	variants := variantsOf(spec)
	k := 0
	for _, f := range spec.Fits {
		for _, choices := range variants {
			k++
			for i := k % nth; i < len(people); i += nth {
				g.Go(func() error {
					b, faults := body.New(people[i], spec.Requires)
					if faults != nil {
						y.add("", faults)
						return nil
					}
					p, err := s.Draft(context.Background(), block.Request{Body: b, Fit: f.Name, Choices: choices})
					if err == nil {
						_, err = finish.Finish(context.Background(), p, finish.Rules{})
					}
					y.add(fmt.Sprintf("body %d %s %v", i, f.Name, choices), err)
					return nil
				})
			}
		}
	}
	_ = g.Wait()
	return y
}

// Every garment is drafted to real bodies in every fit, with every choice at
// its ends; none fails, and hardly any is refused.
func TestGarmentsOnBodies(t *testing.T) {
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	people := map[string][]body.Measures{"women": surveytest.WithBellies(surveytest.Women(t)), "men": surveytest.Men(t)}
	for _, s := range all {
		for _, whose := range []string{"women", "men"} {
			if whose == "men" && !slices.Contains(forMen, s.Head.Slug) {
				continue
			}
			t.Run(s.Head.Slug+"/"+whose, func(t *testing.T) { surveyStyle(t, s, people[whose]) })
		}
	}
}

// forMen are the garments that are made for men too.
var forMen = []string{"button-shirt", "knit-top", "wrap-robe", "straight-trousers", "pyjama-trousers",
	"tailored-jacket", "waistcoat", "coat", "hooded-sweatshirt", "leggings", "bodysuit"}

func surveyStyle(t *testing.T, s *style.Style, people []body.Measures) {
	y := proveStyle(s, people, everyNth(500))
	t.Logf("%d drafted, %d refused, %d failed", y.drafted, y.refused, y.failed)
	var reasons []string
	for why, n := range y.reasons {
		reasons = append(reasons, fmt.Sprintf("%5d %s", n, why))
	}
	slices.Sort(reasons)
	slices.Reverse(reasons)
	for _, r := range reasons[:min(12, len(reasons))] {
		t.Log("refused ", r)
	}
	for f := range y.failures {
		t.Error(f)
	}
	if y.failed > 0 {
		t.Errorf("%d failed", y.failed)
	}
	if all := y.drafted + y.refused; float64(y.refused) > 0.01*float64(all) {
		t.Errorf("%d of %d refused: more than one in a hundred", y.refused, all)
	}
}

// Choices are not made one at a time: each garment with all its choices at
// ends and words taken at random, for bodies and fits taken at random, is
// drafted or refused, and never fails.
func TestGarmentsInMixedChoices(t *testing.T) {
	t.Parallel()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	many := 6000 / everyNth(150)
	women, men := surveytest.WithBellies(surveytest.Women(t)), surveytest.Men(t)
	for _, s := range all {
		t.Run(s.Head.Slug, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(3, uint64(len(s.Head.Slug))))
			people := women
			if slices.Contains(forMen, s.Head.Slug) {
				people = slices.Concat(women, men)
			}
			spec := s.Spec()
			y := &tally{reasons: map[string]int{}, failures: map[string]int{}}
			for range many {
				i, f := rng.IntN(len(people)), spec.Fits[rng.IntN(len(spec.Fits))].Name
				choices := mixedChoices(rng, spec)
				b, faults := body.New(people[i], spec.Requires)
				if faults != nil {
					y.add("", faults)
					continue
				}
				p, err := s.Draft(t.Context(), block.Request{Body: b, Fit: f, Choices: choices})
				if err == nil {
					_, err = finish.Finish(context.Background(), p, finish.Rules{})
				}
				y.add(fmt.Sprintf("body %d %s %v", i, f, choices), err)
			}
			t.Logf("%d drafted, %d refused, %d failed: %v", y.drafted, y.refused, y.failed, y.reasons)
			for f := range y.failures {
				t.Error(f)
			}
		})
	}
}

// mixedChoices returns every choice at one of its options or ends.
func mixedChoices(rng *rand.Rand, spec block.Spec) map[string]block.Value {
	choices := map[string]block.Value{}
	for _, c := range spec.Choices {
		var ends []block.Value
		for _, w := range c.Options {
			ends = append(ends, block.Value{Word: w})
		}
		if c.Max > c.Min {
			ends = append(ends, block.Value{Number: c.Min}, block.Value{Number: c.Max})
		}
		choices[c.Name] = ends[rng.IntN(len(ends))]
	}
	return choices
}
