package api_test

import (
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/db/query"
	"tapeline/drafting/style"
	"tapeline/service"
)

// tabard is a shop's own style. It fails for one depth of neck, between the ends
// at which a proof tries it.
const tabard = `
style(
    slug = "tabard", title = "Tabard", block = "straight",
    draft = {"length": "hip", "sleeve": "none"},
    fits = [fit("easy", like = "loose"), fit("trim", like = "regular")],
    choices = [
        choice("drop", "How much lower the neck is in front.", length = (0, 60), default = 20),
        choice("lined", "A lining is cut too."),
        choice("pockets", "How many.", count = (0, 2), default = 1),
    ],
    allowances = {"default": 10, "hem": 20},
)

def make(body, ease, choose, block):
    front = drop(block.front, "neckline", centre_front = choose.drop) if choose.drop > 0 else block.front
    if choose.drop == 13:
        front = drop(front, "pocket_mouth", centre_front = 5)
    return garment([block.back, front], [
        seam("back/shoulder", "front/shoulder", how = "eased",
            ease = length(block.back, "shoulder") - length(front, "shoulder")),
        seam("back/side", "front/side"),
    ], ["Sew the shoulders, then the sides."])
`

// upload stores a script as the next revision of a shop's own style.
func (b *bench) upload(script string) api.StyleRevisionDetail {
	b.Helper()
	var made api.StyleRevisionDetail
	b.as(service.RoleStaff, "POST", "/v1/styles", object{"script": script}).want(http.StatusCreated, &made)
	return made
}

// prove proves a revision and waits for the end.
func (b *bench) prove(revision api.StyleRevision, on object) api.Proof {
	b.Helper()
	var p api.Proof
	b.as(service.RoleStaff, "POST", revisionPath(revision)+"/proofs", on).want(http.StatusAccepted, &p)
	b.eventually("the proof", func() bool {
		b.get("/v1/style-proofs/"+p.ID.String()).want(http.StatusOK, &p)
		return !p.FinishedAt.IsZero()
	})
	return p
}

func revisionPath(r api.StyleRevision) string {
	return fmt.Sprintf("/v1/styles/%s/revisions/%d", r.Slug, r.Number)
}

// mara is one body, on which a style is proved quickly.
var mara = object{"bodies": "file",
	"csv": "name,bust_girth,waist_girth,hip_girth,neck_base_girth,shoulder_length,back_width,nape_to_waist," +
		"waist_to_hip,upper_arm_girth,wrist_girth,arm_length\n" +
		"Mara,92,74,98,37,12.6,35,41,20.5,29,16,58\n"}

// publish uploads a script, proves it on enough bodies and
// publishes it.
func (b *bench) publish(script string) (number int, hash string) {
	b.Helper()
	r := b.upload(script).Revision
	if p := b.prove(r, crowd(20)); p.Status != api.ProofStatusDone || p.Report.Counts.Failed > 0 {
		b.Fatalf("proof: %+v", p)
	}
	b.as(service.RoleStaff, "POST", revisionPath(r)+"/publish", nil).want(http.StatusOK, &r)
	return r.Number, r.Hash
}

// styleOrder is an order for a style, measurements in full.
func styleOrder(reference, slug string) object {
	return sampleOrder(reference).with("block", nil).with("style", slug).with("fit", nil).with("choices",
		nil).with("allowances", nil)
}

