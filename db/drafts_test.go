package db_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tapeline/db/query"
)

func TestSettleDraftStoresExactlyWhatItWasGiven(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	e := b.endpoint("order.ready")
	o := b.placed("O-1")
	// Spaces, key order and digits that jsonb would not keep.
	document := []byte(`{"z": 1.50,  "a": [0.1, 1e3], "a": "twice"}` + strings.Repeat(" ", 1000))
	s := settled(o, 1, document)
	s.MessageType, s.MessageBody = new("order.ready"), new("{}")
	s.Checks = json.RawMessage(`[{"name": "bust"}]`)
	applied, err := b.settle(s)
	b.must(err)
	messages := b.queued()
	if !applied || len(messages) != 1 || messages[0].EndpointID != e.ID {
		t.Errorf("applied %v, messages %+v", applied, messages)
	}
	if got := b.read(o); got.Status != "ready" || got.Revision != 1 {
		t.Errorf("order = %+v", got)
	}
	d, err := b.store.DraftRevision(ctx, draftOf(b.shop.ID, o.ID, 1))
	b.must(err)
	sum := sha256.Sum256(document)
	if !bytes.Equal(d.Document, document) || !bytes.Equal(d.Hash, sum[:]) || d.Engine != "1.0.0" ||
		d.MeasurementSetID != b.set.ID || string(d.Spec) != string(b.read(o).Spec) ||
		string(d.Checks) != `[{"name": "bust"}]` {
		t.Errorf("draft = %+v", d)
	}
	head, err := b.store.DraftHead(ctx, headOf(b.shop.ID, o.ID, 0))
	if err != nil || head.DraftHead.Number != 1 || head.Status != "ready" || head.Current != 1 ||
		!bytes.Equal(head.DraftHead.Hash, sum[:]) {
		t.Errorf("head = %+v, %v", head, err)
	}
	events, err := b.history(o.ID)
	if err != nil || len(events) != 2 || events[1].Event != "ready" || *events[1].FromStatus != "received" ||
		*events[1].Revision != 1 {
		t.Errorf("history = %+v, %v", events, err)
	}
	m, err := b.store.Message(ctx, query.MessageParams{ShopID: b.shop.ID, ID: messages[0].ID})
	if err != nil || m.EndpointID != e.ID || m.Type != "order.ready" || *m.OrderID != o.ID || m.Status != "pending" {
		t.Errorf("message = %+v, %v", m, err)
	}
}

func TestSettleDraftTwiceOrLateDoesNothing(t *testing.T) {
	b := setup(t)
	b.endpoint("order.ready")
	o := b.placed("O-1")
	s := settled(o, 1, []byte(`{}`))
	s.MessageType, s.MessageBody = new("order.ready"), new("{}")

	var applied atomic.Int64
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			ok, err := b.settle(s)
			if err != nil {
				t.Error(err)
			}
			if ok {
				applied.Add(1)
			}
		})
	}
	wg.Wait()
	if applied.Load() != 1 {
		t.Errorf("applied %d times, want once", applied.Load())
	}
	rows := func() int {
		return b.count(`SELECT (SELECT count(*) FROM draft_revisions) * 10000 + (SELECT count(*) FROM order_events) * 100 +
			(SELECT count(*) FROM webhook_messages)`)
	}
	if got := rows(); got != 1_02_01 {
		t.Errorf("drafts, events, messages: %d, want 1 02 01", got)
	}

	// After a second request, the answer to the first comes too late.
	o = b.read(o)
	o.Status, o.DraftRequest = "received", 2
	b.must(b.update(o))
	s.Request, s.Revision = 1, 2
	if ok, err := b.settle(s); ok || err != nil {
		t.Errorf("late: applied %v, %v", ok, err)
	}
	if got := rows(); got != 1_02_01 {
		t.Errorf("after a late one: %d, want 1 02 01", got)
	}
}

