package db

import (
	"context"
	"time"

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

// LinkKey returns the key that signs a shop's download links.
func (q Queries) LinkKey(ctx context.Context, shop uuid.UUID) ([]byte, error) {
	sealed, err := q.Queries.LinkKey(ctx, shop)
	if err != nil {
		return nil, err
	}
	return q.sealer.open(sealed, linkKeyOwner(shop))
}

// Secrets are those of an endpoint or of a shop's inbound messages. Two are
// valid at once while a rotation lasts.
type Secrets struct {
	Current       string
	Previous      *string
	PreviousUntil *time.Time
}

// Valid lists the secrets that hold at the time, the current one first.
func (s Secrets) Valid(at time.Time) []string {
	valid := []string{s.Current}
	if s.Previous != nil && s.PreviousUntil != nil && at.Before(*s.PreviousUntil) {
		valid = append(valid, *s.Previous)
	}
	return valid
}

// sealedSecrets are Secrets as stored.
type sealedSecrets struct {
	Secret, Previous []byte
	PreviousUntil    *time.Time
}

func (q Queries) openSecrets(row sealedSecrets, owner string) (s Secrets, err error) {
	current, err := q.sealer.open(row.Secret, owner)
	if err != nil {
		return Secrets{}, err
	}
	previous, err := q.sealer.openText(row.Previous, owner)
	return Secrets{Current: string(current), Previous: previous, PreviousUntil: row.PreviousUntil}, err
}

func inboundOwner(shop uuid.UUID) string { return "shops.inbound_secret " + shop.String() }

// InboundSecrets gives ErrNotFound when the shop takes no inbound messages.
func (q Queries) InboundSecrets(ctx context.Context, shop uuid.UUID) (Secrets, error) {
	row, err := one[sealedSecrets](ctx, q.db, `
		SELECT inbound_secret AS secret, inbound_previous AS previous, inbound_previous_until AS previous_until
		FROM shops WHERE id = $1 AND inbound_secret IS NOT NULL`, shop)
	if err != nil {
		return Secrets{}, err
	}
	return q.openSecrets(row, inboundOwner(shop))
}

// RotateInboundSecret makes secret the current one; the former, if there was
// one, is valid until the time given, and the one before that no more.
func (q Queries) RotateInboundSecret(ctx context.Context, shop uuid.UUID, secret string, formerUntil time.Time) error {
	return execOne(ctx, q.db, `
		UPDATE shops SET
			inbound_previous = inbound_secret,
			inbound_previous_until = CASE WHEN inbound_secret IS NOT NULL THEN $3::timestamptz END,
			inbound_secret = $2
		WHERE id = $1`, shop, q.sealer.seal([]byte(secret), inboundOwner(shop)), formerUntil)
}

// RemoveInboundSecrets ends the taking of inbound messages.
func (q Queries) RemoveInboundSecrets(ctx context.Context, shop uuid.UUID) error {
	return execOne(ctx, q.db, `
		UPDATE shops SET inbound_secret = NULL, inbound_previous = NULL, inbound_previous_until = NULL
		WHERE id = $1`, shop)
}

// Reseal seals every secret anew that isn't sealed with the first key, and
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
	rows, err := many[secret](ctx, t.db, `SELECT id, `+name+` AS sealed FROM `+from+` WHERE `+name+` <> '' FOR UPDATE`)
	if err != nil {
		return 0, err
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
		_, err = exec(ctx, t.db, `UPDATE `+from+` SET `+name+` = $2 WHERE id = $1`,
			row.ID, t.sealer.seal(plain, owner+" "+row.ID.String()))
		if err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}
