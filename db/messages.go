package db

import (
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
