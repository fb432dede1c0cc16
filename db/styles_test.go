package db_test

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"tapeline/db"
	"tapeline/db/query"

	"github.com/google/uuid"
)

// script stores a script and returns its hash.
func (b *bench) script(text string) []byte {
	b.Helper()
	hash := sha256.Sum256([]byte(text))
	b.must(b.store.InsertScript(b.Context(), query.InsertScriptParams{Hash: hash[:], Script: text, At: noon}))
	return hash[:]
}

func (b *bench) insertStyleRevision(slug string, hash []byte) (query.ShopStyleRevision, error) {
	r := query.ShopStyleRevision{ShopID: b.shop.ID, Slug: slug, Hash: hash, Status: "draft", CreatedBy: &b.key.ID,
		CreatedAt: noon}
	err := b.store.InTx(b.Context(), func(tx *db.Tx) error {
		stored, err := tx.InsertStyleRevision(b.Context(), query.InsertStyleRevisionParams{StyleID: newID(), ShopID: r.ShopID,
			Slug: slug,
			Hash: hash, Head: json.RawMessage(`{"title": "A"}`), Warnings: json.RawMessage(`[]`), CreatedBy: r.CreatedBy,
			CreatedAt: noon})
		r.StyleID, r.Number = stored.StyleID, stored.Number
		return err
	})
	return r, err
}

// styleRevision stores the next revision of a style.
func (b *bench) styleRevision(slug, script string) query.ShopStyleRevision {
	b.Helper()
	r, err := b.insertStyleRevision(slug, b.script(script))
	b.must(err)
	return r
}

// findStyle reads a revision of a shop.
func (b *bench) findStyle(shop uuid.UUID, slug string, number int) (query.ShopStyleRevision, error) {
	return b.store.StyleRevision(b.Context(), query.StyleRevisionParams{ShopID: shop, Slug: slug, Number: number})
}

func (b *bench) proof(r query.ShopStyleRevision) query.InsertProofParams {
	b.Helper()
	p := query.InsertProofParams{ID: newID(), ShopID: r.ShopID, StyleID: r.StyleID, Number: r.Number, Bodies: "file",
		Total:     10,
		CreatedAt: noon, BodyRows: json.RawMessage(`[{"line": 2}]`)}
	b.must(b.store.InTx(b.Context(), func(tx *db.Tx) error { return tx.InsertProof(b.Context(), p) }))
	return p
}

// state writes the state of a revision that was in another.
func (b *bench) state(from string, r query.ShopStyleRevision) error {
	return b.store.InTx(b.Context(), func(tx *db.Tx) error {
		_, err := tx.SetStyleStatus(b.Context(), query.SetStyleStatusParams{StyleID: r.StyleID, Number: r.Number,
			FromStatus: from, Status: r.Status,
			ProofID: r.ProofID, PublishedAt: r.PublishedAt, RetiredAt: r.RetiredAt})
		return err
	})
}

// published returns r with a proof, published.
func (b *bench) published(r query.ShopStyleRevision) query.ShopStyleRevision {
	b.Helper()
	p := b.proof(r)
	r.Status, r.ProofID = "proved", &p.ID
	b.must(b.state("draft", r))
	r.Status, r.PublishedAt = "published", &noonCopy
	b.must(b.state("proved", r))
	return r
}

var noonCopy = noon

func TestScriptsAreWhatTheirHashSays(t *testing.T) {
	b := setup(t)
	hash := b.script("a = 1")
	b.script("a = 1") // twice is once
	if got, err := b.store.Script(t.Context(), hash); err != nil || got != "a = 1" {
		t.Errorf("read %q, %v", got, err)
	}
	b.notFound(errOf(b.store.Script(t.Context(), make([]byte, 32))))
	b.refused(b.store.InsertScript(t.Context(), query.InsertScriptParams{Hash: make([]byte, 32), Script: "a = 1",
		At: noon}), "style_scripts_hash")
	b.refused(b.exec(`UPDATE style_scripts SET script = 'b = 2'`), "style_scripts_append_only")
}

func errOf[T any](_ T, err error) error { return err }

