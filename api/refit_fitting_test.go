package api_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/db"
	"tapeline/service"
)

// bodice is a style without sleeves whose bust has that many mm of ease.
func bodice(ease int) string {
	return fmt.Sprintf(`style(
    slug = "bodice",
    title = "Bodice",
    about = "A bodice that closes in front.",
    block = "torso",
    draft = lambda body, ease, choose: {"length": "hip", "sleeve": "none", "centre_front": "seam",
        "ease": {"bust_girth": %d}},
    cloths = ["shirting"],
    allowances = {"seam": 15, "hem": 20, "neckline": 8, "armhole": 8},
)

def make(body, ease, choose, block):
    front, back = block.front, block.back
    let_pass(["front/neckline", "back/neckline"], "head", closing = ["front/centre_front"])
    let_pass(["front/armhole", "back/armhole"], "arm")
    return garment([back, front], [
        seam("back/shoulder", "front/shoulder", how = "eased",
            ease = length(back, "shoulder") - length(front, "shoulder")),
        seam("back/side", "front/side"),
        seam("front/centre_front"),
    ], ["Sew the shoulders and the sides, and hem all edges."])
`, ease)
}

// bodiced publishes a bodice and places an order of it.
func (b *bench) bodiced(ease int, reference string) api.Order {
	b.Helper()
	b.publish(bodice(ease))
	var o api.Order
	b.order(styleOrder(reference, "bodice").with("measurements", figure().with("height", 168).
		with("under_bust_girth", 79)), uuid.NewString()).want(http.StatusCreated, &o)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady {
		b.Fatalf("order is %s: %+v", o.Status, o.Reasons)
	}
	return o
}

// tryRefitOn has orders of a refit tried on and waits until all are.
func (b *bench) tryRefitOn(id uuid.UUID, body object) api.Refit {
	b.Helper()
	var r api.Refit
	b.as(service.RoleStaff, "POST", "/v1/refits/"+id.String()+"/fittings", body).want(http.StatusAccepted, &r)
	if r.Fittings == nil || r.Fittings.States["queued"] == 0 {
		b.Errorf("begun: %+v", r.Fittings)
	}
	b.within(3*time.Minute, "the fittings of the refit", func() bool {
		b.get("/v1/refits/"+id.String()).want(http.StatusOK, &r)
		return r.Fittings.States["queued"] == 0
	})
	return r
}

// A bodice cut 20 mm smaller than the body, and a revision of it with 20 mm less: the
// bust is tighter by what geometry says, the share of 20 mm in the girth as cut.
func TestRefitSaysWhatItDoesToTheFit(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.bodiced(-20, "LL-1")
	b.publish(bodice(-40))
	r := b.refit(object{"style": object{"style": "bodice"}}, nil)
	r = b.tryRefitOn(r.ID, object{"level": "quick"})
	found := b.refitOrder(r.ID, o.ID)
	f := found.Fitting
	if f == nil || f.State != api.FittingStateReady || !f.Settled ||
		f.Level != api.FittingLevelQuick || f.Engine != "test" {
		t.Fatalf("fitting: %+v of %+v", f, r.Fittings)
	}
	said, _ := json.Marshal(f)
	t.Logf("fitting: %s", said)
	i := slices.IndexFunc(f.Girths, func(g api.RefitGirths) bool { return g.Name == "bust" })
	j := slices.IndexFunc(f.Changes, func(c api.FittingChange) bool {
		return c.Kind == api.FittingFindingKindTight && c.Place == "bust"
	})
	if i < 0 || j < 0 {
		t.Fatalf("no bust among %+v, %+v", f.Changes, f.Girths)
	}
	c := f.Changes[j]
	if c.Effect != api.FittingEffectTighter || c.Before == nil || c.After == nil ||
		f.Changes[0].Effect == api.FittingEffectSame {
		t.Fatalf("bust: %+v", c)
	}
	// The body's 920 mm over the 880 as cut, less the same over 900: 2.3 %. Front and back share it unevenly.
	if grown, want := *c.After-*c.Before, 100*(920/880.0-920/900.0); math.Abs(grown-want) > 0.8 {
		t.Errorf("the strain at the bust grows by %.2f %%, want %.2f", grown, want)
	}
	place := r.Fittings.Places[0]
	if place.OrderID != o.ID || place.Reference != "LL-1" || place.Effects[string(place.Worst.Effect)] != 1 ||
		len(r.Fittings.Orders) != 1 || r.Fittings.Orders[0].Fitting == nil {
		t.Errorf("summed up: %+v", r.Fittings)
	}
	b.refitPictures(r, o)
	// A decision is not held up by it, and what was found stays.
	b.apply(r.ID, object{"apply": "none"})
	if found = b.refitOrder(r.ID, o.ID); found.Fitting == nil {
		t.Error("the decision took what was found")
	}
	if got := b.audited(); !slices.Contains(got, "refit.tried_on") {
		t.Errorf("audit: %v", got)
	}
	var x api.CustomerExport
	b.get("/v1/customers/"+o.CustomerID.String()+"/export").want(http.StatusOK, &x)
	if !slices.ContainsFunc(x.Orders[0].Refits, func(r api.RefitOrder) bool { return r.Fitting != nil }) {
		t.Error("the export lacks it")
	}
	if b.dump("worn_girth_mm") == nil {
		t.Error("the dump has no report before the erasure: the test is wrong")
	}
	b.post("/v1/customers/"+o.CustomerID.String()+"/erasure", nil).want(http.StatusOK, nil)
	if found = b.refitOrder(r.ID, o.ID); found.Fitting != nil || b.dump("worn_girth_mm") != nil {
		t.Errorf("after the erasure: %+v, %v", found.Fitting, b.dump("worn_girth_mm"))
	}
}

