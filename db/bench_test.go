package db_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"testing"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/db/query"
)

// geometrySize is that of a torso with its sleeve as drafted, in bytes.
const geometrySize = 30_000

// geometry is JSON of the kind that drafts are: mostly digits.
func geometry() []byte {
	random := rand.New(rand.NewPCG(1, 2))
	b := []byte(`{"pieces":[`)
	for len(b) < geometrySize {
		b = fmt.Appendf(b, `{"from":{"x":%v,"y":%v},"to":{"x":%v,"y":%v}},`,
			random.Float64()*1000, random.Float64()*1000, random.Float64()*1000, random.Float64()*1000)
	}
	return append(b, `{}]}`...)
}

// What an order costs the database, on a server with the settings of a real
// one: stored with its history and message, then settled with its draft and
// another message.
//
//	go test -bench Order -run '^$' ./db
func BenchmarkOrder(b *testing.B) {
	s := dbtest.NewServer(b)
	store := dbtest.Open(b, s.URL(), db.Options{MaxConns: 16})
	ctx := b.Context()
	must := func(err error) {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
	}
	_, err := db.Migrate(ctx, store.Pool())
	must(err)
	shop := query.InsertShopParams{ID: newID(), Slug: "shop", Name: "Shop", LinkKey: []byte("k"), CreatedAt: noon}
	must(store.InsertShop(ctx, shop))
	must(store.InsertEndpoint(ctx, query.InsertEndpointParams{ID: newID(), ShopID: shop.ID, URL: "https://x.example",
		Events: []string{"order.received", "order.ready"}, Secret: []byte("secret"), At: noon}))
	var n atomic.Int64
	place := func(ctx context.Context) db.Order {
		reference := fmt.Sprint(n.Add(1))
		o := db.Order{
			ID: newID(), ShopID: shop.ID, Reference: reference, Source: "api", Spec: json.RawMessage(`{"block": "torso"}`),
			Status: "received", DraftRequest: 1, CreatedAt: noon, UpdatedAt: noon,
		}
		must(store.InTx(ctx, func(tx *db.Tx) error {
			if _, _, err := tx.ClaimKey(ctx, shop.ID, reference); err != nil {
				return err
			}
			_, err := tx.PlaceOrder(ctx, db.NewOrder{
				Order:    o,
				Customer: &db.Customer{ID: newID(), ShopID: shop.ID, Reference: &reference, CreatedAt: noon, UpdatedAt: noon},
				Set: &db.MeasurementSet{
					ID: newID(), ShopID: shop.ID, Unit: "cm", Given: json.RawMessage(`{"bust_girth": 92}`),
					Report: json.RawMessage(`{}`), CreatedAt: noon,
				},
				Event:   event(o, "received"),
				Message: &db.NewMessage{ShopID: shop.ID, Type: "order.received", OrderID: &o.ID, Body: `{}`, At: noon},
			})
			if err != nil {
				return err
			}
			return tx.SaveAnswer(ctx, db.Answer{
				ShopID: shop.ID, Key: reference, Fingerprint: make([]byte, 32), Answer: []byte(`{}`), CreatedAt: noon,
			})
		}))
		return o
	}
	draft := geometry()
	settle := func(ctx context.Context, o db.Order) {
		s := settled(o, 1, draft)
		s.Message = &db.NewMessage{Type: "order.ready", Body: `{}`}
		must(store.InTx(ctx, func(tx *db.Tx) error {
			_, _, err := tx.SettleDraft(ctx, s)
			return err
		}))
	}
	b.Run("Place", func(b *testing.B) {
		for b.Loop() {
			place(ctx)
		}
	})
	b.Run("PlaceParallel", func(b *testing.B) {
		b.SetParallelism(8)
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				place(ctx)
			}
		})
	})
	b.Run("PlaceAndSettleParallel", func(b *testing.B) {
		b.SetParallelism(8)
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				settle(ctx, place(ctx))
			}
		})
	})
	o := place(ctx)
	settle(ctx, o)
	b.Run("DraftHead", func(b *testing.B) {
		for b.Loop() {
			_, err := store.DraftHead(ctx, shop.ID, o.ID, 0)
			must(err)
		}
	})
	b.Run("DraftRevision", func(b *testing.B) {
		for b.Loop() {
			_, err := store.DraftRevision(ctx, shop.ID, o.ID, 1)
			must(err)
		}
	})
	b.Run("Pending", func(b *testing.B) {
		for b.Loop() {
			_, err := db.Pending(ctx, store.Pool())
			must(err)
		}
	})
}