func TestSettleDraftWithoutOne(t *testing.T) {
	b := setup(t)
	o := b.placed("O-1")
	s := query.SettleDraftParams{OrderID: o.ID, Request: 1, Status: "held", ReasonCode: new("implausible"),
		Faults: json.RawMessage(`[{"code": "x"}]`), At: noon, Event: "held"}
	if applied, err := b.settle(s); !applied || len(b.queued()) != 0 || err != nil {
		t.Fatalf("applied %v, %v, messages %v", applied, err, b.queued())
	}
	if got := b.read(o); got.Status != "held" || *got.ReasonCode != "implausible" ||
		string(got.Faults) != `[{"code": "x"}]` || got.Revision != 0 {
		t.Errorf("order = %+v", got)
	}
	// Confirmed, and drafted to the same result as before: the revision it has stands.
	ready := b.ready("O-2")
	ready.Status, ready.DraftRequest = "received", 2
	b.must(b.update(ready))
	same := settled(ready, 1, nil)
	if applied, err := b.settle(same); !applied || err != nil {
		t.Errorf("applied %v, %v", applied, err)
	}
	if heads, err := b.heads(ready.ID); err != nil || len(heads) != 1 {
		t.Errorf("drafts = %v, %v, want the one", heads, err)
	}
}

func TestDraftRevisions(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.ready("O-1")
	o.Status, o.DraftRequest = "received", 2
	b.must(b.update(o))

	in, err := b.store.DraftInput(ctx, o.ID)
	b.must(err)
	first, err := b.store.DraftHead(ctx, headOf(b.shop.ID, o.ID, 1))
	b.must(err)
	if in.ID != o.ID || in.DraftRequest != 2 || *in.CustomerReference != "C-1" ||
		!strings.Contains(string(in.Basis), `"measurements": {"bust_girth": 92.50}`) ||
		in.LastNumber != 1 || !bytes.Equal(in.LastHash, first.DraftHead.Hash) {
		t.Errorf("DraftInput = %+v", in)
	}
	s := settled(o, 2, []byte(`{"second": true}`))
	s.Reason, s.CreatedBy = new("longer"), &b.key.ID
	if applied, err := b.settle(s); !applied || err != nil {
		t.Fatalf("applied %v, %v", applied, err)
	}
	heads, err := b.heads(o.ID)
	if err != nil || len(heads) != 2 || heads[0].Number != 2 || *heads[0].Reason != "longer" || heads[1].Number != 1 {
		t.Errorf("DraftHeads = %+v, %v", heads, err)
	}
	old, err := b.store.DraftHead(ctx, headOf(b.shop.ID, o.ID, 1))
	if err != nil || old.DraftHead.Number != 1 || old.Current != 2 {
		t.Errorf("an earlier head = %+v, %v", old, err)
	}

	for _, err := range []error{
		second(b.store.DraftRevision(ctx, draftOf(b.shop.ID, o.ID, 3))),
		second(b.store.DraftRevision(ctx, draftOf(newID(), o.ID, 1))),
		second(b.store.DraftHead(ctx, headOf(newID(), o.ID, 0))),
		second(b.store.DraftHead(ctx, headOf(b.shop.ID, b.placed("O-2").ID, 0))),
		second(b.store.DraftInput(ctx, newID())),
	} {
		b.notFound(err)
	}
	fresh, err := b.store.DraftInput(ctx, b.placed("O-3").ID)
	if err != nil || fresh.LastNumber != 0 || fresh.LastHash != nil {
		t.Errorf("DraftInput of an order without a draft = %+v, %v", fresh, err)
	}

	b.refused(b.exec(`UPDATE draft_revisions SET document = '\x00'`), "draft_revisions_immutable")
	b.refused(b.exec(`DELETE FROM draft_revisions WHERE number = 1`), "draft_revisions_immutable")
	again := settled(b.placed("O-4"), 1, []byte(`{}`))
	again.Engine = new("")
	_, err = b.settle(again)
	b.refused(err, "draft_revisions_engine")
}

