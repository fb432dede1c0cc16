package db_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/db/query"
)

// noon is the time of every test, with the precision that Postgres keeps.
var noon = time.Date(2026, 1, 31, 12, 0, 0, 123456000, time.UTC)

// bench is a shop with what an order needs.
type bench struct {
	*testing.T
	store    *db.Store
	shop     query.InsertShopParams
	key      query.InsertAPIKeyParams
	customer query.Customer
	set      query.MeasurementSet
}

func setup(t *testing.T) *bench {
	t.Helper()
	t.Parallel()
	b := &bench{T: t, store: dbtest.New(t)}
	b.shop = b.newShop("Thistle & Thread", "thistle-and-thread")
	b.key = query.InsertAPIKeyParams{
		ID: newID(), ShopID: b.shop.ID, Name: "till", Role: "shop", Prefix: "tl_abc123", Hash: make([]byte, 32),
		CreatedAt: noon,
	}
	b.must(b.store.InsertAPIKey(t.Context(), b.key))
	b.customer = b.newCustomer("C-1")
	b.set = b.newSet(b.customer)
	return b
}

func (b *bench) must(err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

func (b *bench) newShop(name, slug string) query.InsertShopParams {
	b.Helper()
	s := query.InsertShopParams{ID: newID(), Slug: slug, Name: name, LinkKey: []byte("0123456789abcdef0123456789abcdef"),
		CreatedAt: noon}
	b.must(b.store.InsertShop(b.Context(), s))
	return s
}

func (b *bench) newCustomer(reference string) query.Customer {
	b.Helper()
	c := query.Customer{ID: newID(), ShopID: b.shop.ID, Reference: &reference, Name: new("Ada Example"), CreatedAt: noon,
		UpdatedAt: noon}
	b.must(b.insertCustomer(c))
	return c
}

func (b *bench) insertCustomer(c query.Customer) error {
	return b.store.InsertCustomer(b.Context(), query.InsertCustomerParams{
		ID: c.ID, ShopID: c.ShopID, Reference: c.Reference, Name: c.Name, CreatedAt: c.CreatedAt,
	})
}

func (b *bench) getCustomer(shop, id uuid.UUID) (query.Customer, error) {
	return b.store.Customer(b.Context(), query.CustomerParams{ShopID: shop, ID: id})
}

func (b *bench) insertSet(s query.MeasurementSet) (version int, err error) {
	return b.store.InsertMeasurementSet(b.Context(), query.InsertMeasurementSetParams{
		ID: s.ID, ShopID: s.ShopID, CustomerID: s.CustomerID, Unit: s.Unit, Given: s.Given, Report: s.Report,
		CreatedBy: s.CreatedBy, CreatedAt: s.CreatedAt,
	})
}

// erase erases a customer.
func (b *bench) erase(customer uuid.UUID) (e query.EraseCustomerDataRow, err error) {
	ctx := b.Context()
	err = b.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.EraseCustomer(ctx, query.EraseCustomerParams{ShopID: b.shop.ID, ID: customer, At: noon})
		if err == nil {
			e, err = tx.EraseCustomerData(ctx, query.EraseCustomerDataParams{CustomerID: customer, At: noon})
		}
		return err
	})
	return e, err
}

func (b *bench) stale(at time.Time) []query.StaleCustomersRow {
	b.Helper()
	list, err := b.store.StaleCustomers(b.Context(), query.StaleCustomersParams{Now: at, Limit: 10})
	b.must(err)
	return list
}

func (b *bench) newSet(c query.Customer) query.MeasurementSet {
	b.Helper()
	s := query.MeasurementSet{
		ID: newID(), ShopID: c.ShopID, CustomerID: c.ID, Unit: "cm",
		Given: json.RawMessage(`{"bust_girth": 92.50}`), Report: json.RawMessage(`{}`),
		CreatedBy: &b.key.ID, CreatedAt: noon,
	}
	var err error
	s.Version, err = b.insertSet(s)
	b.must(err)
	return s
}

// order is a valid one, not yet stored.
func (b *bench) order(reference string) query.PlaceOrderParams {
	return query.PlaceOrderParams{
		ID: newID(), ShopID: b.shop.ID, Reference: reference, CustomerID: b.customer.ID, MeasurementSetID: b.set.ID,
		Source: "api", Spec: json.RawMessage(`{"block": "torso", "fit": "regular", "unit": "cm"}`), Status: "received",
		Event: "received", CreatedBy: &b.key.ID, At: noon,
	}
}

// place stores an order. The error is db.ErrNotFound if there is no such customer.
func (b *bench) place(n query.PlaceOrderParams) (placed query.PlaceOrderRow, err error) {
	err = b.store.InTx(b.Context(), func(tx *db.Tx) error {
		placed, err = tx.PlaceOrder(b.Context(), n)
		return err
	})
	return placed, err
}

