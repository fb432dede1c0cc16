package db

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// Rows of refits.
type (
	Refit       = query.Refit
	RefitOrder  = query.RefitOrder
	RefitScope  = query.ListRefitScopeParams // selects orders
	LockedOrder = query.LockOrdersRow
)

// InsertRefit stores a refit with the orders that are in its scope now, the
// oldest first in batches of a size, and returns the numbers of orders and
// batches. It takes at most limit orders, and one more to show that there are
// more.
func (t *Tx) InsertRefit(ctx context.Context, r Refit, scope RefitScope, size, limit int) (orders, batches int,
	err error) {
	scope.ShopID, scope.Limit = r.ShopID, limit+1
	ids, err := t.ListRefitScope(ctx, scope)
	if err != nil {
		return 0, 0, err
	}
	err = t.Queries.InsertRefit(ctx, query.InsertRefitParams{ID: r.ID, ShopID: r.ShopID, Status: r.Status,
		Change: r.Change, Scope: r.Scope, Paper: r.Paper, Reason: r.Reason, Orders: len(ids), CreatedBy: r.CreatedBy,
		CreatedAt: r.CreatedAt})
	if err != nil {
		return 0, 0, err
	}
	err = t.InsertRefitOrders(ctx, query.InsertRefitOrdersParams{RefitID: r.ID, ShopID: r.ShopID, Size: size, Ids: ids})
	return len(ids), (len(ids) + size - 1) / size, err
}

// RefitFigures counts a refit's orders by finding and outcome, and describes
// their largest moves.
type RefitFigures struct {
	Findings map[string]int
	Outcomes map[string]int // those decided
	Applied  int            // of those that were chosen, how many are done
	Previews int            // previewed since a time
	Settled  int            // settled since then, of those chosen

	Moves  *RefitMoves // nil if no order was compared
	Counts []int       // below the first bound, from it to the next, ..., from the last on
}

// RefitMoves describes the largest moves of the orders of a refit, mm.
type RefitMoves struct{ Median, P90, Largest float64 }

// RefitFigures counts what was done since a time, and the moves by bounds, mm.
func (q Queries) RefitFigures(
	ctx context.Context, refit uuid.UUID, since time.Time, bounds []float64,
) (RefitFigures, error) {
	rows, err := q.Queries.RefitFigures(ctx, query.RefitFiguresParams{RefitID: refit, Since: since, Bounds: bounds})
	f := RefitFigures{Findings: map[string]int{}, Outcomes: map[string]int{}, Counts: make([]int, len(bounds)+1)}
	for _, r := range rows {
		switch {
		case r.Total:
			f.Previews, f.Settled = r.Previews, r.Settled
			if r.Compared > 0 {
				f.Moves = &RefitMoves{r.Median, r.P90, r.Largest}
			}
		case r.ByMove && r.Bucket >= 0:
			f.Counts[r.Bucket] = r.Count
		case !r.ByMove:
			f.count(r.Finding, r.Outcome, r.Count)
		}
	}
	return f, err
}

func (f *RefitFigures) count(finding, outcome string, n int) {
	f.Findings[finding] += n
	if outcome == "" {
		return
	}
	f.Outcomes[outcome] += n
	if finding == "changes" && outcome != "chosen" && outcome != "declined" {
		f.Applied += n
	}
}

// RefitInput is the input of one order's draft in a refit, with its current draft.
type RefitInput struct {
	DraftInput
	Engine        *string // of the current draft; nil if there is none
	Hash          []byte
	Label         json.RawMessage
	Document      []byte          // nil: none, or erased
	DraftedSet    *uuid.UUID      // the measurement set of the current draft
	DraftedSpec   json.RawMessage // the order's spec when that was drafted
	BasisRevision *int            // the draft that the preview compared with
	BasisRequest  *int            // the order's draft request then
}

// RefitInputs reads the orders of a batch that are still to be previewed or, if
// applying, to be applied.
func (q Queries) RefitInputs(ctx context.Context, refit uuid.UUID, batch int, applying bool) ([]RefitInput, error) {
	p := query.ListRefitInputsParams{RefitID: refit, Batch: &batch}
	if applying {
		p.Outcome = new("chosen")
	} else {
		p.Finding = new("waiting")
	}
	return q.refitInputs(ctx, p)
}

// RefitInput reads one order of a refit.
func (q Queries) RefitInput(ctx context.Context, refit, order uuid.UUID) (RefitInput, error) {
	found, err := q.refitInputs(ctx, query.ListRefitInputsParams{RefitID: refit, OrderID: &order})
	if err == nil && len(found) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return RefitInput{}, err
	}
	return found[0], nil
}

