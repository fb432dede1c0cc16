package orders

import (
	"bytes"
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/styles"
	"tapeline/service/webhooks"
	"tapeline/service/work"
)

// change is one change of an order by a person, in a transaction.
type change struct {
	row       query.ShopOrder
	from      Status
	event     string // for the history; "" writes nothing
	reason    string // a person's own words
	confirmed []Confirmed
	jobs      []work.Args
	notify    webhooks.EventType // "" sends no message
	previous  Progress           // before a change of progress; "" for any other change
}

func newChange(row query.ShopOrder) *change { return &change{row: row, from: Status(row.Status)} }

// update returns the row as it is written, if the order still is in the state
// that it was read in.
func (c *change) update() query.UpdateOrderParams {
	o := c.row
	return query.UpdateOrderParams{ShopID: o.ShopID, ID: o.ID, FromStatus: string(c.from),
		MeasurementSetID: o.MeasurementSetID, Spec: o.Spec, Status: o.Status, ReasonCode: o.ReasonCode, Faults: o.Faults,
		Revision: o.Revision, DraftRequest: o.DraftRequest, Progress: o.Progress, DueDate: o.DueDate,
		Assignee: o.Assignee, Note: o.Note, UpdatedAt: o.UpdatedAt}
}

// become moves the order to another state.
func (c *change) become(s Status, r Reason) {
	c.row.Status, c.row.ReasonCode, c.row.Faults = string(s), (*string)(optional(r)), nil
}

// draftAgain requests a draft of the order as it now is.
func (c *change) draftAgain() {
	c.row.DraftRequest++
	c.become(Received, "")
	c.jobs = append(c.jobs, DraftJob{OrderID: c.row.ID, Request: c.row.DraftRequest})
}

func (c *change) cancel(r Reason, reason string) {
	c.become(Cancelled, r)
	c.event, c.reason, c.notify = "cancelled", reason, webhooks.OrderCancelled
}

// change locks an order, lets decide change it, and writes the order, its
// history, the audit entry, messages and jobs.
func (s *Service) change(
	ctx context.Context, caller service.Caller, id uuid.UUID, decide func(*db.Tx, *change) error,
) (changed Order, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := tx.OrderForUpdate(ctx, query.OrderForUpdateParams{ShopID: caller.Shop, ID: id})
		if err != nil {
			return service.OrNotFound(err, "order")
		}
		c := newChange(row)
		if err := decide(tx, c); err != nil {
			return err
		}
		changed, err = s.write(ctx, tx, caller, c, s.Clock.Now())
		return err
	})
	return changed, err
}

func (s *Service) write(
	ctx context.Context, tx *db.Tx, caller service.Caller, c *change, now time.Time,
) (Order, error) {
	if c.event == "" {
		return Decode(c.row)
	}
	if faults := service.CheckReason(c.reason); len(faults) > 0 {
		return Order{}, service.Invalid(faults)
	}
	c.row.UpdatedAt = now
	changed, err := Decode(c.row)
	if err != nil {
		return Order{}, err
	}
	if _, err := tx.UpdateOrder(ctx, c.update()); err != nil {
		return Order{}, err
	}
	event := query.AppendEventParams{ShopID: c.row.ShopID, OrderID: c.row.ID, Event: c.event,
		FromStatus: (*string)(&c.from), ToStatus: c.row.Status, Revision: optional(c.row.Revision),
		ReasonCode: c.row.ReasonCode, Reason: optional(c.reason), Actor: caller.Actor(), At: now}
	if c.confirmed != nil {
		event.Confirmed = db.JSON(c.confirmed)
	}
	if err := tx.AppendEvent(ctx, event); err != nil {
		return Order{}, err
	}
	if c.notify != "" {
		m := s.progressMessage(c.row.ShopID, c.notify, changed, c.previous, now)
		if err := tx.QueueMessages(ctx, query.QueueMessagesParams{ShopID: m.ShopID, Type: m.Type, OrderID: m.OrderID,
			Body: m.Body, At: m.At}); err != nil {
			return Order{}, err
		}
	}
	if err := s.record(ctx, tx, caller, c.event, c.row.ID, now); err != nil {
		return Order{}, err
	}
	return changed, s.Jobs.Enqueue(ctx, tx, c.jobs...)
}

// Hold keeps an order that is received or ready from being drafted or handed
// out.
func (s *Service) Hold(ctx context.Context, caller service.Caller, id uuid.UUID, reason string) (Order, error) {
	return s.change(ctx, caller, id, func(_ *db.Tx, c *change) error {
		if err := c.from.Allow(Hold); err != nil {
			return err
		}
		c.become(Held, ByRequest)
		c.event, c.reason, c.notify = "held", reason, webhooks.OrderHeld
		return nil
	})
}

