// Package customers has the use cases of the people that a shop makes for:
// their details, their measurements and the assessment of these, and the
// alterations that fittings found.
package customers

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body"
	"tapeline/service"
)

// Needs has the measurements that a block or style requires, and those that it
// uses if they are given.
type Needs struct {
	Requires, Uses []body.Name
}

// Styles finds what a garment needs. It fails with an Error if the caller's shop
// has no such block or style.
type Styles interface {
	Needs(ctx context.Context, caller service.Caller, g Garment) (Needs, error)
}

// Garment names a block, or a style and a revision of it (0: any). The zero
// Garment is none.
type Garment struct {
	Block         string
	Style         string
	StyleRevision int
	Choices       map[string]any // that an order would make, lengths in Unit
	Unit          string         // cm or inch
}

// Service has the use cases of customers.
type Service struct {
	store  *db.Store
	clock  service.Clock
	styles Styles
	orders Orders
}

// New returns the use cases on a store.
func New(store *db.Store, clock service.Clock, styles Styles, orders Orders) *Service {
	return &Service{store: store, clock: clock, styles: styles, orders: orders}
}

// Customer is a person that the shop makes for.
type Customer struct {
	ID        uuid.UUID
	Reference string // the shop's own, unique; "" if erased
	Name      string // "" if unknown or erased
	CreatedAt time.Time
	UpdatedAt time.Time
	ErasedAt  *time.Time // nil: not erased
	Test      bool       // made with a test key
}

// Details are what a shop records about a customer.
type Details struct {
	Reference string
	Name      string // "" for none
}

func fromRow(caller service.Caller, row query.Customer) Customer {
	return Customer{
		ID: row.ID, Reference: service.OrZero(row.Reference), Name: service.OrZero(row.Name),
		CreatedAt: row.CreatedAt, UpdatedAt: row.UpdatedAt, ErasedAt: row.ErasedAt,
		Test: caller.Test(),
	}
}

// check returns what is wrong with details, as the contract has it.
func (d Details) check() service.Faults {
	return append(service.CheckLine("/reference", d.Reference, 1, 64), service.CheckLine("/name", d.Name, 0, 120)...)
}

// Create adds a customer. It fails with CodeInvalidInput and CodeReferenceTaken.
func (s *Service) Create(ctx context.Context, caller service.Caller, d Details) (Customer, error) {
	if faults := d.check(); len(faults) > 0 {
		return Customer{}, service.Invalid(faults)
	}
	row := NewRow(caller, d, s.clock.NewID(), s.clock.Now())
	err := s.store.InsertCustomer(ctx, query.InsertCustomerParams{
		ID: row.ID, ShopID: row.ShopID, Reference: row.Reference, Name: row.Name, CreatedAt: row.CreatedAt,
	})
	return fromRow(caller, row), referenceTaken(err)
}

// NewRow returns the row of a new customer.
func NewRow(caller service.Caller, d Details, id uuid.UUID, now time.Time) query.Customer {
	return query.Customer{
		ID: id, ShopID: caller.Shop, Reference: &d.Reference, Name: service.Optional(d.Name), CreatedAt: now, UpdatedAt: now,
	}
}

func referenceTaken(err error) error {
	if db.Conflicts(err, "customers_reference_key") {
		return service.Refuse(service.CodeReferenceTaken, "another customer has this reference")
	}
	return err
}

// Get returns a customer. It fails with CodeNotFound.
func (s *Service) Get(ctx context.Context, caller service.Caller, id uuid.UUID) (Customer, error) {
	row, err := s.store.Customer(ctx, query.CustomerParams{ShopID: caller.Shop, ID: id})
	return fromRow(caller, row), service.OrNotFound(err, "customer")
}

// GetUnerased returns a customer as Get does, and fails with CodeErased if the
// customer's data was erased.
func (s *Service) GetUnerased(ctx context.Context, caller service.Caller, id uuid.UUID) (Customer, error) {
	c, err := s.Get(ctx, caller, id)
	if err == nil && c.ErasedAt != nil {
		err = Erased()
	}
	return c, err
}

// Erased returns the Error for data that was erased.
func Erased() error { return service.Refuse(service.CodeErased, "the customer's data was erased") }

// orErased replaces db.ErrNotFound by Erased, for a customer who was there a
// moment ago.
func orErased(err error) error {
	if errors.Is(err, db.ErrNotFound) {
		return Erased()
	}
	return err
}

// Filter selects customers; a zero field selects all.
type Filter struct {
	Reference string
	Search    string // within the reference or the name
}

// List lists the shop's customers, newest first. next is the ID to continue after,
// uuid.Nil on the last page.
func (s *Service) List(
	ctx context.Context, caller service.Caller, f Filter, page service.Page,
) (list []Customer, next uuid.UUID, err error) {
	rows, err := s.store.ListCustomers(ctx, query.ListCustomersParams{
		ShopID: caller.Shop, Below: page.Below(), Reference: service.Optional(f.Reference),
		Search: service.Optional(service.Containing(f.Search)), Limit: int(page.Rows()),
	})
	rows, next = service.Cut(rows, page, func(c query.Customer) uuid.UUID { return c.ID })
	for _, row := range rows {
		list = append(list, fromRow(caller, row))
	}
	return list, next, err
}

// Replace corrects a customer's details. It fails with CodeInvalidInput and
// CodeReferenceTaken, and with CodeErased if the customer's data was erased.
func (s *Service) Replace(ctx context.Context, caller service.Caller, id uuid.UUID, d Details) (Customer, error) {
	if faults := d.check(); len(faults) > 0 {
		return Customer{}, service.Invalid(faults)
	}
	if _, err := s.GetUnerased(ctx, caller, id); err != nil {
		return Customer{}, err
	}
	row, err := s.store.UpdateCustomer(ctx, query.UpdateCustomerParams{
		ShopID: caller.Shop, ID: id, Reference: &d.Reference, Name: service.Optional(d.Name), UpdatedAt: s.clock.Now(),
	})
	return fromRow(caller, row), referenceTaken(orErased(err))
}
