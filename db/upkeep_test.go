package db_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/db/query"
)

func second[T any](_ T, err error) error { return err }

func equal[T comparable](a, b []T) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

func TestIdempotencyKeys(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	answer := query.SaveAnswerParams{ShopID: b.shop.ID, Key: "k", Fingerprint: make([]byte, 32),
		Answer: []byte(`{"id": 1}`), CreatedAt: noon}
	claim := func(key string, then func(*db.Tx)) (claimed bool, stored *query.IdempotencyKey) {
		t.Helper()
		b.must(b.store.InTx(ctx, func(tx *db.Tx) (err error) {
			claimed, stored, err = tx.ClaimKey(ctx, b.shop.ID, key)
			if err == nil && then != nil {
				then(tx)
			}
			return err
		}))
		return claimed, stored
	}
	claimed, stored := claim("k", func(tx *db.Tx) {
		if claimed, stored := claim("k", nil); claimed || stored != nil {
			t.Errorf("in flight: claimed %v, stored %v", claimed, stored)
		}
		if claimed, _ := claim("another", nil); !claimed {
			t.Error("another key is not free")
		}
		b.must(tx.SaveAnswer(ctx, answer))
	})
	if !claimed || stored != nil {
		t.Errorf("first: claimed %v, stored %v", claimed, stored)
	}
	claimed, stored = claim("k", nil)
	if !claimed || stored == nil || !bytes.Equal(stored.Answer, answer.Answer) {
		t.Errorf("again: claimed %v, stored %+v", claimed, stored)
	}
}

