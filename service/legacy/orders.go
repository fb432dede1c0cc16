package legacy

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"tapeline/db/query"
	"tapeline/service/customers"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/fault"
)

// Status is where an order stands.
type Status string

const (
	StatusReceived  Status = "received"  // waiting to be drafted
	StatusHeld      Status = "held"      // a person must look at it
	StatusReady     Status = "ready"     // its pattern can be fetched
	StatusFailed    Status = "failed"    // a fault of ours
	StatusCancelled Status = "cancelled" // over
)

// Why an order is held, has failed or was cancelled.
const (
	reasonByRequest   = "by_request"
	reasonUndraftable = "undraftable"  // the block cannot be drafted to this body
	reasonImplausible = "implausible"  // numbers that do not go together, to be confirmed
	reasonCheckFailed = "check_failed" // the draft did not measure back
	reasonStyleFailed = "style_failed" // the style's script went wrong on this body
	reasonInternal    = "internal"     // the program failed
	reasonErased      = "customer_erased"
)

// Order is a shop's order for one pattern.
type Order struct {
	ID               uuid.UUID
	Reference        string
	Status           Status
	Reason           string     // code; "" unless held, failed or cancelled
	Faults           fault.List // the reason at length
	CustomerID       uuid.UUID
	MeasurementSetID uuid.UUID
	Source           string // api or inbound
	Spec             Spec
	Revision         int        // the draft that is handed out; 0 for none
	AlterationsID    *uuid.UUID // that it was made with; nil for none
	Making           Making
	CreatedAt        time.Time
	UpdatedAt        time.Time
}

// order reads a stored order.
func order(row db.Order) (Order, error) {
	o := Order{ID: row.ID, Reference: row.Reference, Status: Status(row.Status), CustomerID: row.CustomerID,
		MeasurementSetID: row.MeasurementSetID, Source: row.Source, Revision: row.Revision, AlterationsID: row.AlterationsID,
		Making: cmp.Or(Making(row.Making), Uncut), CreatedAt: row.CreatedAt, UpdatedAt: row.UpdatedAt}
	if row.ReasonCode != nil {
		o.Reason = *row.ReasonCode
	}
	if err := json.Unmarshal(row.Spec, &o.Spec); err != nil {
		return Order{}, fmt.Errorf("spec of order %s: %w", row.ID, err)
	}
	if row.Faults != nil {
		if err := json.Unmarshal(row.Faults, &o.Faults); err != nil {
			return Order{}, fmt.Errorf("faults of order %s: %w", row.ID, err)
		}
	}
	return o, nil
}

// NewOrder is what a shop orders. Of CustomerID and Customer, and of
// MeasurementSetID and Measurements, one is given; a stored set belongs to a
// stored customer.
type NewOrder struct {
	Reference        string
	CustomerID       uuid.UUID
	Customer         *customers.Details
	MeasurementSetID uuid.UUID
	Measurements     map[string]float64 // in Spec.Unit
	Spec             Spec
}

// Where an order came from.
const (
	sourceAPI     = "api"
	sourceInbound = "inbound"
)

// placing is an order on its way into the store.
type placing struct {
	row  db.NewOrder
	jobs jobList
}

// prepare checks a new order and makes its rows. Everything wrong with it is
// in one Error.
func (s *Service) prepare(ctx context.Context, tx *db.Tx, caller Caller, n NewOrder, source string) (placing, error) {
	now := s.now()
	if n.Spec.Date == "" {
		n.Spec.Date = now.Format(time.DateOnly)
	}
	row := db.NewOrder{}
	label := labelled{reference: n.Reference, revision: 1}
	if n.Customer != nil {
		customer := customers.NewRow(caller, *n.Customer, s.newID(), now)
		row.Customer = &customer
		label.customer = n.Customer.Reference
	} else {
		customer, err := tx.Customer(ctx, query.CustomerParams{ShopID: caller.Shop, ID: n.CustomerID})
		if errors.Is(err, db.ErrNotFound) || err == nil && customer.ErasedAt != nil {
			return placing{}, notChoosable("/customer_id", "the id of a customer of this shop whose data was not erased")
		}
		if err != nil {
			return placing{}, err
		}
		label.customer = *customer.Reference
	}
	measured := Measured{Unit: n.Spec.Unit, Values: n.Measurements}
	if n.MeasurementSetID != uuid.Nil {
		set, err := customers.SetOf(ctx, tx.Queries, caller, n.CustomerID, n.MeasurementSetID)
		if err != nil {
			return placing{}, err
		}
		measured = set.Measurements
	}
	spec, garment, err := s.pinStyle(ctx, tx.Queries, caller, n.Spec, now)
	if e, ok := errors.AsType[*Error](err); ok && len(e.Faults) > 0 {
		return placing{}, invalid(append(e.Faults, faultsBesideStyle(n.Spec, measured, label)...))
	}
	if err != nil {
		return placing{}, err
	}
	n.Spec = spec
	levels, err := customers.ShopLevels(ctx, tx.Queries, caller.Shop)
	if err != nil {
		return placing{}, err
	}
	report := customers.Assess(levels, measured, customers.Needs{})
	wrong := checkDraftable(n.Spec, garment, measured, label)
	if err := alsoRefused(ctx, tx.Queries, caller.Shop, n.MeasurementSetID, wrong, report); err != nil {
		return placing{}, err
	}
	if n.MeasurementSetID == uuid.Nil {
		set := customers.NewSetRow(caller, measured, report, s.newID(), now)
		row.Set = &set
	}
	id := s.newID()
	row.Order = db.Order{ID: id, ShopID: caller.Shop, Reference: n.Reference, CustomerID: n.CustomerID, MeasurementSetID: n.MeasurementSetID,
		Source: source, Spec: encode(n.Spec), Status: string(StatusReceived), DraftRequest: 1, CreatedBy: actor(caller), CreatedAt: now, UpdatedAt: now}
	row.Event = db.OrderEvent{ShopID: caller.Shop, OrderID: id, Event: "received", ToStatus: string(StatusReceived), Actor: actor(caller), At: now}
	row.Message = s.orderMessage(caller.Shop, eventReceived, Order{ID: id, Reference: n.Reference, Status: StatusReceived}, now)
	return placing{row: row, jobs: jobList{draftJob(id, 1)}}, nil
}

