package customers

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
	"tapeline/service/access"
)

// Orders cancels orders for an erasure.
type Orders interface {
	// CancelForErasure cancels all orders of a customer that are not cancelled
	// and returns how many.
	CancelForErasure(ctx context.Context, tx *db.Tx, caller service.Caller, customer uuid.UUID, at time.Time) (int, error)
}

// Erasure is the result of erasing a customer's data.
type Erasure struct {
	Customer        uuid.UUID
	At              time.Time
	OrdersCancelled int
}

// Erase removes a customer's personal data for good and cancels their orders.
// Orders stay as bare records: their reference, when they were placed, of what
// garment, and what became of them. Erasing again changes nothing. Backups keep the
// data until they expire.
func (s *Service) Erase(ctx context.Context, caller service.Caller, id uuid.UUID) (Erasure, error) {
	e := Erasure{Customer: id, At: s.clock.Now()}
	err := s.store.InTx(ctx, func(tx *db.Tx) error { return s.erase(ctx, tx, caller, &e) })
	if err != nil {
		return Erasure{}, err
	}
	// After the transaction, because refits lock themselves before their orders.
	return e, s.store.EraseRefitReasons(ctx, &id)
}

func (s *Service) erase(ctx context.Context, tx *db.Tx, caller service.Caller, e *Erasure) error {
	_, err := tx.EraseCustomer(ctx, query.EraseCustomerParams{ShopID: caller.Shop, ID: e.Customer, At: e.At})
	if errors.Is(err, db.ErrNotFound) {
		*e, err = erasedBefore(ctx, tx, caller, e.Customer)
		return err
	}
	if err != nil {
		return err
	}
	if e.OrdersCancelled, err = s.orders.CancelForErasure(ctx, tx, caller, e.Customer, e.At); err != nil {
		return err
	}
	done, err := tx.EraseCustomerData(ctx, query.EraseCustomerDataParams{CustomerID: e.Customer, At: e.At})
	if err != nil {
		return err
	}
	return access.Record(ctx, tx, caller, access.Action{
		Name: "customer.erased", Subject: e.Customer, At: e.At,
		Detail: map[string]any{
			"orders_cancelled": e.OrdersCancelled, "measurement_sets": done.MeasurementSets,
			"alterations": done.Alterations, "drafts": done.Drafts, "links": done.Links,
		},
	})
}

// erasedBefore returns the erasure of a customer that was erased before.
func erasedBefore(ctx context.Context, tx *db.Tx, caller service.Caller, id uuid.UUID) (Erasure, error) {
	row, err := tx.Customer(ctx, query.CustomerParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return Erasure{}, service.OrNotFound(err, "customer")
	}
	return Erasure{Customer: id, At: *row.ErasedAt}, nil
}

// staleBatch is the number of customers that EraseStale reads at a time.
const staleBatch = 100

// EraseStale erases the customers of all shops for whom, at the time now, nothing
// was done within their shop's retention time.
func (s *Service) EraseStale(ctx context.Context, now time.Time) error {
	for {
		stale, err := s.store.StaleCustomers(ctx, query.StaleCustomersParams{Now: now, Limit: staleBatch})
		if err != nil {
			return err
		}
		for _, c := range stale {
			caller := service.Caller{Shop: c.ShopID, TestOf: service.OrZero(c.TestOf)}
			if err := s.eraseIfStale(ctx, caller, c.ID, now); err != nil {
				return err
			}
		}
		if len(stale) < staleBatch {
			return s.store.EraseRefitReasons(ctx, nil)
		}
	}
}

// eraseIfStale erases a customer for whom nothing was done since the customer was
// listed as stale.
func (s *Service) eraseIfStale(ctx context.Context, caller service.Caller, id uuid.UUID, now time.Time) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.LockCustomer(ctx, id); err != nil {
			return err
		}
		// Read under the lock, which an order placed meanwhile has made wait.
		still, err := tx.StaleCustomers(ctx, query.StaleCustomersParams{Now: now, ID: &id, Limit: 1})
		if err != nil || len(still) == 0 {
			return err
		}
		return s.erase(ctx, tx, caller, &Erasure{Customer: id, At: s.clock.Now()})
	})
}

// BeginExport returns a customer whose data is to be exported, and records the
// export in the audit trail. It fails with CodeErased. The caller lists the data
// itself: measurement sets, alterations and orders.
func (s *Service) BeginExport(ctx context.Context, caller service.Caller, id uuid.UUID) (Customer, time.Time, error) {
	c, err := s.GetUnerased(ctx, caller, id)
	if err != nil {
		return Customer{}, time.Time{}, err
	}
	now := s.clock.Now()
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		return access.Record(ctx, tx, caller, access.Action{Name: "customer.exported", Subject: id, At: now})
	})
	return c, now, err
}
