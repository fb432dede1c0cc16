package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"tapeline/db/query"
	"tapeline/service/customers"
	"tapeline/service/patterns"
	"time"

	"tapeline/db"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/service/work"
)

// draftWorker drafts orders. What comes of a job is written in one
// transaction with the job's completion and only while the order still waits
// for that request: a worker may die anywhere, or two may have the same job,
// and a shop sees one draft.
type draftWorker struct {
	service *Service
}

func (w *draftWorker) Work(ctx context.Context, job *work.Job[draftArgs]) error {
	s := w.service
	in, err := s.store.DraftInput(ctx, job.Args.OrderID)
	if err != nil {
		return fmt.Errorf("read order %s: %w", job.Args.OrderID, err)
	}
	if Status(in.Status) != StatusReceived || in.DraftRequest != job.Args.Request || in.Given == nil {
		return nil // overtaken
	}
	var settled db.Settlement
	err = s.onCore(ctx, func() (err error) {
		settled, err = s.settle(ctx, in)
		return err
	})
	if err != nil {
		return err
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		applied, messages, err := tx.SettleDraft(ctx, settled)
		if err != nil || !applied {
			return err
		}
		if err := s.enqueue(ctx, tx, deliverJobs(messages)); err != nil {
			return err
		}
		return work.Complete(ctx, tx, job)
	})
	if db.Conflicts(err, "draft_revisions_not_erased") {
		return nil // erased while it was drafted; its order is cancelled
	}
	return err
}

// settle drafts an order and says what is to be written of it.
func (s *Service) settle(ctx context.Context, in db.DraftInput) (db.Settlement, error) {
	o, err := order(in.Order)
	if err != nil {
		return db.Settlement{}, err
	}
	c, err := s.commissioned(ctx, in, o)
	if u, ok := errors.AsType[*undrafted](err); ok {
		return s.settleUndrafted(in, o, u), nil
	}
	if err != nil {
		return db.Settlement{}, err
	}
	start := time.Now()
	pattern, err := s.guardedDraft(ctx, o, c)
	s.measure.drafted(time.Since(start), err)
	ask, askErr := s.doubts(ctx, in, o, c.measured)
	if askErr != nil {
		return db.Settlement{}, askErr
	}
	if err = undraftedBy(err, ask); err != nil {
		return s.settleUndrafted(in, o, err), nil
	}
	draft, err := patterns.NewRecord(pattern)
	if err != nil {
		return db.Settlement{}, err
	}
	if in.LastNumber > 0 && draft.Equals(in.LastHash, in.LastLabel) {
		return s.settleUnchanged(in, o), nil
	}
	return s.settleDrafted(in, o, draft), nil
}

// commissioned gathers what an order's next draft is made from.
func (s *Service) commissioned(ctx context.Context, in db.DraftInput, o Order) (commission, error) {
	c := commission{spec: o.Spec, measured: Measured{Unit: in.Unit}, label: labelled{reference: o.Reference, revision: in.LastNumber + 1}}
	if err := json.Unmarshal(in.Given, &c.measured.Values); err != nil {
		return c, fmt.Errorf("measurements of order %s: %w", o.ID, err)
	}
	if in.CustomerReference != nil {
		c.label.customer = *in.CustomerReference
	}
	var err error
	if c.garment, err = s.compileStyle(ctx, s.store.Queries, o.Spec); err != nil {
		return c, err
	}
	c.kept, err = keptIn(in)
	return c, err
}

// doubts are the numbers of an order that do not go together and of which
// nobody has said that they are right, for this order or another.
func (s *Service) doubts(ctx context.Context, in db.DraftInput, o Order, m Measured) (fault.List, error) {
	levels, err := customers.ShopLevels(ctx, s.store.Queries, in.ShopID)
	if err != nil {
		return nil, err
	}
	doubts := customers.Assess(levels, m, customers.Needs{}).Doubts(customers.Refuse, customers.Confirm)
	if len(doubts) == 0 {
		return nil, nil
	}
	confirmed, err := s.store.SetConfirmed(ctx, query.SetConfirmedParams{ShopID: in.ShopID, ID: o.MeasurementSetID})
	if err != nil || confirmed {
		return nil, err
	}
	return doubts, nil
}

