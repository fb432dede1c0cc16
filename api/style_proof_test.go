package api_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"tapeline/api"
	"tapeline/service"
	"tapeline/service/app"
)

// crowd returns a file of n bodies, each a little larger than the one before it.
func crowd(n int) object {
	var csv strings.Builder
	csv.WriteString(strings.SplitAfterN(mara["csv"].(string), "\n", 2)[0])
	for i := range n {
		fmt.Fprintf(&csv, "P%d,%.1f,74,98,37,12.6,35,41,20.5,29,16,58\n", i, 90+float64(i%100)/50)
	}
	return object{"bodies": "file", "csv": csv.String()}
}

func (b *bench) startProof(r api.StyleRevision, on object) api.Proof {
	b.Helper()
	var p api.Proof
	b.as(service.RoleStaff, "POST", revisionPath(r)+"/proofs", on).want(http.StatusAccepted, &p)
	return p
}

// begun waits until a proof has counted something.
func (b *bench) begun(p api.Proof) api.Proof {
	b.Helper()
	b.eventually("the proof to begin", func() bool {
		b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
		return p.Done > 0
	})
	return p
}

// tabardVariants is the number of variants in which the tabard is proved: in two
// fits its 8 ends, and 12 mixes.
const tabardVariants = 2*8 + 12

func TestProofOnThePanel(t *testing.T) {
	t.Parallel()
	b := setup(t)
	one := tabard[:strings.Index(tabard, "    choices = [")] + tabard[strings.Index(tabard, "    allowances"):]
	one = strings.NewReplacer("drop(block.front, \"neckline\", centre_front = choose.drop) if choose.drop > 0 else "+
		"block.front", "block.front", "choose.drop == 13", "False").Replace(one)
	r := b.upload(one).Revision
	p := b.startProof(r, object{"bodies": "panel"})
	if p.Status != api.ProofStatusWaiting || p.Total < 2*150 || p.Done != 0 {
		t.Errorf("started: %+v", p)
	}
	b.within(2*time.Minute, "the proof", func() bool {
		b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
		return p.Status == api.ProofStatusDone
	})
	if c := p.Report.Counts; p.Engine != "test" || c.Failed != 0 || c.Drafted+c.Refused != p.Total ||
		c.Drafted < p.Total*99/100 {
		t.Errorf("report: %+v, %+v", c, p.Report.Refusals)
	}
	if !strings.Contains(p.Report.Cloth.Min.Draft.Body, "bust 76,") ||
		!strings.Contains(p.Report.Cloth.Max.Draft.Body, "men, bust 144,") || p.Report.Sheets.Min.Value < 3 {
		t.Errorf("cloth %+v, sheets %+v", p.Report.Cloth, p.Report.Sheets)
	}
	least, most := b.get("/v1/style-proofs/"+p.ID.String()+"/picture?of=min_cloth").want(http.StatusOK, nil),
		b.get("/v1/style-proofs/"+p.ID.String()+"/picture").want(http.StatusOK, nil)
	if !strings.Contains(string(least.body), "<svg") || string(least.body) == string(most.body) ||
		most.header.Get("Content-Type") != "image/svg+xml" {
		t.Errorf("pictures: %.100s", least.body)
	}
	var list api.ProofList
	b.get(revisionPath(r)+"/proofs").want(http.StatusOK, &list)
	if len(list.Items) != 1 || list.Items[0].ID != p.ID {
		t.Errorf("proofs: %+v", list.Items)
	}
}

