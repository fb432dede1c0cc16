package styles

import (
	"errors"
	"testing"

	"tapeline/drafting/proof"
	"tapeline/drafting/style"
	"tapeline/service"
)

// The template has no finding, and every body of the panel can put on what it drafts,
// in every variant of a proof.
func TestTemplate(t *testing.T) {
	t.Parallel()
	garment, err := style.Compile([]byte(Template()))
	if err != nil {
		t.Fatal(err)
	}
	panel := proof.Panel(garment.Head.Block, garment.Head.Measures...)
	findings, err := proof.Findings(t.Context(), garment, proof.Average(panel))
	if err != nil || len(findings) > 0 {
		t.Errorf("findings %v, error %v", findings, err)
	}
	plan := proof.Plan{Bodies: panel, Variants: proof.Every(garment.Spec(), proof.Base(garment.Head.Slug, garment))}
	tally, _, err := plan.Run(t.Context(), 0, proof.Pace{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	if r := plan.Report(tally); r.Drafted != plan.Len() || r.Faulty > 0 {
		t.Errorf("%d of %d drafted, %d with faults: %v %v", r.Drafted, plan.Len(), r.Faulty, r.Refusals, r.Faults)
	}
}

// A revision follows its base, and only that.
func TestBase(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		base   *Base
		slug   string
		number int
		missed bool
	}{
		"none":                    {nil, "top", 7, false},
		"the next":                {&Base{"top", 6}, "top", 7, false},
		"somebody was faster":     {&Base{"top", 5}, "top", 7, true},
		"a new style":             {&Base{"", 0}, "top", 1, false},
		"a new style with a slug": {&Base{"", 0}, "top", 4, true},
		"renamed":                 {&Base{"top", 3}, "vest", 1, false},
		"renamed as another":      {&Base{"top", 3}, "vest", 4, true},
	} {
		err := c.base.missed(Revision{Slug: c.slug, Number: c.number})
		e, refused := errors.AsType[*service.Error](err)
		if refused != c.missed || refused && e.Code != service.CodeWrongState {
			t.Errorf("%s: %v, want refused %v", name, err, c.missed)
		}
	}
}
