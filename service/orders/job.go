package orders

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service/patterns"
	"tapeline/service/webhooks"
	"tapeline/service/work"
)

// DraftJob is the job to draft an order as it was at a draft request.
type DraftJob struct {
	OrderID uuid.UUID `json:"order_id"`
	Request int       `json:"request"`
	behind  int       // orders of the shop that waited when this one came
}

func (DraftJob) Kind() string      { return "draft" }
func (DraftJob) Queue() work.Queue { return work.Drafts }

// Behind implements work.Behind.
func (j DraftJob) Behind() int { return j.behind }

// draft drafts an order. The result is written in one statement, and only
// while the order still waits for that request: a worker may die anywhere, or two
// may have the same job, and a shop sees one draft.
func (s *Service) draft(ctx context.Context, job *work.Job[DraftJob]) error {
	in, err := s.store.DraftInput(ctx, job.Args.OrderID)
	if err != nil {
		return fmt.Errorf("read order %s: %w", job.Args.OrderID, err)
	}
	if Status(in.Status) != Received || in.DraftRequest != job.Args.Request {
		return nil // overtaken
	}
	settled, err := s.settle(ctx, in)
	if err != nil {
		return err
	}
	fitting, err := s.store.SettleDraft(ctx, *settled)
	if errors.Is(err, db.ErrNotFound) || db.Conflicts(err, "draft_revisions_not_erased") {
		return nil // overtaken, or erased while it was drafted; its order is cancelled
	}
	if err != nil || fitting == nil {
		return err
	}
	// If the program dies here, Orphans of fittings finds the fitting without its job.
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		return s.Jobs.Enqueue(ctx, tx, FittingJob{FittingID: *fitting, Waiting: BehindRequests})
	})
}

// FittingJob is the job to try a draft on.
type FittingJob struct {
	FittingID uuid.UUID `json:"fitting_id"`
	Waiting   int       `json:"-"` // jobs that go first, as work.Behind counts them
}

// BehindRequests has a job wait until the fittings that somebody asked for are made.
const BehindRequests = 100

func (FittingJob) Kind() string      { return "fitting" }
func (FittingJob) Queue() work.Queue { return work.Fittings }

// Behind implements work.Behind.
func (j FittingJob) Behind() int { return j.Waiting }

// settle drafts an order and returns what to write of it. It reads everything
// before it takes a core.
func (s *Service) settle(ctx context.Context, in db.DraftInput) (*query.SettleDraftParams, error) {
	basis, err := DecodeBasis(in)
	if err != nil {
		return nil, err
	}
	if basis.Measurements == nil {
		erased := Order{Status: Cancelled, Reason: Erased, Revision: in.Revision}
		return s.settlement(in, erased, "cancelled", webhooks.OrderCancelled, 0, s.Clock.Now()), nil
	}
	if forced := s.forced(in, basis); forced != nil {
		return forced, nil
	}
	order, err := s.Compose(ctx, in, basis, in.LastNumber+1)
	if u, ok := errors.AsType[*UndraftedError](err); ok {
		return s.undrafted(in, u), nil
	}
	if err != nil {
		return nil, err
	}
	doubts, err := s.Doubts(ctx, in.ShopID, in.MeasurementSetID, basis.Measured())
	if err != nil {
		return nil, err
	}
	record, err := s.DraftOn(ctx, work.Order, in.ShopID, order)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err = HeldBy(err, doubts); err != nil {
		return s.undrafted(in, err), nil
	}
	if in.LastNumber > 0 && record.Equals(in.LastHash, in.LastLabel) {
		return s.unchanged(in), nil
	}
	return s.drafted(in, record), nil
}

// settlement is the record of an order that has reached a state.
func (s *Service) settlement(
	in db.DraftInput, o Order, event string, t webhooks.EventType, previous int, now time.Time,
) *query.SettleDraftParams {
	o.ID, o.Reference, o.Spec.Test = in.ID, in.Reference, isTest(in)
	m := s.RevisedMessage(in.ShopID, t, o, previous, nil, now)
	settled := &query.SettleDraftParams{OrderID: in.ID, Request: in.DraftRequest, Status: string(o.Status),
		ReasonCode: (*string)(optional(o.Reason)), Revision: o.Revision, At: now, Event: event,
		MessageType: &m.Type, MessageBody: &m.Body}
	if o.Faults != nil {
		settled.Faults = db.JSON(o.Faults)
	}
	return settled
}

// drafted hands out a new draft.
func (s *Service) drafted(in db.DraftInput, r patterns.Record) *query.SettleDraftParams {
	o := Order{Status: Ready, Revision: in.LastNumber + 1}
	s.Patterns.Keep(r, o.Revision)
	event, t := "ready", webhooks.OrderReady
	if in.LastNumber > 0 {
		event, t = "revised", webhooks.OrderRevised
	}
	settled := s.settlement(in, o, event, t, in.LastNumber, s.Clock.Now())
	settled.EventRevision = &o.Revision
	settled.Document, settled.Checks, settled.Label, settled.Engine = r.Document, r.Checks, r.Label, &s.Version
	settled.AlterationsID, settled.Parent = in.BasisAlterations, optional(in.LastNumber)
	settled.Reason, settled.CreatedBy = in.RequestReason, in.RequestedBy
	return settled
}

// unchanged hands out the latest draft.
func (s *Service) unchanged(in db.DraftInput) *query.SettleDraftParams {
	settled := s.settlement(in, Order{Status: Ready, Revision: in.LastNumber}, "unchanged", webhooks.OrderReady, 0,
		s.Clock.Now())
	settled.EventRevision = &in.LastNumber
	return settled
}

// undrafted holds an order with the reason, or fails it for a defect of the
// program.
func (s *Service) undrafted(in db.DraftInput, err error) *query.SettleDraftParams {
	if u, ok := errors.AsType[*UndraftedError](err); ok {
		o := Order{Status: Held, Reason: u.Reason, Faults: u.Faults, Revision: in.Revision}
		return s.settlement(in, o, "held", webhooks.OrderHeld, 0, s.Clock.Now())
	}
	s.Log.Error("draft failed", "order_id", in.ID, "error", err)
	o := Order{Status: Failed, Reason: Internal, Revision: in.Revision}
	return s.settlement(in, o, "failed", webhooks.OrderFailed, 0, s.Clock.Now())
}

// Orphans returns jobs for orders that have waited to be drafted since before a
// time and have none. A job can be lost with a backup that the database was
// restored from; one that comes twice does nothing the second time.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	left, err := s.store.OrphanedOrders(ctx, query.OrphanedOrdersParams{Kind: DraftJob{}.Kind(), Before: before,
		Limit: limit})
	jobs := make([]work.Args, len(left))
	for i, o := range left {
		jobs[i] = DraftJob{OrderID: o.ID, Request: o.DraftRequest}
	}
	return jobs, err
}