// Confirm releases a held order as it is, or with another measurement set of its
// customer. A draft made from exactly what the order says now stays; otherwise
// the order is drafted.
func (s *Service) Confirm(ctx context.Context, caller service.Caller, id, set uuid.UUID, reason string) (Order, error) {
	return s.change(ctx, caller, id, func(tx *db.Tx, c *change) error {
		if err := c.from.Allow(Confirm); err != nil {
			return err
		}
		c.event, c.reason = "confirmed", reason
		o, err := Decode(c.row)
		if err != nil {
			return err
		}
		if set != uuid.Nil {
			c.row.MeasurementSetID = set
			if err := s.checkMeasurements(ctx, tx, caller, o, set); err != nil {
				return err
			}
		}
		unchanged, err := sinceDraft(ctx, tx, c.row)
		if err != nil {
			return err
		}
		if Stands(o.Revision, o.Reason, unchanged) {
			c.become(Ready, "")
			c.notify = webhooks.OrderReady
			return nil
		}
		if set == uuid.Nil {
			c.confirm(o)
		}
		c.draftAgain()
		return nil
	})
}

// confirm records that the numbers in doubt are right. It holds
// for the set that they are in.
func (c *change) confirm(o Order) {
	for _, f := range o.Faults {
		if f.Code == fault.Implausible {
			c.confirmed = append(c.confirmed, Confirmed{f.Field, f.Explanation})
		}
	}
	if c.confirmed != nil {
		o.Spec.Confirmed = o.MeasurementSetID.String()
		c.row.Spec = db.JSON(o.Spec)
	}
}

// sinceDraft reports whether spec and measurements are those of the order's
// draft.
func sinceDraft(ctx context.Context, tx *db.Tx, row query.ShopOrder) (unchanged bool, err error) {
	if row.Revision == 0 {
		return false, nil
	}
	found, err := tx.DraftHead(ctx, query.DraftHeadParams{ShopID: row.ShopID, OrderID: row.ID, Number: row.Revision})
	if err != nil {
		return false, err
	}
	head := found.DraftHead
	return head.MeasurementSetID == row.MeasurementSetID && bytes.Equal(head.Spec, row.Spec), nil
}

// Change is a request to change an order. Nil and zero fields stay as they are.
type Change struct {
	MeasurementSetID uuid.UUID
	Style            string // pinned again, as it now is
	StyleRevision    int    // or this revision of it
	Unit             string // of the lengths here, and of the order from now on
	Fit              string
	Choices          map[string]any
	Ease             map[string]float64
	Allowances       map[string]float64
	Reason           string
}

// Revise has an order that is ready, held or failed drafted again with changes.
// What cannot be drafted for a reason that shows at once is refused, and the
// order stays as it was.
func (s *Service) Revise(ctx context.Context, caller service.Caller, id uuid.UUID, r Change) (Order, error) {
	return s.change(ctx, caller, id, func(tx *db.Tx, c *change) error {
		if err := c.from.Allow(Revise); err != nil {
			return err
		}
		o, err := Decode(c.row)
		if err != nil {
			return err
		}
		if r.MeasurementSetID != uuid.Nil {
			c.row.MeasurementSetID = r.MeasurementSetID
		}
		spec, err := s.revised(ctx, tx, caller, o, r, c.row.MeasurementSetID)
		if err != nil {
			return err
		}
		c.row.Spec = db.JSON(spec)
		c.event, c.reason = "revising", r.Reason
		c.draftAgain()
		return nil
	})
}

// revised returns an order's spec with changes, once it was checked.
func (s *Service) revised(
	ctx context.Context, tx *db.Tx, caller service.Caller, o Order, r Change, set uuid.UUID,
) (Spec, error) {
	spec := o.Spec
	if r.Unit != "" {
		spec.Unit = body.Unit(r.Unit)
	}
	in := spec.Input()
	if r.Fit != "" {
		in.Fit = r.Fit
	}
	if r.Choices != nil {
		in.Choices = r.Choices
	}
	if r.Ease != nil {
		in.Ease = r.Ease
	}
	if r.Allowances != nil {
		in.Allowances = r.Allowances
	}
	garment, err := s.garment(ctx, tx.Queries, spec)
	if r.Style != "" {
		var pinned styles.Resolved
		in.Block, in.Style = "", r.Style
		ref := styles.Ref{Slug: r.Style, Revision: r.StyleRevision}
		pinned, err = s.Styles.Pin(ctx, tx.Queries, caller, ref, s.Clock.Now())
		if garment = pinned.Garment; err == nil {
			spec.StyleRevision, spec.StyleHash = pinned.Revision, garment.Hash
		}
	}
	faults, err := inputFaults(err)
	if err != nil {
		return Spec{}, err
	}
	if len(faults) > 0 {
		return Spec{}, service.Invalid(faults)
	}
	spec.StoredOrder, err = s.check(ctx, tx, caller, in, garment, o.CustomerID, set)
	return spec, err
}