func TestOrderForABuiltInStyle(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	var o api.Order
	b.order(styleOrder("LL-1", "torso-toile").with("choices", object{"sleeve": "elbow"}), "a").want(http.StatusCreated, &o)
	builtin, _ := style.Builtin("torso-toile")
	if o.Style != "torso-toile" || o.StyleHash != builtin.Hash || o.StyleRevision != 0 || o.Block != "" ||
		o.Fit != builtin.Head.Fits[0].Name {
		t.Errorf("placed: %+v", o)
	}
	hook.await(b, "order.ready", o.ID)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		t.Fatalf("settled: %s %+v", o.Status, o.Reasons)
	}
	// Its script is stored, to the byte.
	hash, _ := hex.DecodeString(o.StyleHash)
	if script, err := b.store.Script(t.Context(), hash); err != nil || script != builtin.Source() {
		t.Errorf("stored script: %v", err)
	}
	path := "/v1/orders/" + o.ID.String()
	var revisions api.DraftRevisionList
	b.get(path+"/revisions").want(http.StatusOK, &revisions)
	if d := revisions.Items[0]; d.Style != "torso-toile" || d.StyleHash != builtin.Hash || d.Block != "" {
		t.Errorf("draft revision: %+v", d)
	}
	b.get(path+"/pattern.pdf").want(http.StatusOK, nil)
	// Revised and drafted again, it is the same script.
	b.post(path+"/revise", object{"reason": "longer sleeve", "choices": object{"sleeve": "full"}}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.Revision != 2 || o.StyleHash != builtin.Hash {
		t.Errorf("revised: %+v", o)
	}
	b.placed("LL-2")
	for query, want := range map[string]int{"style=torso-toile": 1, "style=shift-dress": 0, "block=torso": 1} {
		var page api.OrderList
		b.get("/v1/orders?"+query).want(http.StatusOK, &page)
		if len(page.Items) != want {
			t.Errorf("%s gives %d orders, want %d", query, len(page.Items), want)
		}
	}
}

// What an order says of its style is checked before anything is drafted, with
// all that is wrong beside it.
func TestStyleOrdersRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.publish(tabard)
	toile, own := styleOrder("LL-1", "torso-toile"), styleOrder("LL-1", "tabard")
	for name, tt := range map[string]struct {
		order    object
		status   int
		pointers []string
	}{
		"no such style": {toile.with("style", "torso-toyle").with("measurements",
			figure().with("waist_girth", 7400)), 422, []string{"#/style", "#/measurements/waist_girth"}},
		"a block too":           {toile.with("block", "torso"), 400, []string{"#/block"}},
		"a revision alone":      {toile.with("style", nil).with("style_revision", 1), 400, []string{"#/style_revision"}},
		"a built-in's revision": {toile.with("style_revision", 1), 422, []string{"#/style_revision"}},
		"no such revision":      {own.with("style_revision", 2), 422, []string{"#/style_revision"}},
		"not a slug":            {toile.with("style", "Torso Toile"), 400, []string{"#/style"}},
		"choices, fit and waist": {own.with("fit", "close").with("choices",
			object{"drop": 9, "lined": "maybe", "pockets": 1.5, "hem": 3}).with("measurements",
			figure().with("waist_girth", 7400)), 422, []string{"#/measurements/waist_girth", "#/fit", "#/choices/drop",
			"#/choices/hem", "#/choices/lined", "#/choices/pockets"}},
	} {
		r := b.order(tt.order, uuid.NewString())
		code := api.ProblemCodeInvalidInput
		if tt.status == http.StatusBadRequest {
			code = api.ProblemCodeInvalidRequest
		}
		p := r.problem(tt.status, code)
		var got []string
		for _, e := range p.Errors {
			got = append(got, e.Pointer)
		}
		slices.Sort(got)
		got = slices.Compact(got) // one number may be out of limits and implausible too
		slices.Sort(tt.pointers)
		if !slices.Equal(got, tt.pointers) {
			t.Errorf("%s: errors at %v, want %v: %s", name, got, tt.pointers, r.body)
		}
	}
	var orders api.OrderList
	b.get("/v1/orders").want(http.StatusOK, &orders)
	if len(orders.Items) != 0 {
		t.Errorf("%d orders were stored", len(orders.Items))
	}
}