// notChoosable refuses an id in a request that names no record to be had.
func notChoosable(field, accepted string) error {
	return invalid(fault.List{{Code: fault.Choice, Field: field, Accepted: accepted}})
}

// place stores what prepare made, with its jobs.
func (s *Service) place(ctx context.Context, tx *db.Tx, p placing) (Order, error) {
	placed, err := tx.PlaceOrder(ctx, p.row)
	switch {
	case db.Conflicts(err, "orders_reference_key"):
		return Order{}, refuse(CodeReferenceTaken, "another order of this shop has this reference")
	case err != nil:
		return Order{}, orNotFound(err, "customer") // erased since we looked
	}
	if err := s.enqueue(ctx, tx, append(p.jobs, deliverJobs(placed.Messages)...)); err != nil {
		return Order{}, err
	}
	p.row.Order.CustomerID, p.row.Order.MeasurementSetID = placed.CustomerID, placed.MeasurementSetID
	return order(p.row.Order)
}

// CreateOrder places an order once for each idempotency key: the same order
// asked for again gives the answer that was given the first time. It fails
// with CodeIdempotencyInFlight while the first is being worked on, with
// CodeIdempotencyKeyReused when the key came with another order, and with
// CodeReferenceTaken.
func (s *Service) CreateOrder(ctx context.Context, caller Caller, n NewOrder, key string) (created Order, err error) {
	print := fingerprint("order", n)
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		claimed, answer, err := tx.ClaimKey(ctx, caller.Shop, key)
		switch {
		case err != nil:
			return err
		case answer != nil:
			created, err = replay(*answer, print)
			return err
		case !claimed:
			return &Error{Code: CodeIdempotencyInFlight, RetryAfter: time.Second}
		}
		p, err := s.prepare(ctx, tx, caller, n, sourceAPI)
		if err != nil {
			return err
		}
		if created, err = s.place(ctx, tx, p); err != nil {
			return err
		}
		return tx.SaveAnswer(ctx, db.Answer{ShopID: caller.Shop, Key: key, Fingerprint: print, Status: statusCreated,
			Answer: encode(created), CustomerID: &created.CustomerID, CreatedAt: created.CreatedAt})
	})
	if err != nil {
		return Order{}, err
	}
	return created, nil
}

// Order reads an order.
func (s *Service) Order(ctx context.Context, caller Caller, id uuid.UUID) (Order, error) {
	row, err := s.store.Order(ctx, caller.Shop, id)
	if err != nil {
		return Order{}, orNotFound(err, "order")
	}
	return order(row)
}

// OrderFilter chooses orders; a zero field chooses all.
type OrderFilter = db.OrderFilter

// Orders lists the shop's orders, newest first.
func (s *Service) Orders(ctx context.Context, caller Caller, f OrderFilter, page Page) ([]Order, uuid.UUID, error) {
	rows, err := s.store.Orders(ctx, caller.Shop, f, more(page))
	rows, next, err := paged(rows, err, page, func(o db.Order) uuid.UUID { return o.ID })
	if err != nil {
		return nil, uuid.Nil, err
	}
	orders := make([]Order, len(rows))
	for i, row := range rows {
		if orders[i], err = order(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return orders, next, nil
}

// OrderEvent is one line of an order's history.
type OrderEvent = db.OrderEvent

// OrderHistory is everything that happened to an order, oldest first.
func (s *Service) OrderHistory(ctx context.Context, caller Caller, id uuid.UUID) ([]OrderEvent, error) {
	if _, err := s.store.Order(ctx, caller.Shop, id); err != nil {
		return nil, orNotFound(err, "order")
	}
	return s.store.OrderEvents(ctx, caller.Shop, id)
}
