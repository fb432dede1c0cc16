package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/klauspost/compress/zstd"

	"tapeline/db/query"
)

// DraftRevision is a draft as it was proved. It never changes. Erasure empties
// Geometry, Checks, Label and Reason.
type DraftRevision struct {
	DraftHead
	Geometry []byte `db:"geometry"` // canonical JSON, byte for byte
}

// DraftHead is a draft revision without its geometry.
type DraftHead struct {
	OrderID          uuid.UUID
	Number           int // from 1
	ShopID           uuid.UUID
	MeasurementSetID uuid.UUID
	AlterationsID    *uuid.UUID      // kept for the customer at the time; nil: none
	Spec             json.RawMessage // the order's, as it was then
	Engine           string          // version of the drafting code
	Hash             []byte          // SHA-256 of Geometry
	Checks           json.RawMessage
	Label            json.RawMessage // what is lettered besides the revision; nil: erased
	Parent           *int            // the number of the draft that it followed
	RefitID          *uuid.UUID      // the refit that had it made
	Reason           *string         // why it was drafted again
	CreatedBy        *uuid.UUID
	CreatedAt        time.Time
	ErasedAt         *time.Time
}

const headColumns = `d.order_id, d.number, d.shop_id, d.measurement_set_id, d.alterations_id, d.spec, d.engine, d.hash,
	d.checks, d.label, d.parent, d.refit_id, d.reason, d.created_by, d.created_at, d.erased_at`

// DraftRevision reads a revision whole, and fails when what it reads is not
// what was stored. An erased one has no Geometry.
func (q Queries) DraftRevision(ctx context.Context, shop, order uuid.UUID, number int) (DraftRevision, error) {
	d, err := one[DraftRevision](ctx, q.db, `
		SELECT `+headColumns+`, d.geometry FROM draft_revisions d
		WHERE d.shop_id = $1 AND d.order_id = $2 AND d.number = $3`, shop, order, number)
	if err != nil || d.ErasedAt != nil {
		return d, err
	}
	if d.Geometry, err = decompress(d.Geometry); err != nil {
		return DraftRevision{}, fmt.Errorf("draft revision %d of order %s: %w", number, order, err)
	}
	if sum := sha256.Sum256(d.Geometry); !bytes.Equal(sum[:], d.Hash) {
		return DraftRevision{}, fmt.Errorf("draft revision %d of order %s: geometry is not what its hash says", number, order)
	}
	return d, nil
}

// DraftGeometry is the geometry of one draft of an order.
type DraftGeometry struct {
	OrderID  uuid.UUID
	Geometry json.RawMessage
}

// DraftGeometries lists the geometry of the drafts of orders that are not erased,
// newest first.
func (q Queries) DraftGeometries(ctx context.Context, shop uuid.UUID, orders []uuid.UUID) ([]DraftGeometry, error) {
	rows, err := q.CompressedGeometries(ctx, query.CompressedGeometriesParams{ShopID: shop, OrderIds: orders})
	if err != nil {
		return nil, err
	}
	list := make([]DraftGeometry, len(rows))
	for i, row := range rows {
		geometry, err := decompress(row.Geometry)
		if err != nil {
			return nil, fmt.Errorf("draft revision %d of order %s: %w", row.Number, row.OrderID, err)
		}
		list[i] = DraftGeometry{OrderID: row.OrderID, Geometry: geometry}
	}
	return list, nil
}

// OrderedDraft is the head of a draft and how its order stands.
type OrderedDraft struct {
	DraftHead
	Status  string // the order's
	Current int    // the order's revision
}

// DraftHead reads a revision without its geometry; number 0 is the order's
// current one.
func (q Queries) DraftHead(ctx context.Context, shop, order uuid.UUID, number int) (OrderedDraft, error) {
	return one[OrderedDraft](ctx, q.db, `
		SELECT `+headColumns+`, o.status, coalesce(o.revision, 0) AS current
		FROM orders o JOIN draft_revisions d ON d.order_id = o.id
			AND d.number = CASE WHEN $3::integer = 0 THEN o.revision ELSE $3::integer END
		WHERE o.shop_id = $1 AND o.id = $2`, shop, order, number)
}

// DraftHeads lists an order's revisions, newest first.
func (q Queries) DraftHeads(ctx context.Context, shop, order uuid.UUID) ([]DraftHead, error) {
	return many[DraftHead](ctx, q.db, `
		SELECT `+headColumns+` FROM draft_revisions d
		WHERE d.shop_id = $1 AND d.order_id = $2 ORDER BY d.number DESC`, shop, order)
}

// DraftInput is what a draft is made from.
type DraftInput struct {
	Order
	CustomerReference *string
	Basis             json.RawMessage // the spec with measurements and alterations, in one object
	// the alterations in Basis: the customer's latest, or for a refit those of its draft; nil: none
	KeptID     *uuid.UUID
	LastNumber int    // of the order's latest revision, 0 for none
	LastHash   []byte // nil for none
	LastLabel  json.RawMessage
	Asked      *string // why somebody asked for the draft, where they said it
	AskedBy    *uuid.UUID
}

// draftInputColumns are those of draftInputTables and of alterations k.
const draftInputColumns = `o.id, o.shop_id, o.reference, o.customer_id, o.measurement_set_id, o.source, o.spec,
	o.status, o.reason_code, o.faults, coalesce(o.revision, 0) AS revision, NULL::uuid AS alterations_id, o.draft_request,
	o.progress, o.created_by, o.created_at, o.updated_at,
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

// DraftInput reads, by order alone, what a drafting job needs.
func (q Queries) DraftInput(ctx context.Context, order uuid.UUID) (DraftInput, error) {
	return one[DraftInput](ctx, q.db, `
		SELECT `+draftInputColumns+` FROM `+draftInputTables+`
		LEFT JOIN LATERAL (
			SELECT id, unit, given FROM alterations
			WHERE customer_id = o.customer_id AND erased_at IS NULL ORDER BY version DESC LIMIT 1
		) k ON true
		WHERE o.id = $1`, order)
}

// zstd at its fastest setting. A torso's draft of 30 kB takes 11 kB of the table
// so; the server's own lz4 makes it 15 kB, its pglz 17 kB, and none 34 kB. It is
// also the fastest to read back. Slower settings of zstd gain nothing on such
// data. The encoder and decoder may be used from many goroutines at once.
var (
	encoder, _ = zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(1))
	decoder, _ = zstd.NewReader(nil, zstd.WithDecoderConcurrency(0), zstd.WithDecoderMaxMemory(64<<20))
)

func compress(plain []byte) []byte { return encoder.EncodeAll(plain, nil) }

func decompress(b []byte) ([]byte, error) {
	plain, err := decoder.DecodeAll(b, nil)
	if err != nil {
		return nil, errors.Join(errors.New("geometry cannot be decompressed"), err)
	}
	return plain, nil
}