// An order that another release drafted 20 mm smaller: a refit to this release says that
// the bust becomes looser by as much, and a fitting shows the draft that is handed out.
func TestRefitToThisReleaseIsTriedOn(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.bodiced(-20, "LL-1")
	smaller := b.bodiced(-40, "LL-2")
	b.must(b.store.InTx(t.Context(), func(tx *db.Tx) error {
		if _, err := tx.Raw().Exec(t.Context(), "SET LOCAL session_replication_role = replica"); err != nil {
			return err
		}
		_, err := tx.Raw().Exec(t.Context(), `
			UPDATE draft_revisions d SET engine = 'earlier', document = s.document, hash = s.hash
			FROM draft_revisions s WHERE d.order_id = $1 AND s.order_id = $2`, o.ID, smaller.ID)
		return err
	}))
	strain := func(f *api.FittingReport) float64 {
		i := slices.IndexFunc(f.Findings, func(x api.FittingFinding) bool {
			return x.Kind == api.FittingFindingKindTight && x.Place == "bust"
		})
		if i < 0 {
			t.Fatalf("no bust among %+v", f.Findings)
		}
		return f.Findings[i].Value
	}
	stored := b.fitted(b.tryOn(o.ID))
	if other := b.fitted(b.tryOn(smaller.ID)); strain(stored.Report) != strain(other.Report) {
		t.Errorf("strain %v of the stored draft, %v of the one it was copied from", strain(stored.Report),
			strain(other.Report))
	}
	r := b.refit(object{"engine": object{}}, object{"orders": []any{o.ID}})
	b.tryRefitOn(r.ID, object{"level": "quick"})
	f := b.refitOrder(r.ID, o.ID).Fitting
	if f == nil || f.State != api.FittingStateReady {
		t.Fatalf("fitting: %+v", f)
	}
	j := slices.IndexFunc(f.Changes, func(c api.FittingChange) bool {
		return c.Kind == api.FittingFindingKindTight && c.Place == "bust"
	})
	if j < 0 || f.Changes[j].Effect != api.FittingEffectLooser {
		t.Fatalf("changes: %+v", f.Changes)
	}
	if eased, want := *f.Changes[j].Before-*f.Changes[j].After, 100*(920/880.0-920/900.0); math.Abs(eased-want) > 0.8 {
		t.Errorf("the strain at the bust shrinks by %.2f %%, want %.2f", eased, want)
	}
}

