package db_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/db/pgprivate"
	"tapeline/db/query"
)

// The commands of deploy/RUNBOOK.md: a dump of one database restored into an
// empty one holds the same rows under the same rules.
func TestBackupAndRestore(t *testing.T) {
	b := setup(t)
	bin, err := pgprivate.FindBinaries(t.Context(), 0)
	if err == nil {
		_, err = os.Stat(filepath.Join(bin, "pg_dump"))
	}
	if err != nil {
		t.Skipf("no pg_dump on this machine: %v", err)
	}
	run := func(program string, args ...string) {
		t.Helper()
		if out, err := exec.Command(filepath.Join(bin, program), args...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", program, err, out)
		}
	}
	b.endpoint("order.ready")
	o := b.ready("O-1")
	b.published(b.styleRevision("field-coat", "a = 1"))
	b.messages(query.QueueMessagesParams{Type: "order.ready", OrderID: &o.ID, Body: "{}", At: noon})
	b.must(b.store.AppendAudit(t.Context(), query.AppendAuditParams{ShopID: b.shop.ID, Action: "key.created",
		SubjectType: "key", At: noon}))

	file := filepath.Join(t.TempDir(), "tapeline.dump")
	run("pg_dump", "--format=custom", "--file="+file, b.store.Pool().Config().ConnString())
	empty := dbtest.EmptyURL(t)
	run("pg_restore", "--exit-on-error", "--no-owner", "--dbname="+empty, file)

	restored := &bench{T: t, store: dbtest.Open(t, empty, db.Options{}), shop: b.shop}
	if pending, err := db.Pending(t.Context(), restored.store.Pool()); err != nil || len(pending) != 0 {
		t.Errorf("pending after the restore: %v, %v", pending, err)
	}
	before, err := b.store.DraftRevision(t.Context(), draftOf(b.shop.ID, o.ID, 1))
	b.must(err)
	after, err := restored.store.DraftRevision(t.Context(), draftOf(b.shop.ID, o.ID, 1))
	b.must(err)
	if !bytes.Equal(before.Document, after.Document) || !bytes.Equal(before.Hash, after.Hash) {
		t.Error("the draft is not the same")
	}
	for _, table := range strings.Fields(`shops api_keys customers measurement_sets orders order_events draft_revisions
		webhook_endpoints webhook_messages audit_entries style_scripts styles style_revisions style_proofs`) {
		if was, is := b.count(`SELECT count(*) FROM `+table), restored.count(`SELECT count(*) FROM `+table); was != is ||
			was == 0 {
			t.Errorf("%s: %d rows restored of %d", table, is, was)
		}
	}
	restored.refused(restored.exec(`UPDATE draft_revisions SET document = '\x00'`), "draft_revisions_immutable")
	restored.refused(restored.exec(`UPDATE orders SET status = 'failed', reason_code = NULL`), "orders_held_has_reason")
	restored.refused(restored.exec(`DELETE FROM style_revisions`), "style_revisions_immutable")
	restored.refused(restored.exec(`DELETE FROM audit_entries`), "audit_entries_append_only")
}
