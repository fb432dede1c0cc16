package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// RefitOrder is one order in a refit. Erasure empties Faults and Comparison.
type RefitOrder struct {
	RefitID       uuid.UUID
	OrderID       uuid.UUID
	Reference     string // the order's
	Finding       string // waiting, changes, unchanged, undraftable, held, failed or left_alone
	BasisRevision *int   // the draft that was compared with
	BasisRequest  *int   // the order's draft request then
	ReasonCode    *string
	Faults        json.RawMessage
	Comparison    json.RawMessage
	Largest       *float64 // mm
	PreviewedAt   *time.Time
	Outcome       *string // nil until it is decided; chosen until it is done
	Revision      *int    // the draft that it was given
	SettledAt     *time.Time
	ErasedAt      *time.Time
}

const refitOrderColumns = `r.refit_id, r.order_id, o.reference, r.finding, r.basis_revision, r.basis_request, r.reason_code, r.faults,
	r.comparison, r.largest, r.previewed_at, r.outcome, r.revision, r.settled_at, r.erased_at`

func (q Queries) RefitOrder(ctx context.Context, shop, refit, order uuid.UUID) (RefitOrder, error) {
	return one[RefitOrder](ctx, q.db, `
		SELECT `+refitOrderColumns+` FROM refit_orders r JOIN orders o ON o.id = r.order_id
		WHERE r.shop_id = $1 AND r.refit_id = $2 AND r.order_id = $3`, shop, refit, order)
}

// RefitsOfOrders lists what refits found for orders, newest first.
func (q Queries) RefitsOfOrders(ctx context.Context, shop uuid.UUID, orders []uuid.UUID) ([]RefitOrder, error) {
	return many[RefitOrder](ctx, q.db, `
		SELECT `+refitOrderColumns+` FROM refit_orders r JOIN orders o ON o.id = r.order_id
		WHERE r.shop_id = $1 AND r.order_id = ANY ($2) ORDER BY r.refit_id DESC`, shop, orders)
}

// RefitOrderFilter chooses orders of a refit; a zero field chooses all.
type RefitOrderFilter struct {
	Finding string
	Outcome string
}

// RefitOrders lists the orders of a refit, newest first.
func (q Queries) RefitOrders(ctx context.Context, shop, refit uuid.UUID, f RefitOrderFilter, page Page) ([]RefitOrder,
	error) {
	where := ``
	if f.Finding != "" {
		where += ` AND r.finding = @finding`
	}
	if f.Outcome != "" {
		where += ` AND r.outcome = @outcome`
	}
	return many[RefitOrder](ctx, q.db, `
		SELECT `+refitOrderColumns+` FROM refit_orders r JOIN orders o ON o.id = r.order_id
		WHERE r.shop_id = @shop AND r.refit_id = @refit AND r.order_id < @after`+where+`
		ORDER BY r.order_id DESC LIMIT @limit`,
		pgx.NamedArgs{"shop": shop, "refit": refit, "after": page.start(), "limit": page.Limit, "finding": f.Finding,
			"outcome": f.Outcome})
}

// MostMoved lists the orders of a refit that move most.
func (q Queries) MostMoved(ctx context.Context, refit uuid.UUID, limit int) ([]RefitOrder, error) {
	return many[RefitOrder](ctx, q.db, `
		SELECT `+refitOrderColumns+` FROM refit_orders r JOIN orders o ON o.id = r.order_id
		WHERE r.refit_id = $1 AND r.largest > 0 ORDER BY r.largest DESC, r.order_id LIMIT $2`, refit, limit)
}

// RefitTally is how far a refit is: its orders by finding and outcome, and how
// many were dealt with lately.
type RefitTally struct {
	Findings map[string]int
	Outcomes map[string]int // those decided
	Applied  int            // of those that were chosen, how many are done
	Previews int            // previewed since the time asked about
	Settled  int            // settled since then, of those chosen
}

// RefitTally counts a refit's orders.
func (q Queries) RefitTally(ctx context.Context, refit uuid.UUID, since time.Time) (RefitTally, error) {
	type row struct {
		Finding           string
		Outcome           *string
		Count             int
		Previews, Settled int
	}
	rows, err := many[row](ctx, q.db, `
		SELECT finding, outcome, count(*) AS count, count(*) FILTER (WHERE previewed_at >= $2) AS previews,
			count(*) FILTER (WHERE settled_at >= $2 AND finding = 'changes' AND outcome <> 'declined') AS settled
		FROM refit_orders WHERE refit_id = $1 GROUP BY finding, outcome`, refit, since)
	t := RefitTally{Findings: map[string]int{}, Outcomes: map[string]int{}}
	for _, r := range rows {
		t.Findings[r.Finding] += r.Count
		if r.Outcome != nil {
			t.Outcomes[*r.Outcome] += r.Count
		}
		if r.Finding == "changes" && r.Outcome != nil && *r.Outcome != "chosen" && *r.Outcome != "declined" {
			t.Applied += r.Count
		}
		t.Previews += r.Previews
		t.Settled += r.Settled
	}
	return t, err
}

