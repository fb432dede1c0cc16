package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
)

// Link hands out one file of an order without a key. Its address is signed
// with the shop's link key and not kept.
type Link struct {
	ID        uuid.UUID
	ShopID    uuid.UUID
	OrderID   uuid.UUID
	Revision  int
	Format    string          // such as pdf
	Options   json.RawMessage // paper, orientation, overlap ...
	MaxUses   int
	Uses      int
	CreatedBy *uuid.UUID
	CreatedAt time.Time
	ExpiresAt time.Time
	RevokedAt *time.Time
}

const linkColumns = `l.id, l.shop_id, l.order_id, l.revision, l.format, l.options, l.max_uses, l.uses, l.created_by,
	l.created_at, l.expires_at, l.revoked_at`

func (q Queries) InsertLink(ctx context.Context, l Link) error {
	_, err := exec(ctx, q.db, `
		INSERT INTO download_links (id, shop_id, order_id, revision, format, options, max_uses, created_by, created_at, expires_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
		l.ID, l.ShopID, l.OrderID, l.Revision, l.Format, l.Options, l.MaxUses, l.CreatedBy, l.CreatedAt, l.ExpiresAt)
	return err
}

// Links lists an order's, newest first.
func (q Queries) Links(ctx context.Context, shop, order uuid.UUID) ([]Link, error) {
	return many[Link](ctx, q.db, `
		SELECT `+linkColumns+` FROM download_links l WHERE l.shop_id = $1 AND l.order_id = $2 ORDER BY l.id DESC`, shop, order)
}

// FollowedLink is a link with what is needed to check and serve it.
type FollowedLink struct {
	Link
	LinkKey []byte          // of the shop
	Status  string          // the order's
	Hash    []byte          // the revision's
	Label   json.RawMessage `db:"label"`
	Erased  bool            // the revision has no geometry any more
}

// FollowedLink reads, by the link's id alone, what its use is checked against.
func (q Queries) FollowedLink(ctx context.Context, id uuid.UUID) (FollowedLink, error) {
	f, err := one[FollowedLink](ctx, q.db, `
		SELECT `+linkColumns+`, s.link_key, o.status, d.hash, d.label, d.erased_at IS NOT NULL AS erased
		FROM download_links l
		JOIN shops s ON s.id = l.shop_id
		JOIN orders o ON o.id = l.order_id
		JOIN draft_revisions d ON d.order_id = l.order_id AND d.number = l.revision
		WHERE l.id = $1`, id)
	if err != nil {
		return FollowedLink{}, err
	}
	f.LinkKey, err = q.sealer.open(f.LinkKey, linkKeyOwner(f.ShopID))
	return f, err
}

// UseLink counts one use. ErrNotFound says that the link is used up, expired
// or revoked. Of uses at the same moment no more get through than are left.
func (q Queries) UseLink(ctx context.Context, id uuid.UUID, at time.Time) error {
	return execOne(ctx, q.db, `
		UPDATE download_links SET uses = uses + 1
		WHERE id = $1 AND uses < max_uses AND expires_at > $2 AND revoked_at IS NULL`, id, at)
}

// RevokeLink ends a link; one revoked before keeps its time.
func (q Queries) RevokeLink(ctx context.Context, shop, order, id uuid.UUID, at time.Time) error {
	return execOne(ctx, q.db, `
		UPDATE download_links SET revoked_at = coalesce(revoked_at, $4)
		WHERE shop_id = $1 AND order_id = $2 AND id = $3`, shop, order, id, at)
}
