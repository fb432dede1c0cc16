package styles

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/drafting/proof"
	"tapeline/service"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func TestPublish(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		state   Status
		changed bool
		code    service.Code
	}{
		{Draft, false, service.CodeNotProved},
		{Proved, true, ""},
		{Published, false, ""},
		{Retired, false, service.CodeWrongState},
	} {
		r := Revision{Status: tt.state}
		changed, err := r.publish(noon)
		var code service.Code
		if e, ok := errors.AsType[*service.Error](err); ok {
			code = e.Code
		}
		if changed != tt.changed || code != tt.code {
			t.Errorf("publish a %s revision: %t, %v; want %t, %q", tt.state, changed, err, tt.changed, tt.code)
		}
		if changed && (r.Status != Published || r.PublishedAt == nil || !r.PublishedAt.Equal(noon)) {
			t.Errorf("published: %+v", r)
		}
		if !changed && (r.Status != tt.state || r.PublishedAt != nil) {
			t.Errorf("a refused publication changed %s to %+v", tt.state, r)
		}
	}
}

func TestRetire(t *testing.T) {
	t.Parallel()
	for _, state := range []Status{Draft, Proved, Published, Retired} {
		r := Revision{Status: state}
		changed := r.retire(noon)
		if changed != (state != Retired) || r.Status != Retired || changed != (r.RetiredAt != nil) {
			t.Errorf("retire a %s revision: %t, %+v", state, changed, r)
		}
	}
}

func TestApplyProof(t *testing.T) {
	t.Parallel()
	id, before := uuid.UUID{1}, uuid.UUID{2}
	for _, tt := range []struct {
		state   Status
		proved  bool
		want    Status
		changed bool
	}{
		{Draft, true, Proved, true},
		{Draft, false, Draft, false},
		{Proved, true, Proved, true}, // by the later proof
		{Proved, false, Draft, true},
		{Published, true, Published, false},
		{Published, false, Published, false},
		{Retired, true, Retired, false},
		{Retired, false, Retired, false},
	} {
		r := Revision{Status: tt.state, ProofID: &before}
		changed := r.applyProof(id, tt.proved)
		if changed != tt.changed || r.Status != tt.want {
			t.Errorf("%s revision, proved %t: %s, changed %t; want %s, %t",
				tt.state, tt.proved, r.Status, changed, tt.want, tt.changed)
		}
		switch {
		case !tt.changed && *r.ProofID != before,
			tt.want == Proved && *r.ProofID != id,
			tt.changed && !tt.proved && r.ProofID != nil:
			t.Errorf("%s revision, proved %t: proof %v", tt.state, tt.proved, r.ProofID)
		}
	}
}

// report returns a report on a number of bodies in two variants of a fit.
func report(bodies int) proof.Report {
	counts := proof.Counts{Drafted: bodies}
	return proof.Report{Counts: proof.Counts{Drafted: 2 * bodies},
		Variants: []proof.VariantReport{{Name: "regular", Counts: counts}, {Name: "regular sleeve=full", Counts: counts}}}
}

func TestShortfall(t *testing.T) {
	t.Parallel()
	failed := report(20)
	failed.Drafted, failed.Failed = 39, 1
	failed.Failures = []proof.ReasonReport{
		{Reason: "line 4: off by 2 mm", Where: proof.Where{Body: "line 7", Variant: "regular"}},
	}
	undrafted := report(20)
	undrafted.Drafted, undrafted.Refused = 20, 20
	undrafted.Variants[0].Counts = proof.Counts{Refused: 20}
	undrafted.Refusals = []proof.ReasonReport{{Reason: "the neck is too small"}}
	choiceUndrafted := report(20)
	choiceUndrafted.Variants[1].Counts = proof.Counts{Refused: 20}
	for _, tt := range []struct {
		name   string
		report proof.Report
		want   string // "" proves the style
	}{
		{"all drafted", report(20), ""},
		{"too few bodies", report(19), "19 bodies; at least 20 are required"},
		{"no body", proof.Report{}, "0 bodies"},
		{"a failure", failed, "failed in 1 drafts, first on line 7 (regular): line 4: off by 2 mm"},
		{"a fit refused to all", undrafted, "no body was drafted in the fit regular: the neck is too small"},
		{"an end of a choice refused to all", choiceUndrafted, ""},
	} {
		got := result{Report: tt.report}.shortfall()
		if got == "" != (tt.want == "") || !strings.Contains(got, tt.want) {
			t.Errorf("%s: shortfall %q, want %q", tt.name, got, tt.want)
		}
	}
}

// Faults do not keep a style from being published by somebody who confirms their number.
func TestUnconfirmedFaults(t *testing.T) {
	t.Parallel()
	faulty := report(20)
	faulty.Faulty = 12
	faulty.Faults = []proof.ReasonReport{
		{Count: 12, Reason: "pass: short by 10 mm", Where: proof.Where{Body: "line 7", Variant: "regular"}},
	}
	for _, tt := range []struct {
		name      string
		report    proof.Report
		confirmed int
		refused   bool
	}{
		{"clean", report(20), 0, false},
		{"clean, and a number all the same", report(20), 3, false},
		{"not confirmed", faulty, 0, true},
		{"confirmed of another proof", faulty, 11, true},
		{"confirmed", faulty, 12, false},
	} {
		err := result{Report: tt.report}.unconfirmed(tt.confirmed)
		e, refused := errors.AsType[*service.Error](err)
		if refused != tt.refused || refused && (e.Code != service.CodeFaultsUnconfirmed ||
			!strings.Contains(e.Detail, "12 of 40 drafts") || !strings.Contains(e.Detail, "line 7 (regular): pass: short")) {
			t.Errorf("%s: %v, want refused %v", tt.name, err, tt.refused)
		}
	}
}

func TestNotProvedReason(t *testing.T) {
	t.Parallel()
	few := report(3)
	for _, tt := range []struct {
		latest *Proof
		want   string
	}{
		{nil, "has not been proved"},
		{&Proof{Status: ProofWaiting, Total: 40}, "0 of 40 drafts"},
		{&Proof{Status: ProofRunning, Done: 12, Total: 40}, "12 of 40 drafts"},
		{&Proof{Status: ProofCancelled, FinishedAt: &noon}, "ended as cancelled"},
		{&Proof{Status: ProofFailed, FinishedAt: &noon}, "ended as failed"},
		{&Proof{Status: ProofDone, FinishedAt: &noon, Report: &few}, "3 bodies"},
	} {
		if got := notProvedReason(tt.latest); !strings.Contains(got, tt.want) {
			t.Errorf("%+v: reason %q, want %q", tt.latest, got, tt.want)
		}
	}
}

func TestRate(t *testing.T) {
	t.Parallel()
	started, finished := noon, noon.Add(10*time.Second)
	for _, tt := range []struct {
		done              int
		started, finished *time.Time
		now               time.Time
		want              float64
	}{
		{0, nil, nil, noon, 0},
		{0, &started, nil, noon, 0},
		{50, &started, nil, noon.Add(5 * time.Second), 10},
		{50, &started, &finished, noon.Add(time.Hour), 5},
		{5, &started, nil, noon, 5000}, // at least a millisecond
	} {
		if got := rate(tt.done, tt.started, tt.finished, tt.now); got != tt.want {
			t.Errorf("%d drafts: rate %g, want %g", tt.done, got, tt.want)
		}
	}
}