// undraftedBy holds an order back that has doubts. Where there is no draft
// anyway the questions are put beside its reasons.
func undraftedBy(err error, doubts fault.List) error {
	if len(doubts) == 0 {
		return err
	}
	if u, ok := errors.AsType[*undrafted](err); ok {
		return &undrafted{u.reason, append(u.faults, doubts...)}
	}
	if err != nil {
		return err
	}
	return &undrafted{reasonImplausible, doubts}
}

// guardedDraft drafts, and turns a panic of drafting into an error: it would
// only happen again.
func (s *Service) guardedDraft(ctx context.Context, o Order, c commission) (p finish.Pattern, err error) {
	defer func() {
		if v := recover(); v != nil {
			s.log.LogAttrs(ctx, slog.LevelError, "panic", slog.String("order_id", o.ID.String()),
				slog.String("type", fmt.Sprintf("%T", v)), slog.String("stack", string(debug.Stack())))
			err = fmt.Errorf("panic of type %T while drafting", v)
		}
	}()
	return c.draft(ctx)
}

// settleDrafted hands out a new draft.
func (s *Service) settleDrafted(in db.DraftInput, o Order, d patterns.Record) db.Settlement {
	now := s.now()
	o.Status, o.Revision, o.Reason, o.Faults = StatusReady, in.LastNumber+1, "", nil
	settled := db.Settlement{OrderID: o.ID, Request: in.DraftRequest, Status: string(StatusReady), Revision: o.Revision, At: now,
		Draft: &db.DraftRevision{DraftHead: db.DraftHead{Number: o.Revision, AlterationsID: in.KeptID, Engine: s.cfg.Version, Checks: d.Checks, Label: d.Label,
			Reason: in.Asked, CreatedBy: in.AskedBy}, Geometry: d.Document},
		Event: db.OrderEvent{Event: "ready", ToStatus: string(StatusReady), Revision: &o.Revision}}
	if in.LastNumber == 0 {
		settled.Message = s.orderMessage(in.ShopID, eventReady, o, now)
	} else {
		settled.Event.Event = "revised"
		settled.Draft.Parent = &in.LastNumber
		settled.Message = s.revisedMessage(in.ShopID, o, in.LastNumber, now)
	}
	return settled
}

// settleUnchanged lets the last draft stand.
func (s *Service) settleUnchanged(in db.DraftInput, o Order) db.Settlement {
	now := s.now()
	o.Status, o.Revision = StatusReady, in.LastNumber
	return db.Settlement{OrderID: o.ID, Request: in.DraftRequest, Status: string(StatusReady), Revision: o.Revision, At: now,
		Event:   db.OrderEvent{Event: "unchanged", ToStatus: string(StatusReady), Revision: &o.Revision},
		Message: s.orderMessage(in.ShopID, eventReady, o, now)}
}

// settleUndrafted holds the order with the reason, or fails it where the fault
// is ours.
func (s *Service) settleUndrafted(in db.DraftInput, o Order, why error) db.Settlement {
	now := s.now()
	o.Status, o.Reason, o.Faults = StatusFailed, reasonInternal, nil
	kind, word := eventFailed, "failed"
	if u, ok := errors.AsType[*undrafted](why); ok {
		o.Status, o.Reason, o.Faults = StatusHeld, u.reason, u.faults
		kind, word = eventHeld, "held"
	} else {
		s.log.Error("draft failed", "order_id", o.ID, "error", why)
	}
	settled := db.Settlement{OrderID: o.ID, Request: in.DraftRequest, Status: string(o.Status), ReasonCode: &o.Reason, Revision: in.Revision, At: now,
		Event:   db.OrderEvent{Event: word, ToStatus: string(o.Status), ReasonCode: &o.Reason},
		Message: s.orderMessage(in.ShopID, kind, o, now)}
	if o.Faults != nil {
		settled.Faults = encode(o.Faults)
	}
	return settled
}
