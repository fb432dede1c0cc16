package refits

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/webhooks"
	"tapeline/service/work"
)

// Job is the job to preview, or to apply, a batch of a refit's orders.
type Job struct {
	RefitID uuid.UUID `json:"refit_id"`
	Batch   int       `json:"batch"`
	State   Status    `json:"state"` // of the refit, in which the job is due
}

func (Job) Kind() string { return "refit" }

func (Job) Queue() work.Queue { return work.Refits }

func newJob(refit uuid.UUID, batch int, state Status) work.Args {
	return Job{refit, batch, state}
}

// work previews or applies a batch. What comes of it is written in one
// transaction, and only for the orders that still wait for it: a worker may die
// anywhere, or two may have the same batch, and every order has one finding and one
// outcome.
func (s *Service) work(ctx context.Context, job *work.Job[Job]) error {
	row, err := s.store.RefitByID(ctx, job.Args.RefitID)
	if err != nil {
		return fmt.Errorf("read refit %s: %w", job.Args.RefitID, err)
	}
	if Status(row.Status) != job.Args.State {
		return nil // stopped
	}
	r, err := decode(row)
	if err != nil {
		return err
	}
	change, err := s.target(ctx, s.store.Queries, service.Caller{Shop: row.ShopID}, r.Change)
	if e, ok := errors.AsType[*service.Error](err); ok {
		// What the change needs was erased: its orders are cancelled, and found so below.
		s.Log.Warn("refit lost what it changes to", "refit_id", r.ID, "error", e)
	} else if err != nil {
		return err
	}
	inputs, err := s.store.RefitInputs(ctx, r.ID, job.Args.Batch, job.Args.State == Applying)
	if err != nil {
		return fmt.Errorf("read batch %d of refit %s: %w", job.Args.Batch, r.ID, err)
	}
	if job.Args.State == Applying {
		return s.applyBatch(ctx, r, change, inputs, job)
	}
	return s.previewBatch(ctx, r, change, inputs, job)
}

func (s *Service) previewBatch(
	ctx context.Context, r Refit, change target, inputs []db.RefitInput, job *work.Job[Job],
) error {
	found := make([]db.RefitFinding, len(inputs))
	for i, in := range inputs {
		var err error
		if found[i], err = s.preview(ctx, change, r.Paper, r.Scope.Orders != nil, in); err != nil {
			return err
		}
	}
	return s.writeBatch(ctx, r, job, func(tx *db.Tx, now time.Time) (left bool, err error) {
		return tx.RecordFindings(ctx, r.ID, found, now)
	}, func(row *db.Refit, now time.Time) {
		row.Status, row.PreviewedAt = string(ToDecide), &now
	})
}

// writeBatch writes the results of a batch and, after the last batch of its
// refit, the next state of the refit.
func (s *Service) writeBatch(
	ctx context.Context, r Refit, job *work.Job[Job],
	write func(*db.Tx, time.Time) (left bool, err error), last func(*db.Refit, time.Time),
) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := tx.LockRefit(ctx, r.ID)
		if err != nil {
			return err
		}
		if Status(row.Status) != job.Args.State {
			return nil // stopped meanwhile
		}
		now := s.Clock.Now()
		left, err := write(tx, now)
		if err != nil {
			return err
		}
		if !left {
			last(&row, now)
			if err := update(ctx, tx, row); err != nil {
				return err
			}
			s.Log.Info("refit", "refit_id", r.ID, "state", row.Status, "orders", row.Orders)
		}
		return nil
	})
}

