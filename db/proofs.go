package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Proof drafts a style revision on many bodies. Once it is over it never
// changes, and holds no body.
type Proof struct {
	ProofHead
	BodyRows json.RawMessage // of a file, the bodies; of customers, the ids of their measurement sets; nil when it is over
	Counted  json.RawMessage // what is known so far; nil when it is over
}

// ProofHead is a proof without what it works on.
type ProofHead struct {
	ID         uuid.UUID
	ShopID     uuid.UUID
	StyleID    uuid.UUID
	Slug       string // the style's
	Number     int    // the revision's
	Bodies     string // panel, file or customers
	Status     string // waiting, running, done, cancelled or failed
	Done       int    // drafts made
	Total      int
	Result     json.RawMessage // when done
	CreatedBy  *uuid.UUID
	CreatedAt  time.Time
	StartedAt  *time.Time
	FinishedAt *time.Time
}

const proofColumns = `p.id, p.shop_id, p.style_id, s.slug, p.number, p.bodies, p.status, p.done, p.total, p.result,
	p.created_by, p.created_at, p.started_at, p.finished_at`

// InsertProof stores a proof that waits to be run.
func (t *Tx) InsertProof(ctx context.Context, p Proof) error {
	_, err := exec(ctx, t.db, `
		INSERT INTO style_proofs (id, shop_id, style_id, number, bodies, body_rows, status, total, created_by, created_at)
		VALUES (@id, @shop, @style, @number, @bodies, @rows, 'waiting', @total, @by, @at)`,
		pgx.StrictNamedArgs{"id": p.ID, "shop": p.ShopID, "style": p.StyleID, "number": p.Number, "bodies": p.Bodies, "rows": p.BodyRows,
			"total": p.Total, "by": p.CreatedBy, "at": p.CreatedAt})
	return err
}

// ProofHead reads a shop's proof.
func (q Queries) ProofHead(ctx context.Context, shop, id uuid.UUID) (ProofHead, error) {
	return one[ProofHead](ctx, q.db, `
		SELECT `+proofColumns+` FROM style_proofs p JOIN styles s ON s.id = p.style_id WHERE p.shop_id = $1 AND p.id = $2`, shop, id)
}

// ProofHeads lists the proofs of a revision, newest first.
func (q Queries) ProofHeads(ctx context.Context, style uuid.UUID, number, limit int) ([]ProofHead, error) {
	return many[ProofHead](ctx, q.db, `
		SELECT `+proofColumns+` FROM style_proofs p JOIN styles s ON s.id = p.style_id
		WHERE p.style_id = $1 AND p.number = $2 ORDER BY p.id DESC LIMIT $3`, style, number, limit)
}

// Proof reads a proof with all that running it needs, by id alone.
func (q Queries) Proof(ctx context.Context, id uuid.UUID) (Proof, error) {
	return one[Proof](ctx, q.db, `
		SELECT `+proofColumns+`, p.body_rows, p.counted FROM style_proofs p JOIN styles s ON s.id = p.style_id WHERE p.id = $1`, id)
}

// OpenProofs counts a shop's proofs that are not over. Until the transaction
// ends nobody else counts them, so that two do not both find room for one.
func (t *Tx) OpenProofs(ctx context.Context, shop uuid.UUID) (int, error) {
	if _, err := exec(ctx, t.db, `SELECT FROM shops WHERE id = $1 FOR NO KEY UPDATE`, shop); err != nil {
		return 0, err
	}
	return scalar[int](ctx, t.db, `SELECT count(*) FROM style_proofs WHERE shop_id = $1 AND finished_at IS NULL`, shop)
}

// AdvanceProof notes that a proof has come from one number of drafts to
// another. It does not where the proof is over, or where another run of it has
// come further.
func (q Queries) AdvanceProof(ctx context.Context, id uuid.UUID, from, done int, counted json.RawMessage, at time.Time) (advanced bool, err error) {
	n, err := exec(ctx, q.db, `
		UPDATE style_proofs SET status = 'running', done = $3, counted = $4, started_at = coalesce(started_at, $5)
		WHERE id = $1 AND done = $2 AND finished_at IS NULL`, id, from, done, counted, at)
	return n > 0, err
}

// FinishProof ends a proof that is not over: done with its result, cancelled or
// failed. What it worked on is forgotten.
func (q Queries) FinishProof(ctx context.Context, id uuid.UUID, status string, result json.RawMessage, at time.Time) (finished bool, err error) {
	n, err := exec(ctx, q.db, `
		UPDATE style_proofs SET status = $2, result = $3, finished_at = $4, body_rows = NULL, counted = NULL
		WHERE id = $1 AND finished_at IS NULL`, id, status, result, at)
	return n > 0, err
}

// LeftProofs lists proofs that are not over, were made before the time and have
// no job that is still to run.
func (q Queries) LeftProofs(ctx context.Context, kind string, before time.Time, limit int) ([]uuid.UUID, error) {
	rows, err := q.db.Query(ctx, `
		SELECT p.id FROM style_proofs p
		WHERE p.finished_at IS NULL AND p.created_at < $2
			AND NOT EXISTS (SELECT FROM river_job j WHERE j.kind = $1 AND `+unfinished+` AND j.args ->> 'proof_id' = p.id::text)
		ORDER BY p.created_at LIMIT $3`, kind, before, limit)
	if err != nil {
		return nil, translate(err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	return ids, translate(err)
}