// An order keeps the revision that was published when it was accepted.
func TestOrderPinsTheRevisionOfAnOwnStyle(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, first := b.publish(tabard)
	var o api.Order
	b.order(styleOrder("LL-1", "tabard").with("choices", object{"drop": 3, "lined": true}), "a").want(http.StatusCreated,
		&o)
	if o.StyleRevision != 1 || o.StyleHash != first || o.Fit != "easy" {
		t.Errorf("placed: %+v", o)
	}
	_, second := b.publish(strings.Replace(tabard, `"hem": 20`, `"hem": 35`, 1))
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		t.Fatalf("settled: %s %+v", o.Status, o.Reasons)
	}
	path := "/v1/orders/" + o.ID.String()
	b.post(path+"/revise", object{"reason": "less neck", "choices": object{"drop": 2}}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.StyleRevision != 1 || o.StyleHash != first || o.Revision != 2 {
		t.Errorf("drafted again: %+v", o)
	}
	var later api.Order
	b.order(styleOrder("LL-2", "tabard"), "b").want(http.StatusCreated, &later)
	if later.StyleRevision != 2 || later.StyleHash != second {
		t.Errorf("the slug alone: %+v", later)
	}
	b.order(styleOrder("LL-3", "tabard").with("style_revision", 1), "c").want(http.StatusCreated, &later)
	if later.StyleRevision != 1 || later.StyleHash != first {
		t.Errorf("by its revision: %+v", later)
	}
	// The new hem is taken up where somebody asks for it.
	b.post(path+"/revise", object{"reason": "deeper hem", "style": "tabard"}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.StyleRevision != 2 || o.StyleHash != second || o.Revision != 3 || o.Choices["drop"] != 2.0 {
		t.Errorf("taken up: %+v", o)
	}
	// Another shop has no such style.
	key := b.otherShop(service.RoleShop)
	r := b.do(call{method: "POST", path: "/v1/orders", key: key, body: styleOrder("LL-1", "tabard"),
		header: map[string]string{"Idempotency-Key": "o"}})
	if p := r.problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput); p.Errors[0].Pointer != "#/style" {
		t.Errorf("another shop: %+v", p)
	}
}

// A script that fails on an order holds that order, and names the line.
func TestStyleThatFailsHoldsTheOrder(t *testing.T) {
	t.Parallel()
	b := setup(t)
	hook := b.listen()
	b.publish(tabard)
	var o api.Order
	b.order(styleOrder("LL-1", "tabard").with("choices", object{"drop": 1.3}), "a").want(http.StatusCreated, &o)
	e := hook.await(b, "order.held", o.ID)
	if len(e.Data.ReasonCodes) == 0 || e.Data.ReasonCodes[0] != "style_failed" {
		t.Errorf("event: %+v", e.Data)
	}
	o = b.settled(o.ID)
	if o.Status != api.OrderStatusHeld || len(o.Reasons) != 2 || o.Reasons[0].Code != "style_failed" ||
		o.Reasons[1].Pointer != "#/style" ||
		!strings.Contains(o.Reasons[1].Detail, "line 17") || !strings.Contains(o.Reasons[1].Detail, "front") ||
		!strings.Contains(o.Reasons[1].Detail, "pocket_mouth") {
		t.Errorf("held: %s %+v", o.Status, o.Reasons)
	}
	b.post("/v1/orders/"+o.ID.String()+"/revise", object{"reason": "a deeper neck",
		"choices": object{"lined": true}}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		t.Errorf("revised: %s %+v", o.Status, o.Reasons)
	}
}

// Measurements can be held against what a style needs.
func TestCheckForAStyle(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.upload(strings.Replace(tabard, `block = "straight",`, `block = "straight", measures = ["head_girth"],`, 1))
	body := object{"unit": "cm", "measurements": figure(), "style": "tabard", "style_revision": 1}
	var report api.MeasurementReport
	b.post("/v1/measurements/assess", body).want(http.StatusOK, &report)
	if report.Acceptable || len(report.Findings) != 1 || report.Findings[0].Pointer != "#/measurements/head_girth" {
		t.Errorf("report: %+v", report)
	}
	b.post("/v1/measurements/assess", body.with("measurements", figure().with("head_girth", 56))).want(http.StatusOK,
		&report)
	if !report.Acceptable {
		t.Errorf("report: %+v", report)
	}
	b.post("/v1/measurements/assess", body.with("style_revision", nil)).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	b.post("/v1/measurements/assess", body.with("block", "torso")).problem(http.StatusBadRequest,
		api.ProblemCodeInvalidRequest)
}

