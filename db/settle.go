package db

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Settlement is what a drafting job found out: a draft that is proved, or why
// there is none.
type Settlement struct {
	OrderID uuid.UUID
	Request int    // the draft request that the job serves
	Status  string // ready, held or failed

	ReasonCode *string         // of held or failed
	Faults     json.RawMessage // of held or failed

	Revision int            // what the order hands out from now on
	Draft    *DraftRevision // stored when given; OrderID, ShopID and Hash are filled in

	Event   OrderEvent  // ShopID, OrderID and FromStatus are filled in
	Message *NewMessage // ShopID and OrderID are filled in
	At      time.Time
}

// All or nothing hangs on the first part: an order that is no longer waiting
// for this request takes nothing, and so a job that runs twice, or late, or
// beside itself on another replica, leaves one draft, one line of history and
// one message for each endpoint.
const settleDraft = `
	WITH claimed AS (
		UPDATE orders SET status = @status, reason_code = @reason, faults = @faults,
			revision = nullif(@revision::integer, 0), updated_at = @at
		WHERE id = @order AND status = 'received' AND draft_request = @request
		RETURNING id, shop_id, measurement_set_id, spec
	), drafted AS (
		INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, alterations_id, spec, engine,
			hash, geometry, checks, label, parent, reason, created_by, created_at)
		SELECT id, @number, shop_id, measurement_set_id, @alterations, spec, @engine,
			@hash, @geometry, @checks, @label, @parent, @draft_reason, @draft_by, @at
		FROM claimed WHERE @has_draft
	), told AS (
		INSERT INTO order_events (shop_id, order_id, event, from_status, to_status, revision, reason_code, reason, actor, at)
		SELECT shop_id, id, @event, 'received', @status, @event_revision, @event_reason, @note, @actor, @at
		FROM claimed
	), queued AS (
		INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, order_id, body, next_attempt_at, created_at)
		SELECT uuid_v7(@at), e.shop_id, e.id, @type, claimed.id, @body, @at, @at
		FROM claimed JOIN webhook_endpoints e USING (shop_id)
		WHERE @has_message AND e.deleted_at IS NULL AND e.disabled_at IS NULL AND @type = ANY (e.events)
		RETURNING id, endpoint_id
	)
	SELECT queued.id, queued.endpoint_id FROM claimed LEFT JOIN queued ON true`

// SettleDraft writes what a drafting job found out, in one statement. It is not
// applied, and nothing is written, when the order no longer waits for that
// request. It conflicts with draft_revisions_not_erased where the customer was
// erased meanwhile.
func (t *Tx) SettleDraft(ctx context.Context, s Settlement) (applied bool, messages []QueuedMessage, err error) {
	args := pgx.StrictNamedArgs{
		"order": s.OrderID, "request": s.Request, "status": s.Status, "reason": s.ReasonCode, "faults": s.Faults,
		"revision": s.Revision, "at": s.At,
		"has_draft": s.Draft != nil, "number": nil, "engine": nil, "hash": nil, "geometry": nil, "checks": nil, "label": nil,
		"alterations": nil,
		"parent":      nil, "draft_reason": nil, "draft_by": nil,
		"event": s.Event.Event, "event_revision": s.Event.Revision, "event_reason": s.Event.ReasonCode,
		"note": s.Event.Note, "actor": s.Event.Actor,
		"has_message": s.Message != nil, "type": "", "body": "",
	}
	if d := s.Draft; d != nil {
		hash := sha256.Sum256(d.Geometry)
		args["number"], args["engine"], args["hash"] = d.Number, d.Engine, hash[:]
		args["geometry"], args["checks"], args["label"] = compress(d.Geometry), d.Checks, d.Label
		args["parent"], args["draft_reason"], args["draft_by"], args["alterations"] = d.Parent, d.Reason, d.CreatedBy,
			d.AlterationsID
	}
	if m := s.Message; m != nil {
		args["type"], args["body"] = m.Type, m.Body
	}
	rows, err := t.db.Query(ctx, settleDraft, args)
	if err != nil {
		return false, nil, translate(err)
	}
	type row struct{ ID, EndpointID *uuid.UUID } // both nil: applied, and nobody listens
	found, err := pgx.CollectRows(rows, pgx.RowToStructByName[row])
	for _, r := range found {
		if r.ID != nil {
			messages = append(messages, QueuedMessage{ID: *r.ID, EndpointID: *r.EndpointID})
		}
	}
	return len(found) > 0, messages, translate(err)
}
