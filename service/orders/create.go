package orders

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/styles"
	"tapeline/service/webhooks"
	"tapeline/service/work"
)

// NewOrder is an order as a shop gives it. Of CustomerID and Customer, and of
// MeasurementSetID and Input's measurements, one is given; a stored set belongs
// to a stored customer.
type NewOrder struct {
	Reference        string
	CustomerID       uuid.UUID
	Customer         *customers.Details // to be found by reference, or created
	MeasurementSetID uuid.UUID
	Date             string    // ISO 8601; "" is today
	StyleRevision    int       // of the shop's own style; 0 is the one that takes orders
	DueDate          time.Time // midnight in UTC; zero for none
	Input            Input     // without alterations: they are the customer's. Neither block nor style is the torso block
}

// Create accepts an order once for each idempotency key: the same order with the
// same key gives the answer that was given the first time. It fails with
// CodeIdempotencyInFlight while the first is being worked on, with
// CodeIdempotencyKeyReused if the key came with another order, and with
// CodeReferenceTaken.
func (s *Service) Create(
	ctx context.Context, caller service.Caller, n NewOrder, key string,
) (created Order, err error) {
	request := fingerprint("order", n)
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		created = Order{}
		claimed, answer, err := tx.ClaimKey(ctx, caller.Shop, key)
		switch {
		case err != nil:
			return err
		case answer != nil && !bytes.Equal(answer.Fingerprint, request):
			return service.Refuse(service.CodeIdempotencyKeyReused, "this Idempotency-Key came with another order before")
		case answer != nil:
			return json.Unmarshal(answer.Answer, &created)
		case !claimed:
			return &service.Error{Code: service.CodeIdempotencyInFlight, RetryAfter: time.Second}
		}
		if created, err = s.accept(ctx, tx, caller, n, API); err != nil {
			return err
		}
		return tx.SaveAnswer(ctx, query.SaveAnswerParams{ShopID: caller.Shop, Key: key, Fingerprint: request,
			Answer: db.JSON(created), CustomerID: &created.CustomerID, CreatedAt: created.CreatedAt})
	})
	if err != nil {
		return Order{}, err
	}
	return created, nil
}

// fingerprint tells one request from another: what it asks for, however its
// JSON was written.
func fingerprint(kind string, request any) []byte {
	sum := sha256.Sum256(append([]byte(kind+"\n"), db.JSON(request)...))
	return sum[:]
}

// accept checks a new order and stores it with its first job and message.
// Everything that is wrong with it is in one Error.
func (s *Service) accept(
	ctx context.Context, tx *db.Tx, caller service.Caller, n NewOrder, source Source,
) (Order, error) {
	now := s.Clock.Now()
	n.Input.Block = defaultBlock(n.Input.Block, n.Input.Style)
	n.Date = cmp.Or(n.Date, now.Format(time.DateOnly))
	row := query.PlaceOrderParams{CustomerID: n.CustomerID, MeasurementSetID: n.MeasurementSetID}
	label := drafting.Label{Reference: n.Reference, Date: n.Date, Revision: 1}
	measured := customers.Measurements{Unit: n.Input.Unit, Values: n.Input.Measurements}
	var err error
	if n.Customer != nil {
		label.Customer = n.Customer.Reference
		customer := customers.NewRow(caller, *n.Customer, s.Clock.NewID(), now)
		row.EnsureCustomer, row.CustomerID = true, customer.ID
		row.CustomerReference, row.CustomerName = customer.Reference, customer.Name
	} else if label.Customer, err = customerReference(ctx, tx, caller.Shop, n.CustomerID); err != nil {
		return Order{}, err
	}
	if n.MeasurementSetID != uuid.Nil {
		set, err := customers.SetOf(ctx, tx.Queries, caller, n.CustomerID, n.MeasurementSetID)
		if err != nil {
			return Order{}, err
		}
		measured = set.Measurements
	}
	spec := Spec{Date: n.Date, Test: caller.Test()}
	styled := n.Input.Style != ""
	var garment *style.Style
	var pinFaults fault.List
	if styled {
		ref := styles.Ref{Slug: n.Input.Style, Revision: n.StyleRevision}
		pinned, err := s.Styles.Pin(ctx, tx.Queries, caller, ref, now)
		if pinFaults, err = inputFaults(err); err != nil {
			return Order{}, err
		}
		if len(pinFaults) == 0 {
			garment, spec.StyleRevision, spec.StyleHash = pinned.Garment, pinned.Revision, pinned.Garment.Hash
		}
	}
	assessed, err := assess(ctx, tx.Queries, caller.Shop, measured)
	if err != nil {
		return Order{}, err
	}
	order, faults := resolve(n.Input, measured, garment)
	if len(pinFaults) > 0 { // what can be said without the style
		faults = append(pinFaults, besideStyle(faults)...)
	}
	if err := s.refuse(ctx, tx, caller.Shop, n.MeasurementSetID, append(label.Check(), faults...), assessed); err != nil {
		return Order{}, err
	}
	spec.StoredOrder = order.Stored()
	if n.MeasurementSetID == uuid.Nil {
		set := customers.NewSetRow(caller, measured, assessed, s.Clock.NewID(), now)
		row.MeasurementSetID, row.Unit, row.Given, row.Report = set.ID, &set.Unit, set.Given, set.Report
	}
	created := Order{ID: s.Clock.NewID(), Reference: n.Reference, Status: Received,
		MeasurementSetID: row.MeasurementSetID, Source: source, Spec: spec, Progress: Uncut,
		Assignment: Assignment{DueDate: n.DueDate}, CreatedAt: now, UpdatedAt: now}
	row.ID, row.ShopID, row.Reference, row.Source = created.ID, caller.Shop, n.Reference, string(source)
	row.Spec, row.Status, row.Event = db.JSON(spec), string(Received), "received"
	row.DueDate, row.CreatedBy, row.At = optional(n.DueDate), caller.Actor(), now
	m := s.Message(caller.Shop, webhooks.OrderReceived, created, now)
	row.MessageType, row.MessageBody = &m.Type, &m.Body
	return s.insert(ctx, tx, row, created)
}