func TestPreviewOfAStyle(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.publish(tabard)
	body := object{"unit": "cm", "measurements": figure(), "style": "tabard",
		"choices": object{"pockets": 0, "lined": false}}
	r := b.post("/v1/drafts", body).want(http.StatusOK, nil)
	if !strings.Contains(string(r.body), "Tabard, easy fit") {
		t.Errorf("pattern: %.300s", r.body)
	}
	b.post("/v1/drafts?format=svg", body.with("style", "shift-dress").with("choices", nil)).want(http.StatusOK, nil)
	b.post("/v1/drafts", body.with("style_revision", 1)).want(http.StatusOK, nil)
	p := b.post("/v1/drafts", body.with("choices", object{"drop": 1.3})).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || !strings.Contains(p.Errors[0].Detail, "line 17") {
		t.Errorf("errors: %+v", p.Errors)
	}
}

// An order for a built-in style is drafted by the script that it was accepted
// with, though the program has another by now.
func TestOrderOutlivesTheBuiltInScript(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var o api.Order
	b.order(styleOrder("LL-1", "torso-toile"), "a").want(http.StatusCreated, &o)
	o = b.settled(o.ID)
	// As if a former release had taken the order.
	builtin, _ := style.Builtin("torso-toile")
	former, err := style.Compile([]byte(strings.Replace(builtin.Source(), `title = "Torso toile"`,
		`title = "Former toile"`, 1)))
	b.must(err)
	hash, _ := hex.DecodeString(former.Hash)
	b.must(b.store.InsertScript(t.Context(), query.InsertScriptParams{Hash: hash, Script: former.Source(),
		At: o.CreatedAt}))
	_, err = b.store.Pool().Exec(t.Context(),
		`UPDATE orders SET spec = spec || jsonb_build_object('style_hash', $2::text) WHERE id = $1`, o.ID, former.Hash)
	b.must(err)
	path := "/v1/orders/" + o.ID.String()
	b.post(path+"/revise", object{"reason": "again"}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.Revision != 2 || o.StyleHash != former.Hash {
		t.Fatalf("revised: %+v", o)
	}
	if r := b.get(path+"/pattern.json").want(http.StatusOK, nil); !strings.Contains(string(r.body), "Former toile") {
		t.Errorf("drafted by another script: %.200s", r.body)
	}
	// Requested by its slug it is the one of today.
	b.post(path+"/revise", object{"reason": "as it is now", "style": "torso-toile"}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.StyleHash != builtin.Hash || o.Revision != 3 {
		t.Errorf("taken up: %+v", o)
	}
	// A stored script that this program can no longer read is a fault of the order.
	_, err = b.store.Pool().Exec(t.Context(), `
		WITH gone AS (INSERT INTO style_scripts VALUES (sha256('style(word = 1)'), 'style(word = 1)', now()) RETURNING hash)
		UPDATE orders SET spec = spec || jsonb_build_object('style_hash', encode((SELECT hash FROM gone), 'hex'))
		WHERE id = $1`, o.ID)
	b.must(err)
	if p := b.post(path+"/revise", object{"reason": "again"}).problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput); p.Errors[0].Line != 1 {
		t.Errorf("unreadable: %+v", p.Errors)
	}
	b.post(path+"/hold", object{"reason": "later"}).want(http.StatusOK, nil)
	b.post(path+"/confirm", object{"reason": "now"}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusHeld || o.Reasons[0].Code != "style_failed" ||
		o.Reasons[1].Line != 1 {
		t.Errorf("held: %s %+v", o.Status, o.Reasons)
	}
}