func (q Queries) refitInputs(ctx context.Context, p query.ListRefitInputsParams) ([]RefitInput, error) {
	rows, err := q.ListRefitInputs(ctx, p)
	if err != nil {
		return nil, err
	}
	inputs := make([]RefitInput, len(rows))
	for i, r := range rows {
		if r.Document != nil {
			if r.Document, err = decompress(r.Document); err != nil {
				return nil, fmt.Errorf("draft of order %s: %w", r.DraftInput.ID, err)
			}
		}
		inputs[i] = RefitInput{DraftInput: DraftInput{r.DraftInput, r.BasisAlterations, r.Basis}, Engine: r.Engine,
			Hash: r.Hash, Label: r.Label, Document: r.Document, DraftedSet: r.DraftedSet, DraftedSpec: r.DraftedSpec,
			BasisRevision: r.BasisRevision, BasisRequest: r.BasisRequest}
	}
	return inputs, nil
}

// RefitFinding is the result of a preview for one order.
type RefitFinding struct {
	OrderID       uuid.UUID       `json:"order_id"`
	Finding       string          `json:"finding"`
	BasisRevision *int            `json:"basis_revision"`
	BasisRequest  *int            `json:"basis_request"`
	ReasonCode    *string         `json:"reason_code"`
	Faults        json.RawMessage `json:"faults,omitempty"`
	Comparison    json.RawMessage `json:"comparison,omitempty"`
	Largest       *float64        `json:"largest"`
}

// RecordFindings writes the findings of orders that still wait for one, and
// reports whether an order of the refit is left waiting. An order whose customer
// was erased meanwhile gets no comparison.
func (t *Tx) RecordFindings(
	ctx context.Context, refit uuid.UUID, found []RefitFinding, at time.Time,
) (waiting bool, err error) {
	err = t.Queries.RecordFindings(ctx, query.RecordFindingsParams{RefitID: refit, Findings: JSON(found), At: at})
	if err != nil {
		return false, err
	}
	return t.RefitHasWaiting(ctx, refit)
}

// DecideRefit cancels the fittings of a previewed refit that are not finished, and
// gives every order its outcome: those that change are chosen if the decision is
// all, or some and their ID is given. It returns how many were chosen, and in which
// batches. It conflicts with refit_orders_chosen while another refit is applying one
// of them.
func (t *Tx) DecideRefit(
	ctx context.Context, refit uuid.UUID, decision string, ids []uuid.UUID, at time.Time,
) (chosen int, batches []int, err error) {
	if _, err = t.CancelRefitFittings(ctx, query.CancelRefitFittingsParams{RefitID: refit, At: at}); err != nil {
		return 0, nil, err
	}
	err = t.Queries.DecideRefit(ctx, query.DecideRefitParams{RefitID: refit, Decision: decision, Ids: ids, At: at})
	if err != nil {
		return 0, nil, err
	}
	rows, err := t.ChosenBatches(ctx, refit)
	for _, r := range rows {
		chosen += r.Orders
		batches = append(batches, r.Batch)
	}
	return chosen, batches, err
}

// LockOrders locks orders until the transaction ends and returns them by ID.
func (t *Tx) LockOrders(ctx context.Context, ids []uuid.UUID) (map[uuid.UUID]LockedOrder, error) {
	rows, err := t.Queries.LockOrders(ctx, ids)
	locked := make(map[uuid.UUID]LockedOrder, len(rows))
	for _, r := range rows {
		locked[r.ID] = r
	}
	return locked, err
}

// RefitOutcomes are the outcomes of chosen orders of a refit: of those that are
// revised, with their documents plain and without hashes, and of those that are
// given no draft.
type RefitOutcomes struct {
	Revised []query.ReviseOrdersParams
	Settled []query.SettleRefitOrdersParams
}

// ApplyRefit writes the outcomes of orders that are locked, and reports whether a
// chosen order of the refit is left to be done. An order that is no longer as it
// was when it was drafted is not found; the caller then rolls back.
func (t *Tx) ApplyRefit(ctx context.Context, refit uuid.UUID, outcomes RefitOutcomes) (left bool, err error) {
	t.SettleRefitOrders(ctx, outcomes.Settled).Exec(func(_ int, failed error) { err = firstError(err, failed) })
	for i := range outcomes.Revised {
		o := &outcomes.Revised[i]
		hash := sha256.Sum256(o.Document)
		o.Hash, o.Document = hash[:], compress(o.Document)
	}
	t.ReviseOrders(ctx, outcomes.Revised).QueryRow(func(_ int, _ uuid.UUID, failed error) {
		err = firstError(err, failed)
	})
	if err != nil {
		return false, err
	}
	return t.RefitHasChosen(ctx, refit)
}

// firstError returns the first error of a batch: those after it follow from it.
func firstError(before, err error) error {
	if before != nil {
		return before
	}
	return translate(err)
}
