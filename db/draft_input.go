package db

import (
	"context"
	"encoding/json"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// Rows that refits share with orders.
type (
	OrderEvent    = query.OrderEvent
	DraftHead     = query.DraftHead
	DraftRevision = query.DraftRevision
)

// DraftInput is what a draft is made from.
type DraftInput struct {
	query.ShopOrder
	CustomerReference *string
	Basis             json.RawMessage // the spec with measurements and alterations, in one object
	// KeptID is the alterations in Basis: the customer's latest, or for a refit those of the draft; nil: none.
	KeptID     *uuid.UUID
	LastNumber int    // of the order's latest revision; 0: none
	LastHash   []byte // nil: none
	LastLabel  json.RawMessage
	Asked      *string // the reason given with the request for the draft
	AskedBy    *uuid.UUID
}

// DraftInput reads, by the order's ID alone, what its next draft is made from.
func (q Queries) DraftInput(ctx context.Context, order uuid.UUID) (DraftInput, error) {
	r, err := q.Queries.DraftInput(ctx, order)
	return DraftInput{r.ShopOrder, r.CustomerReference, r.Basis, r.KeptID, r.LastNumber, r.LastHash, r.LastLabel, r.Asked,
		r.AskedBy}, err
}

// draftInputColumns are those of draftInputTables and of alterations k.
const draftInputColumns = `o.id, o.shop_id, o.reference, o.customer_id, o.measurement_set_id, o.source, o.spec,
	o.block, o.style, o.status, o.reason_code, o.faults, coalesce(o.revision, 0) AS revision,
	NULL::uuid AS alterations_id, o.draft_request, o.progress, o.created_by, o.created_at, o.updated_at,
	c.reference AS customer_reference, k.id AS kept_id,
	o.spec || jsonb_strip_nulls(jsonb_build_object('measured_unit', m.unit, 'measurements', m.given,
		'altered_unit', k.unit, 'alterations', k.given)) AS basis,
	coalesce(l.number, 0) AS last_number, l.hash AS last_hash, l.label AS last_label,
	a.reason AS asked, a.actor AS asked_by`

const draftInputTables = `orders o
	JOIN customers c ON c.id = o.customer_id
	JOIN measurement_sets m ON m.id = o.measurement_set_id
	LEFT JOIN LATERAL (
		SELECT number, hash, label FROM draft_revisions WHERE order_id = o.id ORDER BY number DESC LIMIT 1
	) l ON true
	LEFT JOIN LATERAL (
		SELECT reason, actor FROM order_events
		WHERE order_id = o.id AND event IN ('received', 'confirmed', 'revising') ORDER BY id DESC LIMIT 1
	) a ON true`
