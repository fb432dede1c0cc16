package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// RefitOrder is a row of refit_orders.
type RefitOrder = query.RefitOrder

// RefitFigures counts a refit's orders by finding and outcome, and describes
// their largest moves.
type RefitFigures struct {
	Findings map[string]int
	Outcomes map[string]int // those decided
	Applied  int            // of those that were chosen, how many are done
	Previews int            // previewed since the time asked about
	Settled  int            // settled since then, of those chosen

	Median, P90, Largest *float64 // mm; nil where no order was compared
	Counts               []int    // below the first bound, from it to the next, ..., from the last on
}

// RefitFigures counts what was done since a time, and the moves by bounds, mm,
// in one pass over the refit's orders.
func (q Queries) RefitFigures(
	ctx context.Context, refit uuid.UUID, since time.Time, bounds []float64,
) (RefitFigures, error) {
	type row struct {
		Total, ByMove            bool // of all orders, of a bucket of moves; otherwise of a finding and outcome
		Finding, Outcome         *string
		Bucket                   *int
		Count, Previews, Settled int
		Median, P90, Largest     *float64
	}
	rows, err := many[row](ctx, q.db, `
		SELECT grouping(finding, bucket) = 3 AS total, grouping(finding, bucket) = 2 AS by_move, finding, outcome, bucket,
			count(*) AS count, count(*) FILTER (WHERE previewed_at >= $2) AS previews,
			count(*) FILTER (WHERE settled_at >= $2 AND finding = 'changes' AND outcome <> 'declined') AS settled,
			percentile_cont(0.5) WITHIN GROUP (ORDER BY largest) AS median,
			percentile_cont(0.9) WITHIN GROUP (ORDER BY largest) AS p90, max(largest) AS largest
		FROM (SELECT *, width_bucket(largest, $3::float8[]) AS bucket FROM refit_orders WHERE refit_id = $1) r
		GROUP BY GROUPING SETS ((finding, outcome), (bucket), ())`, refit, since, bounds)
	f := RefitFigures{Findings: map[string]int{}, Outcomes: map[string]int{}, Counts: make([]int, len(bounds)+1)}
	for _, r := range rows {
		switch {
		case r.Total:
			f.Previews, f.Settled, f.Median, f.P90, f.Largest = r.Previews, r.Settled, r.Median, r.P90, r.Largest
		case r.ByMove && r.Bucket != nil:
			f.Counts[*r.Bucket] = r.Count
		case !r.ByMove:
			f.count(*r.Finding, r.Outcome, r.Count)
		}
	}
	return f, err
}

func (f *RefitFigures) count(finding string, outcome *string, n int) {
	f.Findings[finding] += n
	if outcome == nil {
		return
	}
	f.Outcomes[*outcome] += n
	if finding == "changes" && *outcome != "chosen" && *outcome != "declined" {
		f.Applied += n
	}
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
			d.engine, d.hash AS has_hash, d.label AS has_label, d.document AS geometry,
			d.measurement_set_id AS set_before, d.spec AS spec_then,
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
		inputs[i].Refit = RefitOrder{OrderID: r.ID, Finding: r.Finding,
			BasisRevision: r.BasisRevision, BasisRequest: r.BasisRequest, Outcome: r.Outcome}
	}
	return inputs, nil
}
