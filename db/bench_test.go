package db_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"testing"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/db/query"
)

// documentSize is that of a torso with its sleeve as drafted, in bytes.
const documentSize = 30_000

// document is JSON of the kind that drafts are: mostly digits.
func document() []byte {
	random := rand.New(rand.NewPCG(1, 2))
	b := []byte(`{"pieces":[`)
	for len(b) < documentSize {
		b = fmt.Appendf(b, `{"from":{"x":%v,"y":%v},"to":{"x":%v,"y":%v}},`,
			random.Float64()*1000, random.Float64()*1000, random.Float64()*1000, random.Float64()*1000)
	}
	return append(b, `{}]}`...)
}

// BenchmarkOrder measures the database alone, on a server with the settings of a
// real one: an order is stored with its history and message, then settled with
// its draft and another message.
//
//	go test -bench Order -run '^$' ./db
func BenchmarkOrder(b *testing.B) {
	store := dbtest.Open(b, dbtest.NewServer(b).URL(), db.Options{MaxConns: 16})
	ctx := b.Context()
	s := &orderBench{B: b, store: store, shop: newID(), draft: document()}
	_, err := db.Migrate(ctx, store.Pool())
	s.must(err)
	s.must(store.InsertShop(ctx, query.InsertShopParams{
		ID: s.shop, Slug: "shop", Name: "Shop", LinkKey: []byte("k"), CreatedAt: noon,
	}))
	s.must(store.InsertEndpoint(ctx, query.InsertEndpointParams{ID: newID(), ShopID: s.shop, URL: "https://x.example",
		Events: []string{"order.received", "order.ready"}, Secret: []byte("secret"), At: noon}))
	b.Run("Place", func(b *testing.B) {
		for b.Loop() {
			s.place(ctx)
		}
	})
	b.Run("PlaceParallel", func(b *testing.B) {
		b.SetParallelism(8)
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				s.place(ctx)
			}
		})
	})
	b.Run("PlaceAndSettleParallel", func(b *testing.B) {
		b.SetParallelism(8)
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				s.settle(ctx, s.place(ctx))
			}
		})
	})
	o := s.place(ctx)
	s.settle(ctx, o)
	b.Run("DraftHead", func(b *testing.B) {
		for b.Loop() {
			_, err := store.DraftHead(ctx, headOf(s.shop, o.ID, 0))
			s.must(err)
		}
	})
	b.Run("DraftRevision", func(b *testing.B) {
		for b.Loop() {
			_, err := store.DraftRevision(ctx, draftOf(s.shop, o.ID, 1))
			s.must(err)
		}
	})
	b.Run("Pending", func(b *testing.B) {
		for b.Loop() {
			_, err := db.Pending(ctx, store.Pool())
			s.must(err)
		}
	})
}

type orderBench struct {
	*testing.B
	store  *db.Store
	shop   uuid.UUID
	draft  []byte
	orders atomic.Int64
}

func (s *orderBench) must(err error) {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
}

// place stores an order with its history and message.
func (s *orderBench) place(ctx context.Context) query.ShopOrder {
	reference := fmt.Sprint(s.orders.Add(1))
	n := query.PlaceOrderParams{
		ID: newID(), ShopID: s.shop, Reference: reference, Source: "api", Spec: json.RawMessage(`{"block": "torso"}`),
		Status: "received", Event: "received", At: noon, EnsureCustomer: true, CustomerID: newID(),
		CustomerReference: &reference, MeasurementSetID: newID(), Unit: new("cm"),
		Given: json.RawMessage(`{"bust_girth": 92}`), Report: json.RawMessage(`{}`),
		MessageType: new("order.received"), MessageBody: new("{}"),
	}
	s.must(s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, _, err := tx.ClaimKey(ctx, s.shop, reference); err != nil {
			return err
		}
		if _, err := tx.PlaceOrder(ctx, n); err != nil {
			return err
		}
		return tx.SaveAnswer(ctx, query.SaveAnswerParams{
			ShopID: s.shop, Key: reference, Fingerprint: make([]byte, 32), Answer: []byte(`{}`), CreatedAt: noon,
		})
	}))
	return query.ShopOrder{ID: n.ID, DraftRequest: 1}
}

// settle stores the order's draft and another message.
func (s *orderBench) settle(ctx context.Context, o query.ShopOrder) {
	in := settled(o, 1, s.draft)
	in.MessageType, in.MessageBody = new("order.ready"), new("{}")
	s.must(s.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.SettleDraft(ctx, in)
		return err
	}))
}