func TestDamagedDraftIsNotHandedOut(t *testing.T) {
	b := setup(t)
	o := b.ready("O-1")
	b.must(b.exec(`ALTER TABLE draft_revisions DISABLE TRIGGER draft_revisions_immutable`))
	other := b.ready("O-2")
	for name, sql := range map[string]string{
		"another's document": `UPDATE draft_revisions SET hash = sha256('x') WHERE order_id = $1`,
		"not zstd":           `UPDATE draft_revisions SET document = 'nonsense' WHERE order_id = $1`,
	} {
		b.must(b.exec(sql, o.ID))
		if _, err := b.store.DraftRevision(t.Context(), draftOf(b.shop.ID, o.ID, 1)); err == nil {
			t.Errorf("%s: handed out", name)
		}
	}
	if _, err := b.store.DraftRevision(t.Context(), draftOf(b.shop.ID, other.ID, 1)); err != nil {
		t.Errorf("the undamaged one: %v", err)
	}
}

func TestLinks(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	o := b.ready("O-1")
	link := query.InsertLinkParams{
		ID: newID(), ShopID: b.shop.ID, OrderID: o.ID, Revision: 1, Format: "pdf",
		Options: json.RawMessage(`{"paper": "a4"}`),
		MaxUses: 3, CreatedBy: &b.key.ID, CreatedAt: noon, ExpiresAt: noon.Add(hour),
	}
	b.must(b.store.InsertLink(ctx, link))
	f, err := b.store.FollowedLink(ctx, link.ID)
	b.must(err)
	head, err := b.store.DraftHead(ctx, headOf(b.shop.ID, o.ID, 1))
	b.must(err)
	if l := f.DownloadLink; l.OrderID != o.ID || l.Format != "pdf" || string(l.Options) != `{"paper": "a4"}` ||
		!bytes.Equal(f.LinkKey, b.shop.LinkKey) ||
		f.Status != "ready" || !bytes.Equal(f.Hash, head.DraftHead.Hash) || f.Erased {
		t.Errorf("FollowedLink = %+v", f)
	}
	_, err = b.store.FollowedLink(ctx, newID())
	b.notFound(err)

	_, err = b.store.UseLink(ctx, query.UseLinkParams{ID: link.ID, At: noon.Add(hour)})
	b.notFound(err)
	var used, refused atomic.Int64
	var wg sync.WaitGroup
	for range 10 {
		wg.Go(func() {
			if _, err := b.store.UseLink(ctx, query.UseLinkParams{ID: link.ID, At: noon}); err == nil {
				used.Add(1)
			} else {
				refused.Add(1)
			}
		})
	}
	wg.Wait()
	if used.Load() != 3 || refused.Load() != 7 {
		t.Errorf("used %d times at once, refused %d, want 3 and 7", used.Load(), refused.Load())
	}

	other := link
	other.ID = newID()
	b.must(b.store.InsertLink(ctx, other))
	revoke := query.RevokeLinkParams{ShopID: newID(), OrderID: o.ID, ID: other.ID, At: noon}
	_, err = b.store.RevokeLink(ctx, revoke)
	b.notFound(err)
	revoke.ShopID = b.shop.ID
	for _, revoke.At = range []time.Time{noon, noon.Add(hour)} {
		_, err = b.store.RevokeLink(ctx, revoke)
		b.must(err)
	}
	_, err = b.store.UseLink(ctx, query.UseLinkParams{ID: other.ID, At: noon})
	b.notFound(err)
	links, err := b.store.ListLinks(ctx, query.ListLinksParams{ShopID: b.shop.ID, OrderID: o.ID})
	if err != nil || len(links) != 2 || links[0].ID != other.ID || !links[0].RevokedAt.Equal(noon) || links[1].Uses != 3 {
		t.Errorf("Links = %+v, %v", links, err)
	}

	for constraint, spoil := range map[string]func(*query.InsertLinkParams){
		"download_links_max_uses":              func(l *query.InsertLinkParams) { l.MaxUses = 0 },
		"download_links_expiry":                func(l *query.InsertLinkParams) { l.ExpiresAt = noon },
		"download_links_revision_fkey":         func(l *query.InsertLinkParams) { l.Revision = 2 },
		"download_links_shop_id_order_id_fkey": func(l *query.InsertLinkParams) { l.ShopID = b.newShop("A", "a").ID },
	} {
		l := link
		l.ID = newID()
		spoil(&l)
		b.refused(b.store.InsertLink(ctx, l), constraint)
	}
}
