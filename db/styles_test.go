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
)

// script keeps a script and gives its hash.
func (b *bench) script(text string) []byte {
	b.Helper()
	hash := sha256.Sum256([]byte(text))
	b.must(b.store.KeepScript(b.Context(), hash[:], text, noon))
	return hash[:]
}

// styleRevision stores the next revision of a style.
func (b *bench) styleRevision(slug, script string) db.StyleRevision {
	b.Helper()
	r := db.StyleRevision{StyleID: newID(), ShopID: b.shop.ID, Slug: slug, Hash: b.script(script), Head: json.RawMessage(`{"title": "A"}`),
		Lint: json.RawMessage(`[]`), State: "draft", CreatedBy: &b.key.ID, CreatedAt: noon}
	b.must(b.store.InTx(b.Context(), func(tx *db.Tx) (err error) {
		r, err = tx.InsertStyleRevision(b.Context(), r)
		return err
	}))
	return r
}

func (b *bench) proof(r db.StyleRevision) db.Proof {
	b.Helper()
	p := db.Proof{ProofHead: db.ProofHead{ID: newID(), ShopID: r.ShopID, StyleID: r.StyleID, Number: r.Number, Bodies: "file", Total: 10, CreatedAt: noon},
		BodyRows: json.RawMessage(`[{"line": 2}]`)}
	b.must(b.store.InTx(b.Context(), func(tx *db.Tx) error { return tx.InsertProof(b.Context(), p) }))
	return p
}

func (b *bench) state(r db.StyleRevision) error {
	return b.store.InTx(b.Context(), func(tx *db.Tx) error { return tx.SetStyleState(b.Context(), r) })
}

// published is r with a proof, published.
func (b *bench) published(r db.StyleRevision) db.StyleRevision {
	b.Helper()
	p := b.proof(r)
	r.State, r.ProofID = "proved", &p.ID
	b.must(b.state(r))
	r.State, r.PublishedAt = "published", &noonCopy
	b.must(b.state(r))
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
	b.refused(b.store.KeepScript(t.Context(), make([]byte, 32), "a = 1", noon), "style_scripts_hash")
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
			err := b.store.InTx(t.Context(), func(tx *db.Tx) error {
				r, err := tx.InsertStyleRevision(t.Context(), db.StyleRevision{StyleID: newID(), ShopID: b.shop.ID, Slug: "field-coat", Hash: hash,
					Head: json.RawMessage(`{}`), Lint: json.RawMessage(`[]`), State: "draft", CreatedAt: noon})
				numbers[i] = r.Number
				return err
			})
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
	all, err := b.store.StyleRevisions(t.Context(), b.shop.ID, "field-coat")
	if err != nil || len(all) != 8 || all[0].Number != 8 {
		t.Errorf("%d revisions, %v", len(all), err)
	}
	// Another shop sees none of them.
	other := b.newShop("Other", "other")
	if all, err := b.store.StyleRevisions(t.Context(), other.ID, "field-coat"); err != nil || len(all) != 0 {
		t.Errorf("another shop sees %d, %v", len(all), err)
	}
	b.notFound(errOf(b.store.StyleRevision(t.Context(), other.ID, "field-coat", 1)))
}

func TestStyleRevisionsChangeOnlyTheirState(t *testing.T) {
	b := setup(t)
	r := b.styleRevision("field-coat", "a = 1")
	b.refused(b.exec(`UPDATE style_revisions SET head = '{"title": "B"}'`), "style_revisions_immutable")
	b.refused(b.exec(`UPDATE style_revisions SET hash = $1`, b.script("b = 1")), "style_revisions_immutable")
	b.refused(b.exec(`DELETE FROM style_revisions`), "style_revisions_immutable")

	r.State = "proved"
	b.refused(b.state(r), "style_revisions_proved")
	other := b.proof(b.styleRevision("field-coat", "a = 2"))
	r.ProofID = &other.ID
	b.refused(b.state(r), "style_revisions_proof_fkey") // the proof of another revision
	b.notFound(errOf(b.store.StyleRevision(t.Context(), b.shop.ID, "field-coat", 0)))

	r = b.published(db.StyleRevision{StyleID: r.StyleID, Number: 1, ShopID: r.ShopID})
	if got, err := b.store.StyleRevision(t.Context(), b.shop.ID, "field-coat", 0); err != nil || got.Number != 1 || got.State != "published" {
		t.Errorf("published: %+v, %v", got, err)
	}
	r.State = "retired"
	b.refused(b.state(r), "style_revisions_retired") // when?
	r.RetiredAt = &noonCopy
	b.must(b.state(r))

	// The list shows the one that takes orders, or else the latest.
	b.styleRevision("apron", "a = 3")
	list, err := b.store.ShopStyles(t.Context(), b.shop.ID)
	if err != nil || len(list) != 2 || list[0].Slug != "apron" || list[1].Number != 2 || list[1].Revisions != 2 {
		t.Errorf("styles: %+v, %v", list, err)
	}
}

