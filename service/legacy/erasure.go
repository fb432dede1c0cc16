package legacy

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
)

// Erasure is what erasing a customer's data did.
type Erasure struct {
	Customer        uuid.UUID
	At              time.Time
	OrdersCancelled int
}

// EraseCustomer removes a customer's personal data for good and cancels their
// orders. Erasing twice changes nothing.
func (s *Service) EraseCustomer(ctx context.Context, caller Caller, id uuid.UUID) (Erasure, error) {
	done := Erasure{Customer: id, At: s.now()}
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		done.OrdersCancelled = 0
		customer, err := tx.Customer(ctx, caller.Shop, id)
		if err != nil {
			return orNotFound(err, "customer")
		}
		if customer.ErasedAt != nil {
			done.At = *customer.ErasedAt
			return nil
		}
		open, err := tx.OpenOrders(ctx, caller.Shop, id)
		if err != nil {
			return err
		}
		for _, row := range open {
			c := &change{row: row, from: row.Status}
			c.cancel(reasonErased, "")
			if err := s.writeChange(ctx, tx, caller, c, done.At); err != nil {
				return err
			}
			done.OrdersCancelled++
		}
		erased, err := tx.EraseCustomer(ctx, caller.Shop, id, done.At)
		if err != nil {
			return orNotFound(err, "customer")
		}
		return audit(ctx, tx, caller, s.now(), "customer.erased", id, map[string]any{
			"orders_cancelled": done.OrdersCancelled, "measurement_sets": erased.Sets, "alterations": erased.Alterations, "drafts": erased.Drafts, "links": erased.Links})
	})
	return done, err
}

// CustomerExport is everything personal that is held about a customer.
type CustomerExport struct {
	Customer    Customer
	Sets        []MeasurementSet
	Alterations []Alterations
	Orders      []ExportedOrder
	At          time.Time
}

// ExportedOrder is an order with its history, every draft's geometry, and what
// refits compared of it.
type ExportedOrder struct {
	Order    Order
	History  []OrderEvent
	Patterns []json.RawMessage
	Refits   []RefitOrder
}

// exportPage is how many rows an export reads at a time.
const exportPage = 200

// ExportCustomer gathers everything held about a customer, and notes in the
// audit trail that it was.
func (s *Service) ExportCustomer(ctx context.Context, caller Caller, id uuid.UUID) (CustomerExport, error) {
	customer, err := s.living(ctx, caller, id)
	if err != nil {
		return CustomerExport{}, err
	}
	x := CustomerExport{Customer: customer, At: s.now()}
	x.Sets, err = all(func(p Page) ([]MeasurementSet, uuid.UUID, error) { return s.MeasurementSets(ctx, caller, id, p) })
	if err != nil {
		return CustomerExport{}, err
	}
	x.Alterations, err = all(func(p Page) ([]Alterations, uuid.UUID, error) { return s.CustomerAlterations(ctx, caller, id, p) })
	if err != nil {
		return CustomerExport{}, err
	}
	orders, err := all(func(p Page) ([]Order, uuid.UUID, error) { return s.Orders(ctx, caller, OrderFilter{CustomerID: id}, p) })
	if err != nil {
		return CustomerExport{}, err
	}
	for _, o := range orders {
		exported, err := s.exportOrder(ctx, caller, o)
		if err != nil {
			return CustomerExport{}, err
		}
		x.Orders = append(x.Orders, exported)
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error { return audit(ctx, tx, caller, s.now(), "customer.exported", id, nil) })
	return x, err
}

func (s *Service) exportOrder(ctx context.Context, caller Caller, o Order) (ExportedOrder, error) {
	x := ExportedOrder{Order: o}
	var err error
	if x.History, err = s.OrderHistory(ctx, caller, o.ID); err != nil {
		return ExportedOrder{}, err
	}
	heads, err := s.store.DraftHeads(ctx, caller.Shop, o.ID)
	if err != nil {
		return ExportedOrder{}, err
	}
	for _, head := range heads {
		geometry, err := s.geometry(ctx, head)
		if isErased(err) {
			continue
		}
		if err != nil {
			return ExportedOrder{}, err
		}
		x.Patterns = append(x.Patterns, geometry)
	}
	rows, err := s.store.RefitsOfOrder(ctx, caller.Shop, o.ID)
	if err != nil {
		return ExportedOrder{}, err
	}
	x.Refits, err = refitOrders(rows)
	return x, err
}

// all reads a list to its end.
func all[T any](list func(Page) ([]T, uuid.UUID, error)) ([]T, error) {
	var rows []T
	page := Page{Limit: exportPage}
	for {
		part, next, err := list(page)
		if err != nil {
			return nil, err
		}
		rows = append(rows, part...)
		if next == uuid.Nil {
			return rows, nil
		}
		page.After = next
	}
}
