package api_test

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"tapeline/api"
	"tapeline/service"
)

// worn waits for the end of a proof.
func (b *bench) worn(p api.Proof) api.Proof {
	b.Helper()
	b.within(3*time.Minute, "the proof", func() bool {
		b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
		return !p.FinishedAt.IsZero()
	})
	return p
}

// A sample of the panel is tried on in every fit. The revision stays what it was: that
// it fits proves no choice.
func TestProofAsWorn(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(bodice(60)).Revision
	p := b.startProof(r, object{"bodies": "panel", "worn": object{"sample": 1, "cures": true}})
	if p.Worn == nil || p.Worn.Sample != 1 || !p.Worn.Cures || p.Worn.Level != api.FittingLevelQuick || p.Report != nil {
		t.Errorf("started: %+v", p)
	}
	p = b.worn(p)
	w := p.WornReport
	if p.Status != api.ProofStatusDone || w == nil || p.Report != nil || p.Engine != "test" || p.Done != p.Total {
		t.Fatalf("proof: %+v", p)
	}
	tried := w.Counts.Fit + w.Counts.Found + w.Counts.Unsettled
	if tried+w.Counts.Refused != p.Total || w.Counts.Failed > 0 || tried < p.Total/2 || len(w.Variants) != p.Total {
		t.Errorf("report: %+v", w)
	}
	if w.Counts.Cured > w.Counts.Found || len(w.Uncured) == 0 && w.Counts.Cured < w.Counts.Found {
		t.Errorf("%+v, with the cures %+v", w.Counts, w.Uncured)
	}
	for _, f := range w.Findings {
		if f.Count < 1 || f.Worst.Value <= f.Worst.Limit && f.Worst.Kind != api.FittingFindingKindNotPutOn ||
			f.Worst.Words == "" || f.Draft.Body == "" {
			t.Errorf("finding: %+v", f)
		}
	}
	if !slices.IsSortedFunc(w.Findings, func(a, b api.WornFinding) int { return b.Count - a.Count }) {
		t.Errorf("not the most frequent first: %+v", w.Findings)
	}
	var made api.StyleRevisionDetail
	b.get(revisionPath(r)).want(http.StatusOK, &made)
	if made.Revision.Status != api.StyleStatusDraft {
		t.Errorf("it proved the revision: %+v", made.Revision)
	}
	b.post(revisionPath(r)+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
	b.get("/v1/style-proofs/"+p.ID.String()+"/picture").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	// Neither does a worn proof take a proof away.
	done := b.prove(r, crowd(20))
	b.worn(b.startProof(r, crowd(3).with("worn", object{"sample": 1, "cloth": "denim"})))
	b.get(revisionPath(r)).want(http.StatusOK, &made)
	if made.Revision.Status != api.StyleStatusProved || made.Revision.ProofID != done.ID {
		t.Errorf("after a worn proof: %+v", made.Revision)
	}
}

// A worn proof goes on with another process where it was left, every draft counted
// once, and another is cancelled.
func TestProofAsWornSurvivesARestart(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(bodice(60)).Revision
	p := b.begun(b.startProof(r, crowd(3).with("worn", object{"sample": 3})))
	now, cancel := context.WithCancel(t.Context())
	cancel()
	b.must(b.service.Stop(now)) // in the middle of a step
	b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
	if p.Status == api.ProofStatusDone {
		t.Fatal("it was done before the restart")
	}
	left := p.Done
	b.another()
	p = b.worn(p)
	c := p.WornReport.Counts
	if n := c.Fit + c.Found + c.Unsettled + c.Refused + c.Failed; n != p.Total || c.Failed > 0 || left == 0 {
		t.Errorf("from %d: %+v of %d", left, c, p.Total)
	}
	long := b.begun(b.startProof(r, object{"bodies": "panel", "worn": object{"sample": 150, "level": "full"}}))
	b.post("/v1/style-proofs/"+long.ID.String()+"/cancel", nil).want(http.StatusOK, &long)
	if long.Status != api.ProofStatusCancelled || long.WornReport != nil {
		t.Errorf("cancelled: %+v", long)
	}
}

func TestProofAsWornRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(bodice(60)).Revision
	b.ready("LL-1")
	for pointer, body := range map[string]object{
		"#/worn/cloth":  {"bodies": "panel", "worn": object{"cloth": "tarpaulin"}},
		"#/worn/level":  {"bodies": "panel", "worn": object{"level": "exact"}},
		"#/worn/sample": {"bodies": "panel", "worn": object{"sample": 0}},
		"#/bodies":      {"bodies": "customers", "worn": object{}},
	} {
		status, code := http.StatusBadRequest, api.ProblemCodeInvalidRequest
		if pointer == "#/bodies" {
			status, code = http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput
		}
		got := b.as(service.RoleStaff, "POST", revisionPath(r)+"/proofs", body)
		if p := got.problem(status, code); len(p.Errors) != 1 || p.Errors[0].Pointer != pointer {
			t.Errorf("%s: %s", pointer, got.body)
		}
	}
	// A kind that is not tried on: every draft says so, none fails.
	script, err := b.service.Styles.Script(t.Context(), service.Caller{Shop: b.shop.ID}, "dolman-jacket", 0)
	b.must(err)
	own := strings.NewReplacer(`"dolman-jacket"`, `"own-jacket"`, `, name = "shoulder point"`, "").Replace(script)
	p := b.worn(b.startProof(b.upload(own).Revision, object{"bodies": "panel", "worn": object{"sample": 2}}))
	if c := p.WornReport.Counts; c.Refused != p.Total || c.Failed > 0 ||
		!strings.Contains(p.WornReport.Reasons[0].Reason, "marks the shoulder point") {
		t.Errorf("sleeves without a shoulder point: %+v", p.WornReport)
	}
}
