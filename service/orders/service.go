package orders

import (
	"context"
	"log/slog"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/patterns"
	"tapeline/service/styles"
	"tapeline/service/work"
)

// Config holds the settings of a Service.
type Config struct {
	Clock     service.Clock
	Cores     *work.Cores
	Jobs      *work.Jobs
	Log       *slog.Logger
	Version   string // of the program, stored with every draft as its engine
	PublicURL string // of the API as its callers see it, without a slash at the end
	Styles    *styles.Service
	Patterns  *patterns.Service

	Drafted func(took time.Duration, err error) // counts drafts
}

// Service has the use cases of orders.
type Service struct {
	store *db.Store
	Config
}

// New returns the use cases on a store and registers the job that drafts.
func New(store *db.Store, cfg Config) *Service {
	s := &Service{store: store, Config: cfg}
	work.Handle(cfg.Jobs, s.draft)
	return s
}

// Get returns an order of the caller's shop.
func (s *Service) Get(ctx context.Context, caller service.Caller, id uuid.UUID) (Order, error) {
	row, err := s.store.Order(ctx, caller.Shop, id)
	if err != nil {
		return Order{}, service.OrNotFound(err, "order")
	}
	return Decode(row)
}

// Filter selects orders; a zero field selects all.
type Filter struct {
	Status        Status
	Reference     string
	CustomerID    uuid.UUID
	Block         string
	Style         string    // by its slug
	CreatedFrom   time.Time // that time or later
	CreatedBefore time.Time
}

// List lists the shop's orders, newest first.
func (s *Service) List(
	ctx context.Context, caller service.Caller, f Filter, page service.Page,
) ([]Order, uuid.UUID, error) {
	filter := db.OrderFilter{Status: string(f.Status), Reference: f.Reference, CustomerID: f.CustomerID, Block: f.Block,
		Style: f.Style, CreatedFrom: f.CreatedFrom, CreatedBefore: f.CreatedBefore}
	rows, err := s.store.Orders(ctx, caller.Shop, filter, db.Page{After: page.After, Limit: int(page.Rows())})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next := service.Cut(rows, page, func(o db.Order) uuid.UUID { return o.ID })
	list := make([]Order, len(rows))
	for i, row := range rows {
		if list[i], err = Decode(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return list, next, nil
}

// History returns everything that happened to an order, oldest first.
func (s *Service) History(ctx context.Context, caller service.Caller, id uuid.UUID) ([]Event, error) {
	if _, err := s.store.Order(ctx, caller.Shop, id); err != nil {
		return nil, service.OrNotFound(err, "order")
	}
	rows, err := s.store.OrderEvents(ctx, caller.Shop, id)
	if err != nil {
		return nil, err
	}
	events := make([]Event, len(rows))
	for i, row := range rows {
		if events[i], err = DecodeEvent(row); err != nil {
			return nil, err
		}
	}
	return events, nil
}

// UnknownID refuses a request that names a record which can't be used.
func UnknownID(field, accepted string) error {
	return service.Invalid(service.Faults{{Code: "not_a_choice", Field: field, Accepted: accepted}})
}

func (s *Service) record(
	ctx context.Context, tx *db.Tx, caller service.Caller, action string, order uuid.UUID, at time.Time,
) error {
	return access.Record(ctx, tx, caller, access.Action{Name: "order." + action, Subject: order, At: at})
}