// Uploads at the same moment are numbered one after the other.
func TestStyleRevisionsAreNumbered(t *testing.T) {
	b := setup(t)
	var wg sync.WaitGroup
	numbers := make([]int, 8)
	for i := range numbers {
		hash := b.script(fmt.Sprint("n = ", i))
		wg.Go(func() {
			r, err := b.insertStyleRevision("field-coat", hash)
			numbers[i] = r.Number
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	slices.Sort(numbers)
	if want := []int{1, 2, 3, 4, 5, 6, 7, 8}; !slices.Equal(numbers, want) {
		t.Errorf("numbers %v", numbers)
	}
	if n := b.count(`SELECT count(*) FROM styles`); n != 1 {
		t.Errorf("%d styles", n)
	}
	all, err := b.store.StyleRevisions(t.Context(), query.StyleRevisionsParams{ShopID: b.shop.ID, Slug: "field-coat"})
	if err != nil || len(all) != 8 || all[0].Number != 8 {
		t.Errorf("%d revisions, %v", len(all), err)
	}
	// Another shop sees none of them.
	other := b.newShop("Other", "other")
	params := query.StyleRevisionsParams{ShopID: other.ID, Slug: "field-coat"}
	if all, err := b.store.StyleRevisions(t.Context(), params); err != nil || len(all) != 0 {
		t.Errorf("another shop sees %d, %v", len(all), err)
	}
	b.notFound(errOf(b.findStyle(other.ID, "field-coat", 1)))
}

func TestStyleRevisionsChangeOnlyTheirState(t *testing.T) {
	b := setup(t)
	r := b.styleRevision("field-coat", "a = 1")
	b.refused(b.exec(`UPDATE style_revisions SET head = '{"title": "B"}'`), "style_revisions_immutable")
	b.refused(b.exec(`UPDATE style_revisions SET hash = $1`, b.script("b = 1")), "style_revisions_immutable")
	b.refused(b.exec(`DELETE FROM style_revisions`), "style_revisions_immutable")

	r.Status = "proved"
	b.refused(b.state("draft", r), "style_revisions_proved")
	other := b.proof(b.styleRevision("field-coat", "a = 2"))
	r.ProofID = &other.ID
	b.refused(b.state("draft", r), "style_revisions_proof_fkey") // the proof of another revision
	b.notFound(errOf(b.findStyle(b.shop.ID, "field-coat", 0)))

	r = b.published(query.ShopStyleRevision{StyleID: r.StyleID, Number: 1, ShopID: r.ShopID})
	if got, err := b.findStyle(b.shop.ID, "field-coat", 0); err != nil || got.Number != 1 || got.Status != "published" {
		t.Errorf("published: %+v, %v", got, err)
	}
	r.Status = "retired"
	b.refused(b.state("published", r), "style_revisions_retired") // when?
	r.RetiredAt = &noonCopy
	b.must(b.state("published", r))
	// Who read it as published lost the race.
	r.Status, r.RetiredAt = "published", nil
	b.notFound(b.state("published", r))
	if got, err := b.findStyle(b.shop.ID, "field-coat", 1); err != nil || got.Status != "retired" {
		t.Errorf("after the lost race: %+v, %v", got, err)
	}

	// The list shows the one that takes orders, otherwise the latest.
	b.styleRevision("apron", "a = 3")
	list, err := b.store.ShopStyles(t.Context(), b.shop.ID)
	if err != nil || len(list) != 2 || list[0].ShopStyleRevision.Slug != "apron" ||
		list[1].ShopStyleRevision.Number != 2 || list[1].Revisions != 2 {
		t.Errorf("styles: %+v, %v", list, err)
	}
}

func TestProofsEndOnceAndKeepNoBody(t *testing.T) {
	b := setup(t)
	p := b.proof(b.styleRevision("field-coat", "a = 1"))
	ok := func(rows int64, err error) bool { b.Helper(); b.must(err); return rows == 1 }
	advance := func(from, done int) bool {
		return ok(b.store.AdvanceProof(t.Context(), query.AdvanceProofParams{ID: p.ID, From: from, Done: done,
			Counted: json.RawMessage(`{"drafted": 4}`), At: noon}))
	}
	finish := func(status string, result json.RawMessage) bool {
		return ok(b.store.FinishProof(t.Context(), query.FinishProofParams{ID: p.ID, Status: status, Result: result,
			At: noon}))
	}
	if !advance(0, 4) || advance(0, 3) {
		t.Error("a slower run replaced the tally of a faster one")
	}
	got, err := b.store.ProofWork(t.Context(), p.ID)
	b.must(err)
	if v := got.ShopStyleProof; v.Status != "running" || v.Done != 4 || v.StartedAt == nil || v.Slug != "field-coat" ||
		string(got.BodyRows) == "" {
		t.Errorf("running: %+v", got)
	}
	if n, err := b.store.CountOpenProofs(t.Context(), b.shop.ID); err != nil || n != 1 {
		t.Errorf("%d open proofs, %v; want 1", n, err)
	}
	orphans := query.OrphanedProofsParams{Kinds: []string{"prove"}, Before: noon.Add(time.Second), Limit: 10}
	if ids, err := b.store.OrphanedProofs(t.Context(), orphans); err != nil || len(ids) != 1 {
		t.Errorf("proofs without a job: %v, %v; want one", ids, err)
	}
	if !finish("done", json.RawMessage(`{}`)) || finish("cancelled", nil) || advance(4, 5) {
		t.Error("a finished proof changed")
	}
	got, err = b.store.ProofWork(t.Context(), p.ID)
	b.must(err)
	if got.ShopStyleProof.Status != "done" || got.BodyRows != nil || got.Counted != nil {
		t.Errorf("done: %+v", got)
	}
	b.refused(b.exec(`UPDATE style_proofs SET result = '{"failed": 0}'`), "style_proofs_finished_once")
	b.notFound(errOf(b.store.Proof(t.Context(), query.ProofParams{ShopID: newID(), ID: p.ID})))
}

// An order for a style names a stored script.
func TestOrderKeepsItsScript(t *testing.T) {
	b := setup(t)
	place := func(reference, spec string) error {
		n := b.order(reference)
		n.Spec = json.RawMessage(spec)
		_, err := b.place(n)
		return err
	}
	hash := fmt.Sprintf("%x", b.script("a = 1"))
	b.must(place("O-1", `{"style": "field-coat", "style_hash": "`+hash+`"}`))
	b.refused(place("O-2", `{"style": "field-coat", "style_hash": "`+fmt.Sprintf("%064d", 0)+`"}`),
		"orders_style_script_fkey")
	for _, spec := range []string{`{"style": "field-coat"}`, `{"block": "torso", "style": "field-coat", "style_hash": "` +
		hash + `"}`, `{}`} {
		b.refused(place("O-3", spec), "orders_block_or_style")
	}
	b.must(place("O-4", `{"block": "torso"}`))
	list, err := b.store.ListOrders(t.Context(), query.ListOrdersParams{ShopID: b.shop.ID, Below: uuid.Max,
		Style: new("field-coat"), Limit: 9})
	if err != nil || len(list) != 1 || list[0].Reference != "O-1" {
		t.Errorf("orders for the style: %+v, %v", list, err)
	}
}

// A text of a proof that names fewer than three people goes when one of them is
// erased. Texts about more people, or about others, stay.
func TestWithoutPeople(t *testing.T) {
	b := setup(t)
	const proof = `{"counts": {"refused": 4}, "refusals": [
		{"reason": "bust of 92 alone", "body": "a"},
		{"reason": "bust of 92 of two", "body": "b", "more": [{"body": "a"}]},
		{"reason": "three people", "body": "a", "more": [{"body": "b"}, {"body": "c"}]},
		{"reason": "another", "body": "d"}]}`
	const want = `{"counts": {"refused": 4}, "refusals": [
		{"reason": "erased", "body": "a"},
		{"reason": "erased", "body": "b", "more": [{"body": "a"}]},
		{"reason": "three people", "body": "a", "more": [{"body": "b"}, {"body": "c"}]},
		{"reason": "another", "body": "d"}]}`
	var got string
	var equal bool
	b.must(b.store.Pool().QueryRow(t.Context(),
		`SELECT r::text, r = $2::jsonb FROM without_people($1::jsonb, ARRAY['a']) r`,
		proof, want).Scan(&got, &equal))
	if !equal {
		t.Errorf("without a person the proof says\n%s\nwant\n%s", got, want)
	}
}