// RefitMoves is how the largest moves of a refit's orders are spread.
type RefitMoves struct {
	Median, P90, Largest *float64 // mm; nil where no order was compared
	Counts               []int    // below the first bound, from it to the next, ..., from the last on
}

// RefitMoves sorts the largest moves of the orders compared by the bounds, mm.
func (q Queries) RefitMoves(ctx context.Context, refit uuid.UUID, bounds []float64) (RefitMoves, error) {
	var m RefitMoves
	err := q.db.QueryRow(ctx, `
		SELECT percentile_cont(0.5) WITHIN GROUP (ORDER BY largest), percentile_cont(0.9) WITHIN GROUP (ORDER BY largest), max(largest)
		FROM refit_orders WHERE refit_id = $1 AND largest IS NOT NULL`, refit).Scan(&m.Median, &m.P90, &m.Largest)
	if err != nil {
		return m, translate(err)
	}
	type row struct{ Bucket, Count int }
	rows, err := many[row](ctx, q.db, `
		SELECT width_bucket(largest, $2::float8[]) AS bucket, count(*) AS count
		FROM refit_orders WHERE refit_id = $1 AND largest IS NOT NULL GROUP BY bucket`, refit, bounds)
	m.Counts = make([]int, len(bounds)+1)
	for _, r := range rows {
		m.Counts[r.Bucket] = r.Count
	}
	return m, err
}

// RefitInput is what one order of a refit is drafted from, with the draft that
// it has.
type RefitInput struct {
	DraftInput
	Engine    *string // of the draft that it has; nil where it has none
	HasHash   []byte
	HasLabel  json.RawMessage
	Geometry  []byte // nil: none, or erased
	SetBefore *uuid.UUID
	SpecThen  json.RawMessage // the order's when that was drafted
	Refit     RefitOrder      `db:"-"`
}

// RefitInputs reads the orders of a batch that are still to be previewed, or to
// be applied.
func (q Queries) RefitInputs(ctx context.Context, refit uuid.UUID, batch int, applying bool) ([]RefitInput, error) {
	still := `r.finding = 'waiting'`
	if applying {
		still = `r.outcome = 'chosen'`
	}
	return q.refitInputs(ctx, `r.refit_id = $1 AND r.batch = $2 AND `+still, refit, batch)
}

// RefitInput reads one order of a refit.
func (q Queries) RefitInput(ctx context.Context, refit, order uuid.UUID) (RefitInput, error) {
	found, err := q.refitInputs(ctx, `r.refit_id = $1 AND r.order_id = $2`, refit, order)
	if err == nil && len(found) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return RefitInput{}, err
	}
	return found[0], nil
}

func (q Queries) refitInputs(ctx context.Context, where string, args ...any) ([]RefitInput, error) {
	type row struct {
		RefitInput
		Finding                     string
		BasisRevision, BasisRequest *int
		Outcome                     *string
	}
	rows, err := many[row](ctx, q.db, `
		SELECT `+draftInputColumns+`,
			d.engine, d.hash AS has_hash, d.label AS has_label, d.geometry, d.measurement_set_id AS set_before, d.spec AS spec_then,
			r.finding, r.basis_revision, r.basis_request, r.outcome
		FROM `+draftInputTables+`
		JOIN refit_orders r ON r.order_id = o.id
		LEFT JOIN draft_revisions d ON d.order_id = o.id AND d.number = o.revision
		LEFT JOIN alterations k ON k.id = d.alterations_id
		WHERE `+where+` ORDER BY r.order_id`, args...)
	if err != nil {
		return nil, err
	}
	inputs := make([]RefitInput, len(rows))
	for i, r := range rows {
		if r.Geometry != nil {
			if r.Geometry, err = decompress(r.Geometry); err != nil {
				return nil, err
			}
		}
		inputs[i] = r.RefitInput
		inputs[i].Refit = RefitOrder{OrderID: r.ID, Reference: r.Reference, Finding: r.Finding,
			BasisRevision: r.BasisRevision, BasisRequest: r.BasisRequest, Outcome: r.Outcome}
	}
	return inputs, nil
}
