package db_test

import (
	"encoding/hex"
	"encoding/json"
	"testing"
	"time"

	"tapeline/db"
	"tapeline/db/query"

	"github.com/google/uuid"
)

// Retention removes nothing that something else still needs.
func TestRetentionKeepsWhatIsInUse(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	after := noon.Add(hour)
	removed := func(what string, n int64, err error, want int64) {
		t.Helper()
		b.must(err)
		if n != want {
			t.Errorf("%s: %d removed, want %d", what, n, want)
		}
	}

	r := b.published(b.styleRevision("field-coat", "a = 1"))
	old := b.proof(r)
	b.proof(r) // is not finished
	for _, id := range []uuid.UUID{old.ID, *r.ProofID} {
		finished, err := b.store.FinishProof(ctx, query.FinishProofParams{ID: id, Status: "done",
			Result: json.RawMessage(`{}`), At: noon})
		if err != nil || finished != 1 {
			t.Fatal(finished, err)
		}
	}
	n, err := b.store.DeleteProofs(ctx, query.DeleteProofsParams{Before: after, Limit: 10})
	removed("proofs", n, err, 1)
	_, err = b.store.Proof(ctx, query.ProofParams{ShopID: b.shop.ID, ID: old.ID})
	b.notFound(err)

	hash := b.script("ordered = 1")
	b.script("forgotten = 1")
	o := b.order("O-style")
	o.Spec, err = json.Marshal(map[string]any{"style": "tabard", "style_hash": hex.EncodeToString(hash)})
	b.must(err)
	_, err = b.place(o)
	b.must(err)
	n, err = b.store.DeleteScripts(ctx, query.DeleteScriptsParams{Before: after, Limit: 10})
	removed("scripts", n, err, 1)
	if _, err := b.store.Script(ctx, hash); err != nil {
		t.Errorf("the ordered script: %v", err)
	}

	ready := b.ready("O-refit")
	refit, _, _ := b.begun(db.RefitScope{}, 20, 10)
	b.previewed(refit, "changes", ready)
	n, err = b.store.InsertRefitFittings(ctx, query.InsertRefitFittingsParams{RefitID: refit.ID, Level: "quick", At: noon,
		OrderIds: []uuid.UUID{ready.ID}})
	if err != nil || n != 1 {
		t.Errorf("%d fittings of a refit, %v; want 1", n, err)
	}
	n, err = b.store.DeleteOldRefitFittings(ctx, query.DeleteOldRefitFittingsParams{Before: after, Limit: 10})
	removed("fittings of an open refit", n, err, 0)
	n, err = b.store.EmptyComparisons(ctx, query.EmptyComparisonsParams{Before: after, Limit: 10})
	removed("comparisons of an open refit", n, err, 0)
	b.must(b.exec(`UPDATE refits SET status = 'stopped', ended_at = $1`, noon))
	n, err = b.store.EmptyComparisons(ctx, query.EmptyComparisonsParams{Before: after, Limit: 10})
	removed("comparisons", n, err, 1)
	n, err = b.store.DeleteOldRefitFittings(ctx, query.DeleteOldRefitFittingsParams{Before: after, Limit: 10})
	removed("fittings of refits", n, err, 1)
	given, err := b.store.RefitOrder(ctx,
		query.RefitOrderParams{ShopID: b.shop.ID, RefitID: refit.ID, OrderID: ready.ID})
	if row := given.RefitOrder; err != nil || row.Comparison != nil ||
		row.Finding != "changes" {
		t.Errorf("refit order: %+v, %v", row, err)
	}

	for _, age := range []time.Duration{0, 400 * 24 * hour, 1200 * 24 * hour} {
		b.must(b.store.AppendAudit(ctx, query.AppendAuditParams{ShopID: b.shop.ID, Action: "key.created", SubjectType: "key",
			At: time.Now().Add(-age)}))
	}
	n, err = b.store.DeleteAudit(ctx, query.DeleteAuditParams{Before: time.Now().Add(-1000 * 24 * hour), Limit: 10})
	removed("audit", n, err, 1)
}