// What is stored of a proof on customers names no measurement, and an erased
// customer is not in it at all.
func TestProofOnCustomers(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(strings.Replace(tabard, "    front = drop",
		`    require(body.bust_girth < 1000, "a bust of %d mm is too much" % body.bust_girth, about = ["bust_girth"])`+
			"\n    front = drop", 1)).Revision
	p := b.as(service.RoleStaff, "POST", revisionPath(r)+"/proofs",
		object{"bodies": "customers"}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Pointer != "#/bodies" {
		t.Errorf("without customers: %+v", p.Errors)
	}
	b.ready("LL-1")
	var large, erased api.Order
	b.order(sampleOrder("LL-2").with("measurements", figure().with("bust_girth", 103).with("waist_girth",
		84).with("hip_girth", 109)), "b").want(http.StatusCreated, &large)
	b.order(sampleOrder("LL-3"), "c").want(http.StatusCreated, &erased)
	b.settled(erased.ID)
	b.post("/v1/customers/"+erased.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)
	done := b.prove(r, object{"bodies": "customers"})
	if done.Status != api.ProofStatusDone || done.Total != 2*tabardVariants ||
		done.Report.Counts.Drafted != tabardVariants ||
		done.Report.Counts.Refused != tabardVariants {
		t.Fatalf("proof: %+v", done)
	}
	refusal := done.Report.Refusals[0]
	if refusal.Count != tabardVariants || len(refusal.Drafts) != 10 ||
		refusal.Drafts[0].Body != large.MeasurementSetID.String() ||
		strings.ContainsAny(strings.ReplaceAll(refusal.Reason, "#", ""), "0123456789") {
		t.Errorf("refusal: %+v", refusal)
	}
	if done.Report.Cloth.Max.Draft.Body != "" {
		t.Errorf("tells who is the largest: %+v", done.Report.Cloth)
	}
	stored, err := b.store.ProofWork(t.Context(), done.ID)
	if err != nil || stored.BodyRows != nil || stored.Counted != nil ||
		strings.Contains(string(stored.ShopStyleProof.Result), "1030") ||
		strings.Contains(string(stored.ShopStyleProof.Result), erased.MeasurementSetID.String()) {
		t.Errorf("stored: %v %s", err, stored.ShopStyleProof.Result)
	}
}

func TestProofIsCancelled(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(tabard).Revision
	p := b.begun(b.startProof(r, crowd(2000)))
	if p.Status != api.ProofStatusRunning || p.Rate <= 0 || p.Report != nil {
		t.Errorf("running: %+v", p)
	}
	// Meanwhile everything else goes on.
	b.ready("LL-1")
	b.post(revisionPath(r)+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
	// Three are as many as may be under way.
	b.startProof(r, crowd(2000))
	third := b.startProof(r, crowd(2000))
	b.as(service.RoleStaff, "POST", revisionPath(r)+"/proofs", crowd(1)).problem(http.StatusConflict,
		api.ProblemCodeLimitReached)
	for range 2 {
		b.post("/v1/style-proofs/"+p.ID.String()+"/cancel", nil).want(http.StatusOK, &p)
		if p.Status != api.ProofStatusCancelled || p.Report != nil {
			t.Errorf("cancelled: %+v", p)
		}
	}
	b.post("/v1/style-proofs/"+third.ID.String()+"/cancel", nil).want(http.StatusOK, nil)
	at := p.Done
	b.eventually("the proof's job to end", func() bool {
		var jobs int
		b.must(b.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM river_job
			WHERE kind = 'prove' AND finalized_at IS NULL AND args ->> 'proof_id' = $1::text`, p.ID.String()).Scan(&jobs))
		return jobs == 0
	})
	if b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p); p.Done != at {
		t.Errorf("it went on from %d to %d", at, p.Done)
	}
	row, err := b.store.ProofWork(t.Context(), p.ID)
	if err != nil || row.BodyRows != nil {
		t.Errorf("its bodies are still there: %v", err)
	}
}

// A proof goes on with another process where it was left, every draft counted
// once.
func TestProofSurvivesARestart(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(tabard).Revision
	bodies := 150 * max(1, runtime.GOMAXPROCS(0)-1) // some seconds' work
	p := b.begun(b.startProof(r, crowd(bodies)))
	now, cancel := context.WithCancel(t.Context())
	cancel()
	b.must(b.service.Stop(now)) // in the middle of a step
	b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
	if p.Status == api.ProofStatusDone {
		t.Fatal("it was done before the restart")
	}
	b.another()
	b.within(2*time.Minute, "the proof after the restart", func() bool {
		b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
		return p.Status == api.ProofStatusDone
	})
	if c := p.Report.Counts; c.Drafted != bodies*tabardVariants || p.Done != p.Total {
		t.Errorf("report: %+v", c)
	}
	for _, v := range p.Report.Variants {
		if v.Counts.Drafted != bodies {
			t.Errorf("%s: %+v", v.Name, v.Counts)
		}
	}
}

// another is a second process on the same database, which works on its jobs.
func (b *bench) another() {
	b.Helper()
	second, err := app.Open(b.store, app.Config{Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		Registry: prometheus.NewRegistry(), Version: "test"})
	b.must(err)
	b.must(second.Start(context.WithoutCancel(b.Context())))
	b.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := second.Stop(ctx); err != nil {
			b.Errorf("stop jobs: %v", err)
		}
	})
}

// Who is erased before a proof comes to them is not drafted.
func TestProofLeavesTheErasedOut(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(tabard).Revision
	b.ready("LL-1")
	gone := b.ready("LL-2")
	stop, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	b.must(b.service.Stop(stop))
	p := b.startProof(r, object{"bodies": "customers"})
	b.post("/v1/customers/"+gone.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)
	b.another()
	b.eventually("the proof", func() bool {
		b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
		return p.Status == api.ProofStatusDone
	})
	if c := p.Report.Counts; c.Drafted != tabardVariants || c.Refused != tabardVariants ||
		!strings.Contains(p.Report.Refusals[0].Reason, "erased") {
		t.Errorf("report: %+v, %+v", c, p.Report.Refusals)
	}
}

func TestProofsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(tabard).Revision
	for name, tt := range map[string]struct {
		body    object
		status  int
		code    api.ProblemCode
		pointer string
	}{
		"no file":         {object{"bodies": "file"}, 400, api.ProblemCodeInvalidRequest, "#/csv"},
		"a file too many": {object{"bodies": "panel", "csv": "x"}, 400, api.ProblemCodeInvalidRequest, "#/csv"},
		"no such bodies":  {object{"bodies": "men"}, 400, api.ProblemCodeInvalidRequest, "#/bodies"},
		"no measurement":  {object{"bodies": "file", "csv": "name\nMara\n"}, 422, api.ProblemCodeInvalidInput, "#/csv"},
		"no row":          {object{"bodies": "file", "csv": "bust_girth\n"}, 422, api.ProblemCodeInvalidInput, "#/csv"},
		"not CSV":         {object{"bodies": "file", "csv": "bust_girth\n\"9"}, 422, api.ProblemCodeInvalidInput, "#/csv"},
		"too many":        {crowd(20_000), 422, api.ProblemCodeInvalidInput, "#/bodies"},
	} {
		got := b.as(service.RoleStaff, "POST", revisionPath(r)+"/proofs", tt.body)
		if p := got.problem(tt.status, tt.code); len(p.Errors) != 1 || p.Errors[0].Pointer != tt.pointer {
			t.Errorf("%s: %s", name, got.body)
		}
	}
	b.as(service.RoleStaff, "POST", revisionPath(r)+"/proofs",
		object{"bodies": "file", "csv": strings.Repeat("bust_girth\n", 400_000)}).
		problem(http.StatusRequestEntityTooLarge, api.ProblemCodeBodyTooLarge)
	b.as(service.RoleShop, "POST", revisionPath(r)+"/proofs", mara).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	b.get("/v1/style-proofs/"+b.prove(r, mara).ID.String()+"/picture").problem(http.StatusNotFound,
		api.ProblemCodeNotFound)
	// A cell that is no number is refused as that body, not as a fault of ours.
	odd := b.prove(r, object{"bodies": "file", "csv": strings.Replace(mara["csv"].(string), "Mara,92", "Mara,NaN", 1)})
	if odd.Report.Counts.Refused != tabardVariants || !strings.Contains(odd.Report.Refusals[0].Reason, "a number") {
		t.Errorf("NaN: %+v", odd.Report)
	}
}
