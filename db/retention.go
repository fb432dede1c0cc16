package db

import (
	"context"
	"time"
)

// The Delete methods clear away what is past its use, at most limit rows a
// call so that no transaction is long; they tell how many went. Call one again
// while it gives limit.

// DeleteAnswers removes answers kept since before the time.
func (q Queries) DeleteAnswers(ctx context.Context, before time.Time, limit int) (int64, error) {
	return exec(ctx, q.db, `
		DELETE FROM idempotency_keys WHERE (shop_id, key) IN (
			SELECT shop_id, key FROM idempotency_keys WHERE created_at < $1 ORDER BY created_at LIMIT $2)`, before, limit)
}

// DeleteMessages removes messages settled before the time, with their
// attempts. Pending ones stay however old.
func (q Queries) DeleteMessages(ctx context.Context, before time.Time, limit int) (int64, error) {
	return exec(ctx, q.db, `
		DELETE FROM webhook_messages WHERE id IN (
			SELECT id FROM webhook_messages
			WHERE status <> 'pending' AND settled_at < $1 ORDER BY settled_at LIMIT $2)`, before, limit)
}

// DeleteInboundMessages removes notes of messages received before the time.
func (q Queries) DeleteInboundMessages(ctx context.Context, before time.Time, limit int) (int64, error) {
	return exec(ctx, q.db, `
		DELETE FROM inbound_messages WHERE (shop_id, message_id) IN (
			SELECT shop_id, message_id FROM inbound_messages WHERE received_at < $1 ORDER BY received_at LIMIT $2)`, before, limit)
}

// DeleteLinks removes links that expired before the time.
func (q Queries) DeleteLinks(ctx context.Context, before time.Time, limit int) (int64, error) {
	return exec(ctx, q.db, `
		DELETE FROM download_links WHERE id IN (
			SELECT id FROM download_links WHERE expires_at < $1 ORDER BY expires_at LIMIT $2)`, before, limit)
}