// However the claims interleave, one request does the work and each of the
// others is told so or told to wait.
func TestKeyClaimedAtOnceIsWorkedOnce(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	var mu sync.Mutex
	worked, replayed, waiting := 0, 0, 0
	var wg sync.WaitGroup
	for range 60 {
		wg.Go(func() {
			err := b.store.InTx(ctx, func(tx *db.Tx) error {
				claimed, stored, err := tx.ClaimKey(ctx, b.shop.ID, "k")
				if err != nil {
					return err
				}
				mu.Lock()
				defer mu.Unlock()
				switch {
				case stored != nil:
					replayed++
				case !claimed:
					waiting++
				default:
					worked++
					return tx.SaveAnswer(ctx, query.SaveAnswerParams{
						ShopID: b.shop.ID, Key: "k", Fingerprint: make([]byte, 32), Answer: []byte("x"), CreatedAt: noon,
					})
				}
				return nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if worked != 1 || replayed+waiting != 59 {
		t.Errorf("worked %d, replayed %d, waiting %d, want 1 and 59 others", worked, replayed, waiting)
	}
}

// nowhere checks that no row of any table holds a string, as text or as bytes.
// It does not look into compressed documents.
func (b *bench) nowhere(mark string) {
	b.Helper()
	rows, err := b.store.Pool().Query(b.Context(),
		`SELECT table_name::text FROM information_schema.tables WHERE table_schema = 'public' AND table_type = 'BASE TABLE'`)
	b.must(err)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	b.must(err)
	for _, table := range tables {
		name := pgx.Identifier{table}.Sanitize()
		if n := b.count(`SELECT count(*) FROM ` + name + ` t WHERE t::text ILIKE '%` + mark +
			`%' OR t::text LIKE '%' || encode('` + mark + `', 'hex') || '%'`); n != 0 {
			b.Errorf("table %s still names the person in %d rows", table, n)
		}
	}
}

func TestEraseCustomer(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	// Everything that is stored about a person, each with a mark to search for.
	const mark = "Markbearer"
	c := query.Customer{ID: newID(), ShopID: b.shop.ID, Reference: new(mark + " ref"), Name: new(mark), CreatedAt: noon,
		UpdatedAt: noon}
	b.must(b.insertCustomer(c))
	set := query.MeasurementSet{
		ID: newID(), ShopID: b.shop.ID, CustomerID: c.ID, Unit: "cm", Given: json.RawMessage(`{"` + mark + `": 1}`),
		Report: json.RawMessage(`["` + mark + `"]`), CreatedAt: noon,
	}
	b.must(errOf(b.insertSet(set)))
	_, err := b.store.InsertAlterations(ctx, query.InsertAlterationsParams{ID: newID(), ShopID: b.shop.ID,
		CustomerID: c.ID, Unit: "cm", Given: json.RawMessage(`{"` + mark + `": 1}`), Reason: new(mark), CreatedAt: noon})
	b.must(err)
	other := b.ready("O-other")
	n := b.order("O-1")
	n.CustomerID, n.MeasurementSetID = c.ID, set.ID
	_, err = b.place(n)
	b.must(err)
	b.must(b.store.AppendEvent(ctx, query.AppendEventParams{ShopID: b.shop.ID, OrderID: n.ID, Event: "held",
		ToStatus: "received",
		Reason:   new("for " + mark), At: noon}))
	s := settled(b.stored(n.ID), 1, []byte(`{"customer": "`+mark+`"}`))
	s.Checks, s.Reason = json.RawMessage(`["`+mark+`"]`), new(mark)
	_, err = b.settle(s)
	b.must(err)
	held := b.stored(n.ID)
	held.Status, held.ReasonCode, held.Faults = "held", new("by_request"), json.RawMessage(`["`+mark+`"]`)
	b.must(b.update(held))
	b.must(b.store.InsertLink(ctx, query.InsertLinkParams{
		ID: newID(), ShopID: b.shop.ID, OrderID: n.ID, Revision: 1, Format: "pdf", Options: json.RawMessage(`{}`),
		MaxUses: 1, CreatedAt: noon, ExpiresAt: noon.Add(hour),
	}))
	b.must(b.store.InTx(ctx, func(tx *db.Tx) error {
		return tx.SaveAnswer(ctx, query.SaveAnswerParams{
			ShopID: b.shop.ID, Key: "k", Fingerprint: make([]byte, 32), Answer: []byte(mark), CustomerID: &c.ID, CreatedAt: noon,
		})
	}))
	waiting := b.order("O-2")
	waiting.CustomerID, waiting.MeasurementSetID = c.ID, set.ID
	_, err = b.place(waiting)
	b.must(err)
	late := b.stored(waiting.ID) // an order being drafted while the customer is erased

	e, err := b.erase(c.ID)
	b.must(err)
	if want := (query.EraseCustomerDataRow{MeasurementSets: 1, Alterations: 1, Drafts: 1, Links: 1}); e != want {
		t.Errorf("erased %+v, want %+v", e, want)
	}
	b.notFound(errOf(b.erase(c.ID)))
	if n := b.count(`SELECT count(*) FROM idempotency_keys`); n != 0 {
		t.Errorf("%d answers remain", n)
	}

	b.nowhere(mark) // the document, being compressed, is looked at below
	d, err := b.store.DraftRevision(ctx, draftOf(b.shop.ID, n.ID, 1))
	if err != nil || d.Document != nil || d.Checks != nil || d.ErasedAt == nil || len(d.Hash) != 32 {
		t.Errorf("erased draft = %+v, %v", d, err)
	}
	if o := b.stored(n.ID); o.Reference != "O-1" || o.Faults != nil {
		t.Errorf("the order's record = %+v", o)
	}
	in, err := b.store.DraftInput(ctx, late.ID)
	if err != nil || strings.Contains(string(in.Basis), "measurements") || in.CustomerReference != nil {
		t.Errorf("DraftInput = %+v, %v", in, err)
	}
	_, err = b.settle(settled(late, 1, []byte(mark)))
	b.refused(err, "draft_revisions_not_erased")
	next := b.order("O-3")
	next.CustomerID, next.MeasurementSetID = c.ID, set.ID
	_, err = b.place(next)
	b.notFound(err)
	set.ID = newID()
	b.notFound(errOf(b.insertSet(set)))
	renamed := query.UpdateCustomerParams{ShopID: b.shop.ID, ID: c.ID, UpdatedAt: noon}
	b.notFound(errOf(b.store.UpdateCustomer(ctx, renamed)))
	if d, err := b.store.DraftRevision(ctx, draftOf(b.shop.ID, other.ID, 1)); err != nil || d.Document == nil {
		t.Errorf("another customer's draft: %+v, %v", d, err)
	}
}

func TestStaleCustomers(t *testing.T) {
	b := setup(t)
	b.placed("O-1") // of b.customer, at noon
	idle := b.newCustomer("C-2")
	stale := func(after time.Duration) int {
		t.Helper()
		return len(b.stale(noon.Add(after)))
	}
	const day = 24 * hour
	if n := stale(9999 * day); n != 0 {
		t.Errorf("without a retention time %d are stale", n)
	}
	b.must(b.retain(b.shop.ID, 30))
	for after, want := range map[time.Duration]int{29 * day: 0, 31 * day: 2} {
		if n := stale(after); n != want {
			t.Errorf("after %v: %d stale, want %d", after, n, want)
		}
	}
	o := b.order("O-2") // a later order keeps its customer
	o.At = noon.Add(20 * day)
	_, err := b.place(o)
	b.must(err)
	list := b.stale(noon.Add(31 * day))
	if len(list) != 1 || list[0].ID != idle.ID || list[0].ShopID != b.shop.ID {
		t.Errorf("StaleCustomers = %+v, want %v", list, idle.ID)
	}
}

func TestRetention(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	b.endpoint("order.ready")
	o := b.ready("O-1")
	settledAt := noon
	for i := range 3 {
		at := noon.Add(time.Duration(i) * hour)
		queued := b.messages(query.QueueMessagesParams{Type: "order.ready", Body: "{}", At: at})
		if i < 2 {
			_, err := b.store.RecordAttempt(ctx, query.RecordAttemptParams{MessageID: queued[0], Number: 1, Outcome: "delivered",
				StartedAt: at, Status: "delivered", SettledAt: &settledAt})
			b.must(err)
		}
		b.must(b.store.InTx(ctx, func(tx *db.Tx) error {
			key := string(rune('a' + i))
			return errors.Join(
				tx.SaveAnswer(ctx, query.SaveAnswerParams{ShopID: b.shop.ID, Key: key, Fingerprint: make([]byte, 32),
					Answer: []byte{}, CreatedAt: at}),
				tx.InsertInboundMessage(ctx, query.InsertInboundMessageParams{ShopID: b.shop.ID, MessageID: key,
					BodyHash: make([]byte, 32), OrderID: o.ID, ReceivedAt: at}))
		}))
		b.must(b.store.InsertLink(ctx, query.InsertLinkParams{
			ID: newID(), ShopID: b.shop.ID, OrderID: o.ID, Revision: 1, Format: "pdf", Options: json.RawMessage(`{}`),
			MaxUses: 1, CreatedAt: noon.Add(-hour), ExpiresAt: at,
		}))
	}
	for name, tt := range map[string]struct {
		remove func(context.Context, time.Time, int) (int64, error)
		want   int64 // in all before noon + 2 h
		left   string
	}{
		"answers": {func(ctx context.Context, before time.Time, limit int) (int64, error) {
			return b.store.DeleteAnswers(ctx, query.DeleteAnswersParams{Before: before, Limit: limit})
		}, 2, "idempotency_keys"},
		"messages": {func(ctx context.Context, before time.Time, limit int) (int64, error) {
			return b.store.DeleteMessages(ctx, query.DeleteMessagesParams{Before: before, Limit: limit})
		}, 2, "webhook_messages"}, // the third is pending
		"inbound": {func(ctx context.Context, before time.Time, limit int) (int64, error) {
			return b.store.DeleteInboundMessages(ctx, query.DeleteInboundMessagesParams{Before: before, Limit: limit})
		}, 2, "inbound_messages"},
		"links": {func(ctx context.Context, before time.Time, limit int) (int64, error) {
			return b.store.DeleteLinks(ctx, query.DeleteLinksParams{Before: before, Limit: limit})
		}, 2, "download_links"},
	} {
		before := noon.Add(2 * hour)
		first, err := tt.remove(ctx, before, 1)
		b.must(err)
		rest, err := tt.remove(ctx, before, 10)
		b.must(err)
		if first != 1 || first+rest != tt.want {
			t.Errorf("%s: removed %d, then %d, want 1 and %d in all", name, first, rest, tt.want)
		}
		if n := b.count(`SELECT count(*) FROM ` + tt.left); n != 1 {
			t.Errorf("%s: %d left, want 1", name, n)
		}
	}
	if n := b.count(`SELECT count(*) FROM webhook_attempts`); n != 0 {
		t.Errorf("%d attempts outlived their messages", n)
	}
}

type job struct{}

func (job) Kind() string { return "test_job" }

func TestQueuedJobs(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	client, err := river.NewClient(riverpgxv5.New(b.store.Pool()), &river.Config{})
	b.must(err)
	// River's job goes with our rows or not at all.
	failed := errors.New("on purpose")
	for _, result := range []error{nil, nil, failed} {
		err := b.store.InTx(ctx, func(tx *db.Tx) error {
			_, err := client.InsertTx(ctx, tx.Raw(), job{}, nil)
			return errors.Join(err, result)
		})
		if !errors.Is(err, result) {
			t.Fatal(err)
		}
	}
	jobs, err := b.store.QueuedJobs(ctx)
	if err != nil || len(jobs) != 1 || jobs[0].Kind != "test_job" || jobs[0].State != "available" || jobs[0].Count != 2 ||
		jobs[0].Oldest.IsZero() {
		t.Errorf("QueuedJobs = %+v, %v", jobs, err)
	}
}

type draftJob struct {
	OrderID string `json:"order_id"`
	Request int    `json:"request"`
}

func (draftJob) Kind() string { return "draft" }

func TestWorkThatNoJobIsComingFor(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	client, err := river.NewClient(riverpgxv5.New(b.store.Pool()), &river.Config{})
	b.must(err)
	queue := func(args river.JobArgs) {
		t.Helper()
		_, err := client.Insert(ctx, args, nil)
		b.must(err)
	}
	queued, left, again := b.placed("O-1"), b.placed("O-2"), b.placed("O-3")
	queue(draftJob{queued.ID.String(), 1})
	queue(draftJob{again.ID.String(), 1}) // of an earlier request
	again.DraftRequest = 2
	b.must(b.update(again))
	b.ready("O-4")

	waiting, err := b.store.WaitingOrders(ctx)
	if err != nil || waiting.Count != 3 || !waiting.Oldest.Equal(noon) {
		t.Errorf("WaitingOrders = %+v, %v", waiting, err)
	}
	later := noon.Add(hour)
	orders := func(before time.Time) (ids []uuid.UUID) {
		t.Helper()
		list, err := b.store.OrphanedOrders(ctx, query.OrphanedOrdersParams{Kind: "draft", Before: before, Limit: 10})
		b.must(err)
		for _, o := range list {
			ids = append(ids, o.ID)
		}
		return ids
	}
	if got := orders(noon); got != nil {
		t.Errorf("too young: %v", got)
	}
	if got := orders(later); !same(got, left.ID, again.ID) {
		t.Errorf("OrphanedOrders = %v, want %v and %v", got, left.ID, again.ID)
	}
	b.must(b.exec(`UPDATE river_job SET state = 'discarded', finalized_at = now()`))
	if got := orders(later); !same(got, queued.ID, left.ID, again.ID) {
		t.Errorf("OrphanedOrders after the jobs were given up = %v", got)
	}
}

func same(got []uuid.UUID, want ...uuid.UUID) bool {
	set := map[uuid.UUID]bool{}
	for _, id := range got {
		set[id] = true
	}
	for _, id := range want {
		if !set[id] {
			return false
		}
	}
	return len(got) == len(want)
}

func TestInTx(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	store := dbtest.Open(t, b.store.Pool().Config().ConnString(), db.Options{MaxConns: 1})
	failed := errors.New("on purpose")
	insert := func(tx *db.Tx, reference string) error {
		return tx.InsertCustomer(ctx, query.InsertCustomerParams{ID: newID(), ShopID: b.shop.ID, Reference: &reference,
			CreatedAt: noon})
	}
	err := store.InTx(ctx, func(tx *db.Tx) error { b.must(insert(tx, "error")); return failed })
	if !errors.Is(err, failed) {
		t.Errorf("InTx = %v, want the error of the function", err)
	}
	func() {
		defer func() { _ = recover() }()
		_ = store.InTx(ctx, func(tx *db.Tx) error { b.must(insert(tx, "panic")); panic("on purpose") })
	}()
	cancelled, cancel := context.WithCancel(ctx)
	err = store.InTx(cancelled, func(tx *db.Tx) error { b.must(insert(tx, "cancelled")); cancel(); return nil })
	if err == nil {
		t.Error("a cancelled transaction was committed")
	}
	b.must(store.InTx(ctx, func(tx *db.Tx) error { return insert(tx, "stored") })) // the one connection is free and clean
	if n := b.count(`SELECT count(*) FROM customers
		WHERE reference IN ('error', 'panic', 'cancelled', 'stored')`); n != 1 {
		t.Errorf("%d customers stored, want the one that was committed", n)
	}
}

func TestUnavailable(t *testing.T) {
	t.Parallel()
	s := dbtest.NewServer(t)
	store := dbtest.Open(t, s.URL(), db.Options{})
	if err := store.Ping(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := store.ShopBySlug(t.Context(), "x"); err == nil || db.Unavailable(err) {
		t.Errorf("a missing table is the query's fault: %v", err)
	}
	s.Stop()
	for range 3 { // first over a broken connection, then over none
		err := store.InTx(t.Context(), func(tx *db.Tx) error { _, err := tx.Shops(t.Context()); return err })
		if !db.Unavailable(err) {
			t.Errorf("the server is down: Unavailable(%v) = false", err)
		}
	}
	s.Start()
	if err := store.Ping(t.Context()); err != nil {
		t.Errorf("the server is up again: %v", err)
	}
	expired, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if _, err := store.Pool().Exec(expired, `SELECT pg_sleep(5)`); !db.Unavailable(err) {
		t.Errorf("out of time: Unavailable(%v) = false", err)
	}
	for _, err := range []error{nil, db.ErrNotFound, errors.New("other")} {
		if db.Unavailable(err) {
			t.Errorf("Unavailable(%v) = true", err)
		}
	}
}

// No error may carry the row's values to a log.
func TestErrorsRepeatNoValues(t *testing.T) {
	b := setup(t)
	b.newCustomer("Secret Person")
	err := b.store.InsertCustomer(t.Context(), query.InsertCustomerParams{ID: newID(), ShopID: b.shop.ID,
		Reference: new("Secret Person"), CreatedAt: noon})
	b.refused(err, "customers_reference_key")
	for e := err; e != nil; e = errors.Unwrap(e) {
		if strings.Contains(e.Error(), "Secret") {
			t.Errorf("the error repeats the value: %v", e)
		}
	}
}