func (s *Service) applyBatch(
	ctx context.Context, r Refit, change target, inputs []db.RefitInput, job *work.Job[Job],
) error {
	named := r.Scope.Orders != nil
	drafted := make([]outcome, len(inputs))
	ids := make([]uuid.UUID, len(inputs))
	for i, in := range inputs {
		ids[i] = in.ID
		var err error
		if drafted[i], err = s.outcome(ctx, r, change, in); err != nil {
			return err
		}
	}
	return s.writeBatch(ctx, r, job, func(tx *db.Tx, now time.Time) (bool, error) {
		locked, err := tx.LockOrders(ctx, ids)
		if err != nil {
			return false, err
		}
		var outcomes db.RefitOutcomes
		for i, in := range inputs {
			o := drafted[i]
			// Only now, with their locks held, is it sure how the orders stand.
			if n := changedSince(in, locked[in.ID], r.ID, named); n != nil {
				o = n.outcome()
			}
			if o.revised != nil {
				o.revised.At = now
				outcomes.Revised = append(outcomes.Revised, *o.revised)
			} else {
				o.settled.RefitID, o.settled.OrderID, o.settled.At = r.ID, in.ID, now
				outcomes.Settled = append(outcomes.Settled, o.settled)
			}
		}
		return tx.ApplyRefit(ctx, r.ID, outcomes)
	}, func(row *db.Refit, now time.Time) {
		row.Status, row.EndedAt = string(Done), &now
	})
}

// outcome is the result for a chosen order: its next draft, or why it has none.
type outcome struct {
	revised *query.ReviseOrdersParams
	settled query.SettleRefitOrdersParams // if not revised
}

// outcome returns the outcome of a chosen order that is given no other draft.
func (n *notRedrafted) outcome() outcome {
	o := outcome{settled: query.SettleRefitOrdersParams{Outcome: n.finding, ReasonCode: (*string)(&n.reason)}}
	if n.faults != nil {
		o.settled.Faults = db.JSON(n.faults)
	}
	return o
}

// outcome drafts an order that was chosen as its next revision, and returns what
// to write of it.
func (s *Service) outcome(ctx context.Context, r Refit, change target, in db.RefitInput) (outcome, error) {
	basis, err := orders.DecodeBasis(in.DraftInput)
	if err != nil {
		return outcome{}, err
	}
	if basis.Measurements == nil {
		return leftAlone(leftErased).outcome(), nil
	}
	number := in.LastNumber + 1
	d, err := s.redraft(ctx, change, in, basis, number)
	if n, ok := errors.AsType[*notRedrafted](err); ok {
		return n.outcome(), nil
	}
	if err != nil {
		return outcome{}, err
	}
	if d.same { // it was given the change by other means; that it has changed shows when it is locked
		return outcome{settled: query.SettleRefitOrdersParams{Outcome: findingUnchanged}}, nil
	}
	o := orders.Order{ID: in.ID, Reference: in.Reference, Status: orders.Status(in.Status), Revision: number}
	if in.ReasonCode != nil {
		o.Reason = orders.Reason(*in.ReasonCode)
	}
	m := s.Orders.RevisedMessage(in.ShopID, webhooks.OrderRevised, o, in.Revision, &r.ID, s.Clock.Now())
	return outcome{revised: &query.ReviseOrdersParams{RefitID: r.ID, OrderID: in.ID, Status: in.Status,
		Request: in.DraftRequest, Number: number, Parent: &in.LastNumber, MeasurementSetID: d.input.MeasurementSetID,
		AlterationsID: d.input.BasisAlterations, Spec: db.JSON(d.spec), Engine: s.Version, Checks: d.record.Checks,
		Label: d.record.Label, Document: d.record.Document, Reason: r.Reason, CreatedBy: r.DecidedBy,
		MessageType: m.Type, MessageBody: m.Body}}, nil
}

// Orphans returns jobs for batches of refits that have waited since before a
// time and have none.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	batches, err := s.store.OrphanedBatches(ctx,
		query.OrphanedBatchesParams{Kind: Job{}.Kind(), Before: before, Limit: limit})
	jobs := make([]work.Args, len(batches))
	for i, b := range batches {
		jobs[i] = newJob(b.RefitID, b.Batch, Status(b.Status))
	}
	return jobs, err
}
