package db

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// NewMessage is an event to tell a shop's endpoints of.
type NewMessage struct {
	ShopID  uuid.UUID
	Type    string
	OrderID *uuid.UUID // nil: a test message
	Body    string     // as signed and sent, less than 20 kB
	At      time.Time
}

// QueuedMessage is a message made for one endpoint, to be delivered.
type QueuedMessage struct {
	ID         uuid.UUID
	EndpointID uuid.UUID
}

// Message is an event as it is sent to one endpoint.
type Message struct {
	ID            uuid.UUID // constant over all attempts
	ShopID        uuid.UUID
	EndpointID    uuid.UUID
	Type          string
	OrderID       *uuid.UUID
	Body          string
	Status        string // pending, delivered or dead
	Attempts      int    // ever made
	Tries         int    // since it was made or replayed
	NextAttemptAt *time.Time
	CreatedAt     time.Time
	SettledAt     *time.Time
}

const messageColumns = `id, shop_id, endpoint_id, type, order_id, body, status, attempts, tries, next_attempt_at, created_at, settled_at`

const addMessages = `
	INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
	SELECT uuid_v7($5), e.shop_id, e.id, $2, $3, $4, $5, $5
	FROM webhook_endpoints e
	WHERE e.shop_id = $1 AND e.deleted_at IS NULL AND e.disabled_at IS NULL AND $2 = ANY (e.events)
	RETURNING id, endpoint_id`

func queueMessages(batch *pgx.Batch, m NewMessage, queued *[]QueuedMessage) {
	batch.Queue(addMessages, m.ShopID, m.Type, m.OrderID, m.Body, m.At).Query(func(rows pgx.Rows) (err error) {
		*queued, err = pgx.CollectRows(rows, pgx.RowToStructByName[QueuedMessage])
		return err
	})
}

// AddMessages makes one message for each endpoint of the shop that listens for
// the type and is not disabled.
func (t *Tx) AddMessages(ctx context.Context, m NewMessage) ([]QueuedMessage, error) {
	return many[QueuedMessage](ctx, t.db, addMessages, m.ShopID, m.Type, m.OrderID, m.Body, m.At)
}

// AddMessageTo makes a message for one endpoint, whatever it listens for. A
// disabled endpoint is not found.
func (t *Tx) AddMessageTo(ctx context.Context, endpoint uuid.UUID, m NewMessage) (Message, error) {
	return one[Message](ctx, t.db, `
		INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
		SELECT uuid_v7($5), e.shop_id, e.id, $2, $3, $4, $5, $5
		FROM webhook_endpoints e
		WHERE e.shop_id = $1 AND e.id = $6 AND e.deleted_at IS NULL AND e.disabled_at IS NULL
		RETURNING `+messageColumns, m.ShopID, m.Type, m.OrderID, m.Body, m.At, endpoint)
}

func (q Queries) Message(ctx context.Context, shop, id uuid.UUID) (Message, error) {
	return one[Message](ctx, q.db, `SELECT `+messageColumns+` FROM webhook_messages WHERE shop_id = $1 AND id = $2`, shop, id)
}

// MessageFilter chooses messages; a zero field chooses all.
type MessageFilter struct {
	Type       string
	Status     string
	EndpointID uuid.UUID
	OrderID    uuid.UUID
}

// Messages lists a shop's, newest first.
func (q Queries) Messages(ctx context.Context, shop uuid.UUID, f MessageFilter, page Page) ([]Message, error) {
	where := ``
	if f.Type != "" {
		where += ` AND type = @type`
	}
	if f.Status != "" {
		where += ` AND status = @status`
	}
	if f.EndpointID != uuid.Nil {
		where += ` AND endpoint_id = @endpoint`
	}
	if f.OrderID != uuid.Nil {
		where += ` AND order_id = @order`
	}
	return many[Message](ctx, q.db, `
		SELECT `+messageColumns+` FROM webhook_messages
		WHERE shop_id = @shop AND id < @after`+where+`
		ORDER BY id DESC LIMIT @limit`,
		pgx.NamedArgs{
			"shop": shop, "after": page.start(), "limit": page.Limit,
			"type": f.Type, "status": f.Status, "endpoint": f.EndpointID, "order": f.OrderID,
		})
}