func (b *bench) refitPictures(r api.Refit, o api.Order) {
	b.Helper()
	path := "/v1/refits/" + r.ID.String() + "/orders/" + o.ID.String() + "/fitting."
	for format, begins := range map[string]string{"svg": "<?xml", "png": "\x89PNG", "pdf": "%PDF"} {
		got := b.get(path+format).want(http.StatusOK, nil)
		if !strings.HasPrefix(string(got.body), begins) || len(got.body) < 50_000 {
			b.Errorf("%s: %d bytes: %.60q", format, len(got.body), got.body)
		}
		b.do(call{method: "GET", path: path + format, key: b.keys[service.RoleStaff],
			header: map[string]string{"If-None-Match": got.header.Get("ETag")}}).want(http.StatusNotModified, nil)
	}
}

// A sample is bounded and spread, waits behind nothing of the orders, can be cancelled,
// and is taken again.
func TestRefitFittingsAreCancelled(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for i := range 6 {
		b.dress(fmt.Sprint("LL-", i))
	}
	r := b.refit(object{"fit": object{"style": "shift-dress", "from": "regular", "to": "loose"}}, nil)
	path := "/v1/refits/" + r.ID.String() + "/fittings"
	b.as(service.RoleStaff, "POST", path, object{"sample": 4, "level": "full"}).want(http.StatusAccepted, &r)
	if n := len(r.Fittings.Orders); n != 4 {
		t.Errorf("%d orders of a sample of 4", n)
	}
	p := b.as(service.RoleStaff, "POST", path, object{}).problem(http.StatusConflict, api.ProblemCodeWrongState)
	if !strings.Contains(p.Detail, "being tried on") {
		t.Errorf("a second request: %+v", p)
	}
	for range 2 { // the second changes nothing
		b.as(service.RoleStaff, "DELETE", path, nil).want(http.StatusOK, &r)
		if f := r.Fittings; f.States["queued"] != 0 || f.States["cancelled"] < 3 {
			t.Errorf("cancelled: %+v", f.States)
		}
	}
	b.as(service.RoleStaff, "POST", path, object{"sample": 20}).want(http.StatusAccepted, &r)
	if f := r.Fittings; len(f.Orders) != 6 || f.States["cancelled"] != 0 {
		t.Errorf("again: %+v", f.States)
	}
	// A decision needs no more of them.
	b.apply(r.ID, object{"apply": "none"})
	b.get("/v1/refits/"+r.ID.String()).want(http.StatusOK, &r)
	if f := r.Fittings; f.States["queued"] != 0 || f.States["cancelled"] == 0 {
		t.Errorf("decided: %+v", f.States)
	}
}

func TestRefitFittingsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1") // a torso: tried on
	r := b.refit(roomier(9), nil)
	path := "/v1/refits/" + r.ID.String() + "/fittings"
	for name, body := range map[string]object{
		"cloth": {"cloth": "tarpaulin"}, "level": {"level": "exact"}, "no sample": {"sample": 0}, "large": {"sample": 21},
		"unknown": {"worn": true},
	} {
		if p := b.as(service.RoleStaff, "POST", path, body).problem(http.StatusBadRequest,
			api.ProblemCodeInvalidRequest); len(p.Errors) != 1 {
			t.Errorf("%s: %+v", name, p)
		}
	}
	b.as(service.RoleShop, "POST", path, object{}).problem(http.StatusForbidden, api.ProblemCodeForbidden)
	b.as(service.RoleStaff, "POST", "/v1/refits/"+uuid.NewString()+"/fittings", object{}).problem(http.StatusNotFound,
		api.ProblemCodeNotFound)
	b.get("/v1/refits/"+r.ID.String()+"/orders/"+o.ID.String()+"/fitting.svg").problem(http.StatusNotFound,
		api.ProblemCodeNotFound)
	b.apply(r.ID, object{"apply": "all"})
	b.as(service.RoleStaff, "POST", path, object{}).problem(http.StatusConflict, api.ProblemCodeWrongState)
	for name, change := range map[string]object{"the same fit": roomier(9), "the same release": {"engine": object{}}} {
		same := b.refit(change, nil)
		p := b.as(service.RoleStaff, "POST", "/v1/refits/"+same.ID.String()+"/fittings", object{}).
			problem(http.StatusConflict, api.ProblemCodeWrongState)
		t.Log(name, p.Detail)
	}
}
