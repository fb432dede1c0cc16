package legacy

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"tapeline/service/customers"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service/webhooks"
)

// change is one change of an order by a person, under way in a transaction.
type change struct {
	row       db.Order
	event     string // for the history
	note      string
	confirmed json.RawMessage // numbers that were in doubt, see Confirmed
	from      string          // the status before
	jobs      jobList
	tell      eventType // "" tells nobody
}

// changeOrder locks an order, lets decide change it, and writes what comes of
// it: the order, its history, the audit entry, the messages and the jobs. When
// decide gives no event nothing is written.
func (s *Service) changeOrder(ctx context.Context, caller Caller, id uuid.UUID, decide func(*db.Tx, *change) error) (changed Order, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := tx.OrderForUpdate(ctx, caller.Shop, id)
		if err != nil {
			return orNotFound(err, "order")
		}
		c := &change{row: row, from: row.Status}
		if err := decide(tx, c); err != nil {
			return err
		}
		if c.event != "" {
			if err := s.writeChange(ctx, tx, caller, c, s.now()); err != nil {
				return err
			}
		}
		changed, err = order(c.row)
		return err
	})
	return changed, err
}

func (s *Service) writeChange(ctx context.Context, tx *db.Tx, caller Caller, c *change, now time.Time) error {
	c.row.UpdatedAt = now
	if err := tx.UpdateOrder(ctx, c.row); err != nil {
		return err
	}
	event := db.OrderEvent{ShopID: c.row.ShopID, OrderID: c.row.ID, Event: c.event, FromStatus: &c.from, ToStatus: c.row.Status,
		ReasonCode: c.row.ReasonCode, Note: optional(c.note), Confirmed: c.confirmed, Actor: actor(caller), At: now}
	if c.row.Revision > 0 {
		event.Revision = &c.row.Revision
	}
	if err := tx.AppendEvent(ctx, event); err != nil {
		return err
	}
	if c.tell != "" {
		told, err := order(c.row)
		if err != nil {
			return err
		}
		m := s.orderMessage(c.row.ShopID, c.tell, told, now)
		messages, err := tx.QueueMessages(ctx, query.QueueMessagesParams{ShopID: m.ShopID, Type: m.Type, OrderID: m.OrderID, Body: m.Body, At: m.At})
		if err != nil {
			return err
		}
		c.jobs = append(c.jobs, webhooks.Deliveries(messages)...)
	}
	if err := audit(ctx, tx, caller, s.now(), "order."+c.event, c.row.ID, nil); err != nil {
		return err
	}
	return s.enqueue(ctx, tx, c.jobs)
}

// allowed refuses an order that is in none of the states.
func (c *change) allowed(doing string, states ...Status) error {
	if slices.Contains(states, Status(c.row.Status)) {
		return nil
	}
	return refuse(CodeWrongState, "an order that is %s cannot be %s", c.row.Status, doing)
}

// draftAgain asks for a draft of the order as it now is.
func (c *change) draftAgain() {
	c.row.DraftRequest++
	c.row.Status, c.row.ReasonCode, c.row.Faults = string(StatusReceived), nil, nil
	c.jobs = append(c.jobs, draftJob(c.row.ID, c.row.DraftRequest))
}

// HoldOrder keeps an order that is received or ready from being drafted or
// handed out.
func (s *Service) HoldOrder(ctx context.Context, caller Caller, id uuid.UUID, note string) (Order, error) {
	return s.changeOrder(ctx, caller, id, func(_ *db.Tx, c *change) error {
		if err := c.allowed("held", StatusReceived, StatusReady); err != nil {
			return err
		}
		c.row.Status, c.row.ReasonCode = string(StatusHeld), optional(reasonByRequest)
		c.event, c.note, c.tell = "held", note, eventHeld
		return nil
	})
}

// ConfirmOrder releases a held order as it stands, or with another measurement
// set of its customer. Where its draft was made from just what the order says
// now, that draft stands; else it is drafted.
func (s *Service) ConfirmOrder(ctx context.Context, caller Caller, id, set uuid.UUID, note string) (Order, error) {
	return s.changeOrder(ctx, caller, id, func(tx *db.Tx, c *change) error {
		if err := c.allowed("confirmed", StatusHeld); err != nil {
			return err
		}
		c.event, c.note = "confirmed", note
		if set != uuid.Nil {
			c.row.MeasurementSetID = set
			if err := s.checkChanged(ctx, tx, caller, c.row); err != nil {
				return err
			}
		}
		stands, err := draftStands(ctx, tx, c.row)
		if err != nil {
			return err
		}
		if !stands {
			if set == uuid.Nil {
				if err := c.confirmDoubted(); err != nil {
					return err
				}
			}
			c.draftAgain()
			return nil
		}
		c.row.Status, c.row.ReasonCode, c.row.Faults = string(StatusReady), nil, nil
		c.tell = eventReady
		return nil
	})
}