// placed stores a valid order.
func (b *bench) placed(reference string) query.ShopOrder {
	b.Helper()
	n := b.order(reference)
	_, err := b.place(n)
	b.must(err)
	return b.stored(n.ID)
}

// ready stores an order and its draft.
func (b *bench) ready(reference string) query.ShopOrder {
	b.Helper()
	o := b.placed(reference)
	applied, err := b.settle(settled(o, 1, []byte(`{"pieces":[]}`)))
	if err != nil || !applied {
		b.Fatalf("settle: applied %v, %v", applied, err)
	}
	return b.read(o)
}

func settled(o query.ShopOrder, number int, document []byte) query.SettleDraftParams {
	return query.SettleDraftParams{
		OrderID: o.ID, Request: o.DraftRequest, Status: "ready", Revision: number, At: noon, Engine: new("1.0.0"),
		Checks: json.RawMessage(`[]`), Label: json.RawMessage(`{}`), Document: document, Event: "ready",
		EventRevision: &number,
	}
}

// settle settles a draft.
func (b *bench) settle(p query.SettleDraftParams) (applied bool, err error) {
	err = b.store.InTx(b.Context(), func(tx *db.Tx) error {
		_, err := tx.SettleDraft(b.Context(), p)
		applied = err == nil
		if errors.Is(err, db.ErrNotFound) {
			return nil
		}
		return err
	})
	return applied, err
}

// queued lists the messages that the shop's endpoints have been queued.
func (b *bench) queued() []query.WebhookMessage {
	b.Helper()
	messages, err := b.store.ListMessages(b.Context(), query.ListMessagesParams{ShopID: b.shop.ID, Below: uuid.Max,
		Limit: 100})
	b.must(err)
	return messages
}

func (b *bench) read(o query.ShopOrder) query.ShopOrder {
	b.Helper()
	return b.stored(o.ID)
}

func (b *bench) stored(id uuid.UUID) query.ShopOrder {
	b.Helper()
	got, err := b.store.Order(b.Context(), query.OrderParams{ShopID: b.shop.ID, ID: id})
	b.must(err)
	return got
}

// update writes an order of any status.
func (b *bench) update(o query.ShopOrder) error {
	from := b.read(o).Status
	return b.store.InTx(b.Context(), func(tx *db.Tx) error {
		_, err := tx.UpdateOrder(b.Context(), updated(o, from))
		return err
	})
}

func updated(o query.ShopOrder, from string) query.UpdateOrderParams {
	return query.UpdateOrderParams{ShopID: o.ShopID, ID: o.ID, FromStatus: from, MeasurementSetID: o.MeasurementSetID,
		Spec: o.Spec, Status: o.Status, ReasonCode: o.ReasonCode, Faults: o.Faults, Revision: o.Revision,
		DraftRequest: o.DraftRequest, Progress: o.Progress, DueDate: o.DueDate, Assignee: o.Assignee, Note: o.Note,
		UpdatedAt: o.UpdatedAt}
}

func (b *bench) history(order uuid.UUID) ([]query.OrderEvent, error) {
	return b.store.OrderEvents(b.Context(), query.OrderEventsParams{ShopID: b.shop.ID, OrderIds: []uuid.UUID{order},
		Limit: 99})
}

func (b *bench) heads(order uuid.UUID) ([]query.DraftHead, error) {
	return b.store.DraftHeads(b.Context(), query.DraftHeadsParams{ShopID: b.shop.ID, OrderID: order, Below: 99, Limit: 99})
}

func draftOf(shop, order uuid.UUID, number int) query.DraftRevisionParams {
	return query.DraftRevisionParams{ShopID: shop, OrderID: order, Number: number}
}

func headOf(shop, order uuid.UUID, number int) query.DraftHeadParams {
	return query.DraftHeadParams{ShopID: shop, OrderID: order, Number: number}
}

// exec runs SQL past the queries, to try the schema alone.
func (b *bench) exec(sql string, args ...any) error {
	_, err := b.store.Pool().Exec(b.Context(), sql, args...)
	return db.Translate(err)
}

func (b *bench) count(sql string, args ...any) (n int) {
	b.Helper()
	b.must(b.store.Pool().QueryRow(b.Context(), sql, args...).Scan(&n))
	return n
}

// refused fails unless err is the constraint's refusal.
func (b *bench) refused(err error, constraint string) {
	b.Helper()
	if !db.Conflicts(err, constraint) {
		b.Errorf("got %v, want a refusal by %s", err, constraint)
	}
}

func (b *bench) notFound(err error) {
	b.Helper()
	if !errors.Is(err, db.ErrNotFound) {
		b.Errorf("got %v, want ErrNotFound", err)
	}
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }
