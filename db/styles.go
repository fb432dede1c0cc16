package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// KeepScript stores a style's script under its SHA-256, once.
func (q Queries) KeepScript(ctx context.Context, hash []byte, script string, at time.Time) error {
	there, err := scalar[bool](ctx, q.db, `SELECT EXISTS (SELECT FROM style_scripts WHERE hash = $1)`, hash)
	if err != nil || there {
		return err
	}
	_, err = exec(ctx, q.db, `
		INSERT INTO style_scripts (hash, script, used_at) VALUES ($1, $2, $3)
		ON CONFLICT (hash) DO UPDATE SET used_at = excluded.used_at WHERE style_scripts.used_at < excluded.used_at - interval '1 day'`, hash, script, at)
	return err
}

// Script reads a script by its hash.
func (q Queries) Script(ctx context.Context, hash []byte) (string, error) {
	return scalar[string](ctx, q.db, `SELECT script FROM style_scripts WHERE hash = $1`, hash)
}

// StyleRevision is one version of a shop's own style. Its script never
// changes; where it stands does.
type StyleRevision struct {
	StyleID     uuid.UUID
	Slug        string // the style's
	Number      int    // given by the database: 1, 2, ... for each style
	ShopID      uuid.UUID
	Hash        []byte          // of its script
	Head        json.RawMessage // what the script says of itself
	Lint        json.RawMessage
	Note        *string    `db:"reason"`
	State       string     `db:"status"` // draft, proved, published or retired
	ProofID     *uuid.UUID // the one that it was proved by
	CreatedBy   *uuid.UUID
	CreatedAt   time.Time
	PublishedAt *time.Time
	RetiredAt   *time.Time
}

const styleRevisionColumns = `r.style_id, s.slug, r.number, r.shop_id, r.hash, r.head, r.lint, r.reason, r.status, r.proof_id,
	r.created_by, r.created_at, r.published_at, r.retired_at`

// InsertStyleRevision stores the next revision of the style with that slug,
// which is made with StyleID where the shop has none, and gives it as stored.
// Its script must be kept.
func (t *Tx) InsertStyleRevision(ctx context.Context, r StyleRevision) (StyleRevision, error) {
	// Counting on the style's row makes two uploads at once wait for each other.
	return one[StyleRevision](ctx, t.db, `
		WITH s AS (
			INSERT INTO styles (id, shop_id, slug, revisions, created_by, created_at)
			VALUES (@id, @shop, @slug, 1, @by, @at)
			ON CONFLICT (shop_id, slug) DO UPDATE SET revisions = styles.revisions + 1
			RETURNING id, shop_id, slug, revisions
		), r AS (
			INSERT INTO style_revisions (style_id, number, shop_id, hash, head, lint, reason, status, created_by, created_at)
			SELECT id, revisions, shop_id, @hash, @head, @lint, @note, @state, @by, @at FROM s
			RETURNING *
		)
		SELECT `+styleRevisionColumns+` FROM r JOIN s ON s.id = r.style_id`,
		pgx.StrictNamedArgs{
			"id": r.StyleID, "shop": r.ShopID, "slug": r.Slug, "hash": r.Hash, "head": r.Head, "lint": r.Lint, "note": r.Note,
			"state": r.State, "by": r.CreatedBy, "at": r.CreatedAt,
		})
}

// StyleRevision finds a revision by its style's slug; number 0 is the latest
// that is published.
func (q Queries) StyleRevision(ctx context.Context, shop uuid.UUID, slug string, number int) (StyleRevision, error) {
	return one[StyleRevision](ctx, q.db, `
		SELECT `+styleRevisionColumns+` FROM styles s JOIN style_revisions r ON r.style_id = s.id
		WHERE s.shop_id = $1 AND s.slug = $2 AND CASE WHEN $3::integer = 0 THEN r.status = 'published' ELSE r.number = $3::integer END
		ORDER BY r.number DESC LIMIT 1`, shop, slug, number)
}

// StyleRevisionForUpdate reads a revision and locks it until the transaction
// ends.
func (t *Tx) StyleRevisionForUpdate(ctx context.Context, shop uuid.UUID, slug string, number int) (StyleRevision, error) {
	return one[StyleRevision](ctx, t.db, `
		SELECT `+styleRevisionColumns+` FROM styles s JOIN style_revisions r ON r.style_id = s.id
		WHERE s.shop_id = $1 AND s.slug = $2 AND r.number = $3 FOR NO KEY UPDATE OF r`, shop, slug, number)
}

// SetStyleState writes where a revision stands. The caller has
// checked that it may follow what was before.
func (t *Tx) SetStyleState(ctx context.Context, r StyleRevision) error {
	return execOne(ctx, t.db, `
		UPDATE style_revisions SET status = $3, proof_id = $4, published_at = $5, retired_at = $6
		WHERE style_id = $1 AND number = $2`, r.StyleID, r.Number, r.State, r.ProofID, r.PublishedAt, r.RetiredAt)
}

// StyleRevisions lists the revisions of a shop's style, newest first; there is
// none where the shop has no such style.
func (q Queries) StyleRevisions(ctx context.Context, shop uuid.UUID, slug string) ([]StyleRevision, error) {
	return many[StyleRevision](ctx, q.db, `
		SELECT `+styleRevisionColumns+` FROM styles s JOIN style_revisions r ON r.style_id = s.id
		WHERE s.shop_id = $1 AND s.slug = $2 ORDER BY r.number DESC`, shop, slug)
}

// StyleRevisionCount is how many revisions a shop's style has, 0 where the
// shop has no such style.
func (q Queries) StyleRevisionCount(ctx context.Context, shop uuid.UUID, slug string) (int, error) {
	return scalar[int](ctx, q.db, `SELECT coalesce(max(revisions), 0) FROM styles WHERE shop_id = $1 AND slug = $2`, shop, slug)
}

// StyleSlugs lists the slugs of a shop's own styles.
func (q Queries) StyleSlugs(ctx context.Context, shop uuid.UUID) ([]string, error) {
	rows, err := q.db.Query(ctx, `SELECT slug FROM styles WHERE shop_id = $1 ORDER BY slug`, shop)
	if err != nil {
		return nil, translate(err)
	}
	slugs, err := pgx.CollectRows(rows, pgx.RowTo[string])
	return slugs, translate(err)
}

// ShopStyle is a style with the revision that says what it is: the latest
// published one, or else the latest.
type ShopStyle struct {
	StyleRevision
	Revisions int // how many there are
}

// ShopStyles lists a shop's own styles by slug.
func (q Queries) ShopStyles(ctx context.Context, shop uuid.UUID) ([]ShopStyle, error) {
	return many[ShopStyle](ctx, q.db, `
		SELECT DISTINCT ON (s.slug) `+styleRevisionColumns+`, s.revisions
		FROM styles s JOIN style_revisions r ON r.style_id = s.id
		WHERE s.shop_id = $1 ORDER BY s.slug, (r.status = 'published') DESC, r.number DESC`, shop)
}
