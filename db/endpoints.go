package db

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Endpoint is where a shop wants its messages sent.
type Endpoint struct {
	ID             uuid.UUID
	ShopID         uuid.UUID
	URL            string `db:"url"`
	Description    string
	Events         []string // types that it listens for
	DisabledAt     *time.Time
	DisabledReason *string // set when DisabledAt is
	CreatedAt      time.Time
	UpdatedAt      time.Time
}

const endpointColumns = `id, shop_id, url, description, events, disabled_at, disabled_reason, created_at, updated_at`

func endpointOwner(id uuid.UUID) string { return "webhook_endpoints.secret " + id.String() }

// InsertEndpoint stores an endpoint with its first secret.
func (q Queries) InsertEndpoint(ctx context.Context, e Endpoint, secret string) error {
	_, err := exec(ctx, q.db, `
		INSERT INTO webhook_endpoints (id, shop_id, url, description, events, secret, disabled_at, disabled_reason, created_at, updated_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
		e.ID, e.ShopID, e.URL, e.Description, e.Events, q.sealer.seal([]byte(secret), endpointOwner(e.ID)),
		e.DisabledAt, e.DisabledReason, e.CreatedAt, e.UpdatedAt)
	return err
}

func (q Queries) Endpoint(ctx context.Context, shop, id uuid.UUID) (Endpoint, error) {
	return one[Endpoint](ctx, q.db, `
		SELECT `+endpointColumns+` FROM webhook_endpoints
		WHERE shop_id = $1 AND id = $2 AND deleted_at IS NULL`, shop, id)
}

// Endpoints lists a shop's, newest first.
func (q Queries) Endpoints(ctx context.Context, shop uuid.UUID) ([]Endpoint, error) {
	return many[Endpoint](ctx, q.db, `
		SELECT `+endpointColumns+` FROM webhook_endpoints
		WHERE shop_id = $1 AND deleted_at IS NULL ORDER BY id DESC`, shop)
}

// UpdateEndpoint writes all but the secrets.
func (q Queries) UpdateEndpoint(ctx context.Context, e Endpoint) error {
	return execOne(ctx, q.db, `
		UPDATE webhook_endpoints SET url = @url, description = @description, events = @events,
			disabled_at = @disabled_at, disabled_reason = @disabled_reason, updated_at = @at
		WHERE shop_id = @shop AND id = @id AND deleted_at IS NULL`,
		pgx.StrictNamedArgs{
			"shop": e.ShopID, "id": e.ID, "url": e.URL, "description": e.Description, "events": e.Events,
			"disabled_at": e.DisabledAt, "disabled_reason": e.DisabledReason, "at": e.UpdatedAt,
		})
}

// DisableEndpoint stops messages to an endpoint; one disabled before keeps its
// reason.
func (q Queries) DisableEndpoint(ctx context.Context, shop, id uuid.UUID, reason string, at time.Time) error {
	return execOne(ctx, q.db, `
		UPDATE webhook_endpoints SET
			disabled_reason = coalesce(disabled_reason, $3), disabled_at = coalesce(disabled_at, $4), updated_at = $4
		WHERE shop_id = $1 AND id = $2 AND deleted_at IS NULL`, shop, id, reason, at)
}

// DeleteEndpoint takes an endpoint out of use, forgets its secrets and gives up
// its pending messages, which stay readable.
func (t *Tx) DeleteEndpoint(ctx context.Context, shop, id uuid.UUID, at time.Time) error {
	err := execOne(ctx, t.db, `
		UPDATE webhook_endpoints SET deleted_at = $3, updated_at = $3, secret = '', previous = NULL, previous_until = NULL
		WHERE shop_id = $1 AND id = $2 AND deleted_at IS NULL`, shop, id, at)
	if err != nil {
		return err
	}
	_, err = exec(ctx, t.db, `
		UPDATE webhook_messages SET status = 'dead', settled_at = $2, next_attempt_at = NULL
		WHERE endpoint_id = $1 AND status = 'pending'`, id, at)
	return err
}

// EndpointSecrets are those that sign messages to the endpoint.
func (q Queries) EndpointSecrets(ctx context.Context, shop, id uuid.UUID) (Secrets, error) {
	row, err := one[sealedSecrets](ctx, q.db, `
		SELECT secret, previous, previous_until FROM webhook_endpoints
		WHERE shop_id = $1 AND id = $2 AND deleted_at IS NULL`, shop, id)
	if err != nil {
		return Secrets{}, err
	}
	return q.openSecrets(row, endpointOwner(id))
}

// RotateEndpointSecret makes secret the current one; the former signs beside
// it until the time given, and the one before that no more.
func (q Queries) RotateEndpointSecret(ctx context.Context, shop, id uuid.UUID, secret string, formerUntil, at time.Time) error {
	return execOne(ctx, q.db, `
		UPDATE webhook_endpoints SET previous = secret, previous_until = $4, secret = $3, updated_at = $5
		WHERE shop_id = $1 AND id = $2 AND deleted_at IS NULL`,
		shop, id, q.sealer.seal([]byte(secret), endpointOwner(id)), formerUntil, at)
}