// Delivery is a message with what is needed to send it.
type Delivery struct {
	Message
	URL      string
	Secrets  Secrets
	Disabled bool // the endpoint takes nothing: disabled or deleted
}

// Delivery reads, by message alone, what a delivery job needs.
func (q Queries) Delivery(ctx context.Context, message uuid.UUID) (Delivery, error) {
	type row struct {
		Message
		URL      string `db:"url"`
		Disabled bool
		sealedSecrets
	}
	r, err := one[row](ctx, q.db, `
		SELECT m.id, m.shop_id, m.endpoint_id, m.type, m.order_id, m.body, m.status, m.attempts, m.tries,
			m.next_attempt_at, m.created_at, m.settled_at,
			e.url, e.disabled_at IS NOT NULL OR e.deleted_at IS NOT NULL AS disabled,
			e.secret, e.previous, e.previous_until
		FROM webhook_messages m JOIN webhook_endpoints e ON e.id = m.endpoint_id
		WHERE m.id = $1`, message)
	if err != nil {
		return Delivery{}, err
	}
	d := Delivery{Message: r.Message, URL: r.URL, Disabled: r.Disabled}
	if !d.Disabled { // a deleted endpoint has no secrets any more
		d.Secrets, err = q.openSecrets(r.sealedSecrets, endpointOwner(d.EndpointID))
	}
	return d, err
}

// Attempt is one try at delivering a message.
type Attempt struct {
	MessageID  uuid.UUID
	Number     int // from 1, over all tries
	Outcome    string
	HTTPStatus *int `db:"http_status"` // nil: no answer
	StartedAt  time.Time
	DurationMS int `db:"duration_ms"`
}

// RecordAttempt stores an attempt and where it leaves the message: delivered
// or dead at settled, or pending until next. Attempt.Number must be the
// message's Attempts + 1: recorded is false, and nothing written, when another
// worker recorded an attempt meanwhile.
func (q Queries) RecordAttempt(ctx context.Context, a Attempt, status string, next, settled *time.Time) (recorded bool, err error) {
	n, err := exec(ctx, q.db, `
		WITH moved AS (
			UPDATE webhook_messages SET attempts = attempts + 1, tries = tries + 1,
				status = @status, next_attempt_at = @next, settled_at = @settled
			WHERE id = @id AND attempts = @number - 1 AND status = 'pending'
			RETURNING id
		)
		INSERT INTO webhook_attempts (message_id, number, outcome, http_status, started_at, duration_ms)
		SELECT id, @number, @outcome, @http_status, @started, @duration FROM moved`,
		pgx.StrictNamedArgs{
			"id": a.MessageID, "number": a.Number, "outcome": a.Outcome, "http_status": a.HTTPStatus,
			"started": a.StartedAt, "duration": a.DurationMS, "status": status, "next": next, "settled": settled,
		})
	return n == 1, err
}

// GiveUpMessage makes a pending message dead without an attempt, as when its
// endpoint is disabled.
func (q Queries) GiveUpMessage(ctx context.Context, id uuid.UUID, at time.Time) error {
	_, err := exec(ctx, q.db, `
		UPDATE webhook_messages SET status = 'dead', settled_at = $2, next_attempt_at = NULL
		WHERE id = $1 AND status = 'pending'`, id, at)
	return err
}

// Attempts lists those of a message, oldest first.
func (q Queries) Attempts(ctx context.Context, shop, message uuid.UUID) ([]Attempt, error) {
	return many[Attempt](ctx, q.db, `
		SELECT a.message_id, a.number, a.outcome, a.http_status, a.started_at, a.duration_ms
		FROM webhook_attempts a JOIN webhook_messages m ON m.id = a.message_id
		WHERE m.shop_id = $1 AND m.id = $2 ORDER BY a.number`, shop, message)
}

// ReplayMessage makes a settled message pending again at the start of its
// schedule. ErrNotFound says that there is none, or that it is still pending.
func (t *Tx) ReplayMessage(ctx context.Context, shop, id uuid.UUID, at time.Time) (Message, error) {
	return one[Message](ctx, t.db, `
		UPDATE webhook_messages SET status = 'pending', tries = 0, next_attempt_at = $3, settled_at = NULL
		WHERE shop_id = $1 AND id = $2 AND status <> 'pending'
		RETURNING `+messageColumns, shop, id, at)
}