func TestProofsEndOnceAndKeepNoBody(t *testing.T) {
	b := setup(t)
	p := b.proof(b.styleRevision("field-coat", "a = 1"))
	counted := json.RawMessage(`{"drafted": 4}`)
	ok := func(done bool, err error) bool { b.Helper(); b.must(err); return done }
	if !ok(b.store.AdvanceProof(t.Context(), p.ID, 0, 4, counted, noon)) || ok(b.store.AdvanceProof(t.Context(), p.ID, 0, 3, counted, noon)) {
		t.Error("a run that was overtaken wrote over the one before")
	}
	got, err := b.store.Proof(t.Context(), p.ID)
	b.must(err)
	if got.Status != "running" || got.Done != 4 || got.StartedAt == nil || got.Slug != "field-coat" || string(got.BodyRows) == "" {
		t.Errorf("running: %+v", got)
	}
	b.must(b.store.InTx(t.Context(), func(tx *db.Tx) error {
		n, err := tx.OpenProofs(t.Context(), b.shop.ID)
		if n != 1 {
			t.Errorf("%d open", n)
		}
		return err
	}))
	if left, err := b.store.LeftProofs(t.Context(), "prove", noon.Add(time.Second), 10); err != nil || len(left) != 1 {
		t.Errorf("left without a job: %v, %v", left, err)
	}
	if !ok(b.store.FinishProof(t.Context(), p.ID, "done", json.RawMessage(`{}`), noon)) || ok(b.store.FinishProof(t.Context(), p.ID, "cancelled", nil, noon)) ||
		ok(b.store.AdvanceProof(t.Context(), p.ID, 4, 5, counted, noon)) {
		t.Error("a proof went on after its end")
	}
	got, err = b.store.Proof(t.Context(), p.ID)
	b.must(err)
	if got.Status != "done" || got.BodyRows != nil || got.Counted != nil {
		t.Errorf("done: %+v", got)
	}
	b.refused(b.exec(`UPDATE style_proofs SET result = '{"failed": 0}'`), "style_proofs_finished_once")
	b.notFound(errOf(b.store.ProofHead(t.Context(), newID(), p.ID)))
}

// An order for a style names a script that is kept.
func TestOrderKeepsItsScript(t *testing.T) {
	b := setup(t)
	place := func(reference, spec string) error {
		n := b.order(reference)
		n.Order.Spec = json.RawMessage(spec)
		_, err := b.place(n)
		return err
	}
	hash := fmt.Sprintf("%x", b.script("a = 1"))
	b.must(place("O-1", `{"style": "field-coat", "style_hash": "`+hash+`"}`))
	b.refused(place("O-2", `{"style": "field-coat", "style_hash": "`+fmt.Sprintf("%064d", 0)+`"}`), "orders_style_script_fkey")
	for _, spec := range []string{`{"style": "field-coat"}`, `{"block": "torso", "style": "field-coat", "style_hash": "` + hash + `"}`, `{}`} {
		b.refused(place("O-3", spec), "orders_block_or_style")
	}
	b.must(place("O-4", `{"block": "torso"}`))
	list, err := b.store.Orders(t.Context(), b.shop.ID, db.OrderFilter{Style: "field-coat"}, db.Page{Limit: 9})
	if err != nil || len(list) != 1 || list[0].Reference != "O-1" {
		t.Errorf("orders for the style: %+v, %v", list, err)
	}
}
