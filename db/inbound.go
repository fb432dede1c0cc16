package db

import (
	"context"
	"time"

	"github.com/google/uuid"
)

// InboundMessage is a message that a shop sent in and that became an order.
type InboundMessage struct {
	ShopID     uuid.UUID
	MessageID  string // the sender's webhook-id
	BodyHash   []byte // SHA-256
	OrderID    uuid.UUID
	ReceivedAt time.Time
}

// InsertInboundMessage conflicts with inbound_messages_pkey where the message
// was taken before.
func (t *Tx) InsertInboundMessage(ctx context.Context, m InboundMessage) error {
	_, err := exec(ctx, t.db, `
		INSERT INTO inbound_messages (shop_id, message_id, body_hash, order_id, received_at)
		VALUES ($1, $2, $3, $4, $5)`, m.ShopID, m.MessageID, m.BodyHash, m.OrderID, m.ReceivedAt)
	return err
}

func (q Queries) InboundMessage(ctx context.Context, shop uuid.UUID, messageID string) (InboundMessage, error) {
	return one[InboundMessage](ctx, q.db, `
		SELECT shop_id, message_id, body_hash, order_id, received_at
		FROM inbound_messages WHERE shop_id = $1 AND message_id = $2`, shop, messageID)
}