// confirmDoubted notes, where the order's numbers were in doubt, that they are
// as they were meant. It holds for the set they are in; another is looked at
// anew.
func (c *change) confirmDoubted() (err error) {
	if c.confirmed, err = confirmedOf(c.row.Faults); err != nil || c.confirmed == nil {
		return err
	}
	var spec Spec
	if err := json.Unmarshal(c.row.Spec, &spec); err != nil {
		return fmt.Errorf("spec of order %s: %w", c.row.ID, err)
	}
	spec.Confirmed = c.row.MeasurementSetID.String()
	c.row.Spec = encode(spec)
	return nil
}

// draftStands tells whether the order's draft was made from its present spec
// and measurements, and nothing but a request keeps it from being handed out.
func draftStands(ctx context.Context, tx *db.Tx, row db.Order) (bool, error) {
	if row.Revision == 0 || row.ReasonCode == nil || *row.ReasonCode != reasonByRequest {
		return false, nil
	}
	head, err := tx.DraftHead(ctx, row.ShopID, row.ID, row.Revision)
	if err != nil {
		return false, err
	}
	return head.MeasurementSetID == row.MeasurementSetID && bytes.Equal(head.Spec, row.Spec), nil
}

// Revision is what to change of an order; what is nil or zero stays.
type Revision struct {
	MeasurementSetID uuid.UUID
	Style            string // pinned anew, as it now stands
	StyleRevision    int    // or this revision of it
	Unit             string
	Fit              string
	Choices          map[string]any
	Ease             map[string]float64
	Allowances       map[string]float64
	Note             string // why
}

// ReviseOrder has an order that is ready, held or failed drafted again with
// changes. What cannot be drafted for a reason that shows at once is refused
// and the order left as it was.
func (s *Service) ReviseOrder(ctx context.Context, caller Caller, id uuid.UUID, r Revision) (Order, error) {
	return s.changeOrder(ctx, caller, id, func(tx *db.Tx, c *change) error {
		if err := c.allowed("revised", StatusReady, StatusHeld, StatusFailed); err != nil {
			return err
		}
		current, err := order(c.row)
		if err != nil {
			return err
		}
		spec, err := r.apply(current.Spec)
		if err != nil {
			return err
		}
		if r.Style != "" {
			if spec, _, err = s.pinStyle(ctx, tx.Queries, caller, spec, s.now()); err != nil {
				return err
			}
		}
		c.row.Spec = encode(spec)
		if r.MeasurementSetID != uuid.Nil {
			c.row.MeasurementSetID = r.MeasurementSetID
		}
		if err := s.checkChanged(ctx, tx, caller, c.row); err != nil {
			return err
		}
		c.event, c.note = "revising", r.Note
		c.draftAgain()
		return nil
	})
}

// checkChanged holds an order with its changes against drafting's checks.
func (s *Service) checkChanged(ctx context.Context, tx *db.Tx, caller Caller, row db.Order) error {
	changed, err := order(row)
	if err != nil {
		return err
	}
	set, err := customers.SetOf(ctx, tx.Queries, caller, row.CustomerID, row.MeasurementSetID)
	if err != nil {
		return err
	}
	garment, err := s.compileStyle(ctx, tx.Queries, changed.Spec)
	if err != nil {
		return asInvalid(err)
	}
	levels, err := customers.ShopLevels(ctx, tx.Queries, caller.Shop)
	if err != nil {
		return err
	}
	wrong := checkDraftable(changed.Spec, garment, set.Measurements, labelled{reference: row.Reference, revision: row.Revision + 1})
	return alsoRefused(ctx, tx.Queries, caller.Shop, row.MeasurementSetID, wrong, customers.Assess(levels, set.Measurements, customers.Needs{}))
}

// CancelOrder ends an order. Cancelling twice changes nothing.
func (s *Service) CancelOrder(ctx context.Context, caller Caller, id uuid.UUID, note string) (Order, error) {
	return s.changeOrder(ctx, caller, id, func(_ *db.Tx, c *change) error {
		if Status(c.row.Status) != StatusCancelled {
			c.cancel(reasonByRequest, note)
		}
		return nil
	})
}

func (c *change) cancel(reason, note string) {
	c.row.Status, c.row.ReasonCode, c.row.Faults = string(StatusCancelled), &reason, nil
	c.event, c.note, c.tell = "cancelled", note, eventCancelled
}
