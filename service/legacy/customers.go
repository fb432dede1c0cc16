package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
)

// Customer is a person that the shop makes for.
type Customer = db.Customer

// CustomerDetails is what a shop says of a customer.
type CustomerDetails struct {
	Reference string
	Name      string // "" for none
}

// CreateCustomer adds a customer. It fails with CodeReferenceTaken.
func (s *Service) CreateCustomer(ctx context.Context, caller Caller, d CustomerDetails) (Customer, error) {
	c := s.newCustomer(caller, d, s.now())
	if err := s.store.InsertCustomer(ctx, c); err != nil {
		return Customer{}, customerConflict(err)
	}
	return c, nil
}

func (s *Service) newCustomer(caller Caller, d CustomerDetails, now time.Time) Customer {
	return Customer{ID: s.newID(), ShopID: caller.Shop, Reference: &d.Reference, Name: optional(d.Name), CreatedAt: now, UpdatedAt: now}
}

func customerConflict(err error) error {
	if db.Conflicts(err, "customers_reference_key") {
		return refuse(CodeReferenceTaken, "another customer has this reference")
	}
	return err
}

// Customer reads a customer.
func (s *Service) Customer(ctx context.Context, caller Caller, id uuid.UUID) (Customer, error) {
	c, err := s.store.Customer(ctx, caller.Shop, id)
	return c, orNotFound(err, "customer")
}

// Customers lists the shop's customers, newest first; reference "" is any.
func (s *Service) Customers(ctx context.Context, caller Caller, reference string, page Page) ([]Customer, uuid.UUID, error) {
	rows, err := s.store.Customers(ctx, caller.Shop, reference, more(page))
	return paged(rows, err, page, func(c Customer) uuid.UUID { return c.ID })
}

// ReplaceCustomer corrects a customer's details. It fails with CodeErased once
// there is nothing to correct.
func (s *Service) ReplaceCustomer(ctx context.Context, caller Caller, id uuid.UUID, d CustomerDetails) (Customer, error) {
	c, err := s.living(ctx, caller, id)
	if err != nil {
		return Customer{}, err
	}
	c.Reference, c.Name, c.UpdatedAt = &d.Reference, optional(d.Name), s.now()
	if err := s.store.UpdateCustomer(ctx, c); err != nil {
		if errors.Is(err, db.ErrNotFound) {
			return Customer{}, erased()
		}
		return Customer{}, customerConflict(err)
	}
	return c, nil
}

// living is a customer whose data was not erased.
func (s *Service) living(ctx context.Context, caller Caller, id uuid.UUID) (Customer, error) {
	c, err := s.Customer(ctx, caller, id)
	if err == nil && c.ErasedAt != nil {
		err = erased()
	}
	return c, err
}

func erased() error { return refuse(CodeErased, "the customer's data was erased") }

// isErased reports whether an error is erased's.
func isErased(err error) bool {
	e, ok := errors.AsType[*Error](err)
	return ok && e.Code == CodeErased
}

// legible reads what is stored, but for what was erased.
func legible[Row, T any](rows []Row, read func(Row) (T, error)) ([]T, error) {
	all := make([]T, 0, len(rows))
	for _, row := range rows {
		v, err := read(row)
		if isErased(err) {
			continue
		}
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}

// MeasurementSet is a customer's measurements as taken at one time.
type MeasurementSet struct {
	ID         uuid.UUID
	CustomerID uuid.UUID
	Version    int
	Measured
	Report    Report
	CreatedAt time.Time
}

// AddMeasurementSet checks and stores a new version of a customer's
// measurements. Refused ones fail with CodeInvalidInput, every fault named.
func (s *Service) AddMeasurementSet(ctx context.Context, caller Caller, customer uuid.UUID, m Measured) (MeasurementSet, error) {
	if _, err := s.living(ctx, caller, customer); err != nil {
		return MeasurementSet{}, err
	}
	c, err := checkerOf(ctx, s.store.Queries, caller.Shop)
	if err != nil {
		return MeasurementSet{}, err
	}
	report := check(c, m, nil, nil)
	if !report.Acceptable() {
		return MeasurementSet{}, invalid(report.faults())
	}
	row := s.newSet(caller, m, report, s.now())
	row.CustomerID = customer
	if row.Version, err = s.store.InsertMeasurementSet(ctx, row); err != nil {
		if errors.Is(err, db.ErrNotFound) { // erased since we looked
			err = erased()
		}
		return MeasurementSet{}, err
	}
	return measurementSet(row)
}

func (s *Service) newSet(caller Caller, m Measured, report Report, now time.Time) db.MeasurementSet {
	return db.MeasurementSet{ID: s.newID(), ShopID: caller.Shop, Unit: m.Unit, Given: encode(m.Values),
		Report: encode(report), CreatedBy: actor(caller), CreatedAt: now}
}

// measurementSet reads a stored set; an erased one fails with CodeErased.
func measurementSet(row db.MeasurementSet) (MeasurementSet, error) {
	if row.ErasedAt != nil {
		return MeasurementSet{}, erased()
	}
	set := MeasurementSet{ID: row.ID, CustomerID: row.CustomerID, Version: row.Version,
		Measured: Measured{Unit: row.Unit}, CreatedAt: row.CreatedAt}
	if err := errors.Join(json.Unmarshal(row.Given, &set.Values), json.Unmarshal(row.Report, &set.Report)); err != nil {
		return MeasurementSet{}, fmt.Errorf("stored measurement set %s: %w", row.ID, err)
	}
	return set, nil
}

// MeasurementSet reads a set. An erased one fails with CodeErased.
func (s *Service) MeasurementSet(ctx context.Context, caller Caller, id uuid.UUID) (MeasurementSet, error) {
	row, err := s.store.MeasurementSet(ctx, caller.Shop, id)
	if err != nil {
		return MeasurementSet{}, orNotFound(err, "measurement set")
	}
	return measurementSet(row)
}

// MeasurementSets lists a customer's sets, newest first; erased ones are gone.
func (s *Service) MeasurementSets(ctx context.Context, caller Caller, customer uuid.UUID, page Page) ([]MeasurementSet, uuid.UUID, error) {
	if _, err := s.Customer(ctx, caller, customer); err != nil {
		return nil, uuid.Nil, err
	}
	rows, err := s.store.MeasurementSets(ctx, caller.Shop, customer, more(page))
	rows, next, err := paged(rows, err, page, func(r db.MeasurementSet) uuid.UUID { return r.ID })
	if err != nil {
		return nil, uuid.Nil, err
	}
	sets, err := legible(rows, measurementSet)
	return sets, next, err
}
