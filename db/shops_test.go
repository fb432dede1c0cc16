package db_test

import (
	"bytes"
	"crypto/rand"
	"encoding/base64"
	"reflect"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/db/query"
)

func TestShop(t *testing.T) {
	b := setup(t)
	got, err := b.store.ShopBySlug(t.Context(), b.shop.Slug)
	b.must(err)
	if got.ID != b.shop.ID || got.Name != b.shop.Name || got.RetentionDays != nil ||
		!got.CreatedAt.Equal(b.shop.CreatedAt) {
		t.Errorf("ShopBySlug = %+v, want %+v", got, b.shop)
	}
	if key, err := b.store.LinkKey(t.Context(), b.shop.ID); err != nil || !bytes.Equal(key, b.shop.LinkKey) {
		t.Errorf("LinkKey = %q, %v", key, err)
	}
	b.must(b.retain(b.shop.ID, 90))
	b.newShop("Another", "another")
	all, err := b.store.Shops(t.Context())
	b.must(err)
	if len(all) != 2 || all[0].Slug != "another" || *all[1].RetentionDays != 90 {
		t.Errorf("Shops = %+v", all)
	}
	_, err = b.store.ShopBySlug(t.Context(), "nobody")
	b.notFound(err)
	b.notFound(b.retain(newID(), 1))

	again := b.shop
	again.ID = newID()
	b.refused(b.store.InsertShop(t.Context(), again), "shops_slug_key")
	again.Slug = "Not A Slug"
	b.refused(b.store.InsertShop(t.Context(), again), "shops_slug")
	b.refused(b.retain(b.shop.ID, 0), "shops_retention")
}

func (b *bench) retain(shop uuid.UUID, days int) error {
	_, err := b.store.SetShopSettings(b.Context(), query.SetShopSettingsParams{ID: shop, TimeZone: "UTC",
		RetentionDays: &days})
	return err
}

func (b *bench) rotateInbound(store *db.Store, shop uuid.UUID, secret string, until time.Time) error {
	_, err := store.RotateInboundSecret(b.Context(), query.RotateInboundSecretParams{ID: shop, Secret: []byte(secret),
		PreviousUntil: until})
	return err
}

func TestInboundSecretRotation(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	_, err := b.store.InboundSecrets(ctx, b.shop.ID)
	b.notFound(err)

	valid := func(at time.Time) []string {
		t.Helper()
		s, err := b.store.InboundSecrets(ctx, b.shop.ID)
		b.must(err)
		return s.Valid(at)
	}
	until := noon.Add(24 * time.Hour)
	b.must(b.rotateInbound(b.store, b.shop.ID, "first", until))
	if got := valid(noon); !reflect.DeepEqual(got, []string{"first"}) {
		t.Errorf("after the first: %q", got)
	}
	b.must(b.rotateInbound(b.store, b.shop.ID, "second", until))
	if got := valid(noon); !reflect.DeepEqual(got, []string{"second", "first"}) {
		t.Errorf("during the overlap: %q", got)
	}
	if got := valid(until); !reflect.DeepEqual(got, []string{"second"}) {
		t.Errorf("after the overlap: %q", got)
	}
	b.must(b.rotateInbound(b.store, b.shop.ID, "third", until))
	if got := valid(noon); !reflect.DeepEqual(got, []string{"third", "second"}) {
		t.Errorf("rotated twice: %q", got)
	}
	_, err = b.store.RemoveInboundSecrets(ctx, b.shop.ID)
	b.must(err)
	_, err = b.store.InboundSecrets(ctx, b.shop.ID)
	b.notFound(err)
	b.notFound(b.rotateInbound(b.store, newID(), "x", until))
	b.notFound(errOf(b.store.RemoveInboundSecrets(ctx, newID())))
}

func TestSecretsAtRest(t *testing.T) {
	b := setup(t) // its shop's link key is stored in plain
	ctx := t.Context()
	sealer := func(keys ...string) db.Sealer {
		text := ""
		for i, k := range keys {
			if i > 0 {
				text += ","
			}
			text += k
		}
		s, err := db.NewSealer(text)
		b.must(err)
		return s
	}
	key := func() string {
		k := make([]byte, 32)
		rand.Read(k)
		return base64.StdEncoding.EncodeToString(k)
	}
	url := b.store.Pool().Config().ConnString()
	first, second := key(), key()

	one := dbtest.Open(t, url, db.Options{Sealer: sealer(first)})
	b.must(b.rotateInbound(one, b.shop.ID, "inbound one", noon))
	b.must(b.rotateInbound(one, b.shop.ID, "inbound two", noon))
	e := b.endpoint("order.ready")
	_, err := one.RotateEndpointSecret(ctx, query.RotateEndpointSecretParams{ShopID: b.shop.ID, ID: e.ID,
		Secret:        []byte("endpoint two"),
		PreviousUntil: noon, At: noon})
	b.must(err)

	var stored []byte
	b.must(b.store.Pool().QueryRow(ctx, `SELECT inbound_secret || inbound_previous FROM shops`).Scan(&stored))
	if bytes.Contains(stored, []byte("inbound")) {
		t.Errorf("secrets can be read in the table: %q", stored)
	}
	if _, err := b.store.InboundSecrets(ctx, b.shop.ID); err == nil {
		t.Error("a sealed secret was opened without a key")
	}

	// Changing the key: both, reseal, then the new one alone. The plain ones are sealed on the way.
	if err := b.store.CheckSecrets(ctx); err == nil {
		t.Error("sealed secrets pass the check without a key")
	}
	both := dbtest.Open(t, url, db.Options{Sealer: sealer(second, first)})
	n, err := both.Reseal(ctx)
	b.must(err)
	if n != 5 { // link key, two inbound, two of the endpoint
		t.Errorf("resealed %d, want 5", n)
	}
	b.must(both.CheckSecrets(ctx))
	if err := one.CheckSecrets(ctx); err == nil {
		t.Error("secrets sealed with a key that it does not have pass the check")
	}
	if n, err := both.Reseal(ctx); n != 0 || err != nil {
		t.Errorf("resealed again: %d, %v, want none", n, err)
	}
	after := dbtest.Open(t, url, db.Options{Sealer: sealer(second)})
	inbound, err := after.InboundSecrets(ctx, b.shop.ID)
	b.must(err)
	b.messages(query.QueueMessagesParams{Type: "order.ready", At: noon})
	claimed, err := after.ClaimMessages(ctx, query.ClaimMessagesParams{At: noon, ClaimedUntil: noon, Each: 1, PerShop: 1,
		Limit: 1})
	b.must(err)
	endpoint := claimed[0].Secrets
	linkKey, err := after.LinkKey(ctx, b.shop.ID)
	b.must(err)
	if inbound.Current != "inbound two" || *inbound.Previous != "inbound one" ||
		endpoint.Current != "endpoint two" || *endpoint.Previous != "endpoint one" || !bytes.Equal(linkKey, b.shop.LinkKey) {
		t.Errorf("after the change: %+v, %+v, %q", inbound, endpoint, linkKey)
	}
}
