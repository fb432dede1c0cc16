package db

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tapeline/db/query"
)

func linkKeyOwner(shop uuid.UUID) string { return "shops.link_key " + shop.String() }

// InsertShop stores a shop and seals its link key. It conflicts with
// shops_slug_key if the slug is taken.
func (q Queries) InsertShop(ctx context.Context, s query.InsertShopParams) error {
	s.LinkKey = q.sealer.seal(s.LinkKey, linkKeyOwner(s.ID))
	return q.Queries.InsertShop(ctx, s)
}

// EnsureTestShop makes a shop's test shop, with its link key sealed, unless there is
// one.
func (q Queries) EnsureTestShop(ctx context.Context, s query.EnsureTestShopParams) error {
	s.LinkKey = q.sealer.seal(s.LinkKey, linkKeyOwner(s.ID))
	return q.Queries.EnsureTestShop(ctx, s)
}

// LinkKey returns the key that signs a shop's download links.
func (q Queries) LinkKey(ctx context.Context, shop uuid.UUID) ([]byte, error) {
	sealed, err := q.Queries.LinkKey(ctx, shop)
	if err != nil {
		return nil, err
	}
	return q.sealer.open(sealed, linkKeyOwner(shop))
}

// CheckSecrets returns an error if a stored secret was sealed with a key that the
// store does not have.
func (s *Store) CheckSecrets(ctx context.Context) error {
	starts, err := s.SealingKeys(ctx)
	if err != nil {
		return err
	}
	for _, start := range starts {
		if !s.sealer.has(start) {
			return ErrSealed
		}
	}
	return nil
}

// Reseal seals every secret again that isn't sealed with the first key, and
// tells how many it was. Afterwards former keys can be dropped.
func (s *Store) Reseal(ctx context.Context) (resealed int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		resealed = 0
		for _, column := range []struct{ table, name string }{
			{"shops", "link_key"}, {"shops", "inbound_secret"}, {"shops", "inbound_previous"},
			{"webhook_endpoints", "secret"}, {"webhook_endpoints", "previous"},
		} {
			// A rotation keeps the secret's bytes while moving it from the one column to the
			// other, so that both go by the name of the first.
			owner := column.table + "." + column.name
			switch column.name {
			case "inbound_previous":
				owner = "shops.inbound_secret"
			case "previous":
				owner = "webhook_endpoints.secret"
			}
			n, err := tx.resealColumn(ctx, column.table, column.name, owner)
			if err != nil {
				return err
			}
			resealed += n
		}
		return nil
	})
	return resealed, err
}

func (t *Tx) resealColumn(ctx context.Context, table, column, owner string) (int, error) {
	type secret struct {
		ID     uuid.UUID
		Sealed []byte
	}
	name := pgx.Identifier{column}.Sanitize()
	from := pgx.Identifier{table}.Sanitize()
	// Not generated: the table and column are variable.
	found, err := t.db.Query(ctx, `SELECT id, `+name+` AS sealed FROM `+from+` WHERE `+name+` <> '' FOR UPDATE`)
	if err != nil {
		return 0, translate(err)
	}
	rows, err := pgx.CollectRows(found, pgx.RowToStructByName[secret])
	if err != nil {
		return 0, translate(err)
	}
	n := 0
	for _, row := range rows {
		if t.sealer.current(row.Sealed) {
			continue
		}
		plain, err := t.sealer.open(row.Sealed, owner+" "+row.ID.String())
		if err != nil {
			return n, err
		}
		_, err = t.db.Exec(ctx, `UPDATE `+from+` SET `+name+` = $2 WHERE id = $1`,
			row.ID, t.sealer.seal(plain, owner+" "+row.ID.String()))
		if err != nil {
			return n, translate(err)
		}
		n++
	}
	return n, nil
}