// checkMeasurements checks an order with another measurement set.
func (s *Service) checkMeasurements(
	ctx context.Context, tx *db.Tx, caller service.Caller, o Order, set uuid.UUID,
) error {
	garment, err := s.garment(ctx, tx.Queries, o.Spec)
	if faults, err := inputFaults(err); err != nil || len(faults) > 0 {
		return joinFaults(faults, err)
	}
	_, err = s.check(ctx, tx, caller, o.Spec.Input(), garment, o.CustomerID, set)
	return err
}

func joinFaults(faults fault.List, err error) error {
	if err != nil {
		return err
	}
	return service.Invalid(faults)
}

// check checks a changed order as a new one is checked.
func (s *Service) check(
	ctx context.Context, tx *db.Tx, caller service.Caller, in Input, garment *style.Style, customer, set uuid.UUID,
) (stored drafting.StoredOrder, err error) {
	measurements, err := customers.SetOf(ctx, tx.Queries, caller, customer, set)
	if err != nil {
		return stored, err
	}
	assessed, err := assess(ctx, tx.Queries, caller.Shop, measurements.Measurements)
	if err != nil {
		return stored, err
	}
	order, faults := resolve(in, measurements.Measurements, garment)
	return order.Stored(), s.refuse(ctx, tx, caller.Shop, set, faults, assessed)
}

// garment returns the style that a spec has pinned, compiled; nil for a block.
func (s *Service) garment(ctx context.Context, q db.Queries, spec Spec) (*style.Style, error) {
	if spec.Style == "" {
		return nil, nil
	}
	return s.Styles.Compile(ctx, q, spec.Style, spec.StyleHash)
}

// Garment returns the style that a spec has pinned, compiled; nil for a block.
// The error is a *styles.ScriptError if this version of the program can't read it.
func (s *Service) Garment(ctx context.Context, spec Spec) (*style.Style, error) {
	return s.garment(ctx, s.store.Queries, spec)
}

// Cancel ends an order. Cancelling a cancelled one changes nothing.
func (s *Service) Cancel(ctx context.Context, caller service.Caller, id uuid.UUID, reason string) (Order, error) {
	return s.change(ctx, caller, id, func(_ *db.Tx, c *change) error {
		if c.from != Cancelled {
			c.cancel(ByRequest, reason)
		}
		return nil
	})
}

// CancelForErasure implements customers.Orders, in three statements.
func (s *Service) CancelForErasure(
	ctx context.Context, tx *db.Tx, caller service.Caller, customer uuid.UUID, at time.Time,
) (int, error) {
	rows, err := tx.CancelCustomerOrders(ctx, query.CancelCustomerOrdersParams{
		ShopID: caller.Shop, CustomerID: customer, Reason: string(Erased), At: at,
		Actor: caller.Actor(), RequestID: optional(caller.RequestID),
	})
	if err != nil || len(rows) == 0 {
		return 0, err
	}
	news := query.AddOrderMessagesParams{ShopID: caller.Shop, Type: string(webhooks.OrderCancelled), At: at}
	for _, row := range rows {
		o := Order{ID: row.ID, Reference: row.Reference, Status: Cancelled, Reason: Erased, Revision: row.Revision,
			Spec: Spec{Test: caller.Test()}}
		news.OrderIds = append(news.OrderIds, row.ID)
		news.Bodies = append(news.Bodies, s.Message(caller.Shop, webhooks.OrderCancelled, o, at).Body)
	}
	return len(rows), tx.AddOrderMessages(ctx, news)
}

// SetProgress records how far an order's garment is made, and sends the event of
// the new progress, for a step back too. Repeating the present progress changes nothing.
func (s *Service) SetProgress(
	ctx context.Context, caller service.Caller, id uuid.UUID, p Progress, reason string,
) (Order, error) {
	return s.change(ctx, caller, id, func(_ *db.Tx, c *change) error {
		present := Progress(c.row.Progress)
		if present == p {
			return nil
		}
		if err := present.Become(p, c.from); err != nil {
			return err
		}
		c.row.Progress = string(p)
		c.event, c.reason, c.notify, c.previous = string(p), reason, webhooks.EventType("order."+string(p)), present
		return nil
	})
}
