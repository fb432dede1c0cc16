package db_test

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

func TestAPIKeys(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	other := b.newShop("Another", "another")

	get := func() query.APIKey {
		t.Helper()
		k, err := b.store.APIKeyByPrefix(ctx, b.key.Prefix)
		b.must(err)
		return k.APIKey
	}
	if k := get(); k.ID != b.key.ID || k.Role != "shop" || !bytes.Equal(k.Hash, b.key.Hash) || k.RevokedAt != nil ||
		k.LastUsedAt != nil {
		t.Errorf("APIKeyByPrefix = %+v", k)
	}
	_, err := b.store.APIKeyByPrefix(ctx, "tl_nothing")
	b.notFound(err)

	for _, tt := range []struct{ at, want time.Time }{
		{noon, noon},
		{noon.Add(59 * time.Second), noon}, // too soon to write again
		{noon.Add(61 * time.Second), noon.Add(61 * time.Second)},
	} {
		b.must(b.store.TouchAPIKey(ctx, query.TouchAPIKeyParams{ID: b.key.ID, At: tt.at}))
		if got := get().LastUsedAt; !got.Equal(tt.want) {
			t.Errorf("touched at %v: last used %v, want %v", tt.at, got, tt.want)
		}
	}

	revoke := func(shop uuid.UUID, at time.Time) error {
		_, err := b.store.RevokeAPIKey(ctx, query.RevokeAPIKeyParams{ShopID: shop, ID: b.key.ID, At: at})
		return err
	}
	b.notFound(revoke(other.ID, noon))
	b.must(revoke(b.shop.ID, noon))
	b.must(revoke(b.shop.ID, noon.Add(time.Hour)))
	if got := get().RevokedAt; !got.Equal(noon) {
		t.Errorf("revoked twice: %v, want the first time", got)
	}
	if keys, err := b.store.ListAPIKeys(ctx, b.shop.ID); err != nil || len(keys) != 1 {
		t.Errorf("APIKeys = %v, %v", keys, err)
	}
	if keys, err := b.store.ListAPIKeys(ctx, other.ID); err != nil || len(keys) != 0 {
		t.Errorf("APIKeys of another shop = %v, %v", keys, err)
	}

	for constraint, spoil := range map[string]func(*query.InsertAPIKeyParams){
		"api_keys_prefix_key":   func(k *query.InsertAPIKeyParams) { k.Prefix = b.key.Prefix },
		"api_keys_prefix":       func(k *query.InsertAPIKeyParams) { k.Prefix = "tl" },
		"api_keys_role":         func(k *query.InsertAPIKeyParams) { k.Role = "owner" },
		"api_keys_hash":         func(k *query.InsertAPIKeyParams) { k.Hash = []byte("the key itself") },
		"api_keys_name":         func(k *query.InsertAPIKeyParams) { k.Name = "" },
		"api_keys_shop_id_fkey": func(k *query.InsertAPIKeyParams) { k.ShopID = newID() },
	} {
		k := query.InsertAPIKeyParams{ID: newID(), ShopID: b.shop.ID, Name: "n", Role: "admin", Prefix: "tl_other1",
			Hash: make([]byte, 32), CreatedAt: noon}
		spoil(&k)
		b.refused(b.store.InsertAPIKey(ctx, k), constraint)
	}
}

func TestAudit(t *testing.T) {
	b := setup(t)
	ctx := t.Context()
	for i, action := range []string{"key.created", "customer.erased", "key.created"} {
		b.must(b.store.AppendAudit(ctx, query.AppendAuditParams{
			ShopID: b.shop.ID, Actor: &b.key.ID, Action: action, SubjectType: "customer", SubjectID: &b.customer.ID,
			RequestID: new("r-1"), Detail: json.RawMessage(`{"n": 1}`), At: noon.Add(time.Duration(i) * hour),
		}))
	}
	all, err := b.store.ListAudit(ctx, query.ListAuditParams{ShopID: b.shop.ID, Limit: 10})
	b.must(err)
	if len(all) != 3 || !all[0].At.After(all[1].At) || *all[0].RequestID != "r-1" || string(all[0].Detail) != `{"n": 1}` {
		t.Errorf("AuditEntries = %+v", all)
	}
	for name, tt := range map[string]struct {
		list query.ListAuditParams
		want int
	}{
		"action":  {query.ListAuditParams{Action: new("key.created"), Limit: 10}, 2},
		"subject": {query.ListAuditParams{SubjectID: &b.customer.ID, Limit: 10}, 3},
		"nobody":  {query.ListAuditParams{SubjectID: new(newID()), Limit: 10}, 0},
		"limit":   {query.ListAuditParams{Limit: 2}, 2},
		"after":   {query.ListAuditParams{Limit: 10, Before: &all[0].ID}, 2},
	} {
		tt.list.ShopID = b.shop.ID
		got, err := b.store.ListAudit(ctx, tt.list)
		if err != nil || len(got) != tt.want {
			t.Errorf("%s: %d entries, %v, want %d", name, len(got), err, tt.want)
		}
	}
	// They cannot be changed, nor removed in their first year.
	b.must(b.store.AppendAudit(ctx, query.AppendAuditParams{ShopID: b.shop.ID, Action: "key.created", SubjectType: "key",
		At: time.Now()}))
	for _, sql := range []string{`UPDATE audit_entries SET action = 'x'`, `DELETE FROM audit_entries`,
		`TRUNCATE audit_entries`} {
		b.refused(b.exec(sql), "audit_entries_append_only")
	}
}