// insert stores an order with its jobs.
func (s *Service) insert(ctx context.Context, tx *db.Tx, row query.PlaceOrderParams, o Order) (Order, error) {
	row.MostWaiting = work.MostBehind
	placed, err := tx.PlaceOrder(ctx, row)
	switch {
	case db.Conflicts(err, "orders_reference_key"):
		return Order{}, service.Refuse(service.CodeReferenceTaken, "another order of this shop has this reference")
	case errors.Is(err, db.ErrNotFound):
		return Order{}, erasedCustomer()
	case err != nil:
		return Order{}, err
	}
	o.CustomerID = placed.CustomerID
	return o, s.Jobs.Enqueue(ctx, tx, DraftJob{OrderID: o.ID, Request: 1, behind: int(placed.Waiting)})
}

// defaultBlock returns the block of an order that may name a style instead, or
// neither.
func defaultBlock(block, style string) string {
	if block == "" && style == "" {
		return "torso"
	}
	return block
}

func customerReference(ctx context.Context, tx *db.Tx, shop, id uuid.UUID) (string, error) {
	customer, err := tx.Customer(ctx, query.CustomerParams{ShopID: shop, ID: id})
	if errors.Is(err, db.ErrNotFound) || err == nil && customer.ErasedAt != nil {
		return "", erasedCustomer()
	}
	if err != nil {
		return "", err
	}
	return *customer.Reference, nil
}

// erasedCustomer refuses an order for a customer whom the shop does not have, or has
// no longer.
func erasedCustomer() error {
	return UnknownID("/customer_id", "the ID of a customer of this shop whose data was not erased")
}

// resolve makes the order of an input and of measurements, which may have
// another unit.
func resolve(in Input, m customers.Measurements, garment *style.Style) (drafting.Order, fault.List) {
	in.Measurements, in.Alterations = m.In(in.Unit), nil
	if garment == nil {
		return drafting.NewOrder(in)
	}
	return drafting.NewOrder(in, garment)
}

// inputFaults returns the faults of a refused input; any other error stays one.
func inputFaults(err error) (fault.List, error) {
	if e, ok := errors.AsType[*service.Error](err); ok && len(e.Faults) > 0 {
		return e.Faults, nil
	}
	if e, ok := errors.AsType[*styles.ScriptError](err); ok {
		return e.Faults, nil
	}
	return nil, err
}

// besideStyle returns the faults of an order that do not depend on its style.
func besideStyle(faults fault.List) fault.List {
	return slices.DeleteFunc(faults, func(f fault.Fault) bool {
		part, _, _ := strings.Cut(strings.TrimPrefix(f.Field, "/"), "/")
		return f.Code == fault.Missing || slices.Contains([]string{"style", "block", "fit", "choices", "ease"}, part)
	})
}

// refuse refuses an order for its faults, beside which it names the numbers that
// are refused for not going with the others: they may explain the rest. Those of
// a stored set that somebody confirmed are not refused.
func (s *Service) refuse(
	ctx context.Context, tx *db.Tx, shop, set uuid.UUID, faults fault.List, a customers.Assessment,
) error {
	refused := a.Doubts(customers.Refuse)
	if len(faults) > 0 {
		return service.Invalid(append(faults, refused...))
	}
	if len(refused) == 0 {
		return nil
	}
	if set != uuid.Nil {
		if confirmed, err := tx.SetConfirmed(ctx, query.SetConfirmedParams{ShopID: shop, ID: set}); err != nil || confirmed {
			return err
		}
	}
	return service.Invalid(refused)
}

// assess assesses measurements at a shop's levels.
func assess(ctx context.Context, q db.Queries, shop uuid.UUID, m customers.Measurements) (customers.Assessment, error) {
	levels, err := customers.ShopLevels(ctx, q, shop)
	if err != nil {
		return customers.Assessment{}, err
	}
	return customers.Assess(levels, m, customers.Needs{}), nil
}
