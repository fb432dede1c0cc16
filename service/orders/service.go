package orders

import (
	"context"
	"log/slog"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
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
	estimates, previews *work.AtOnce
	visitors            *work.AtOnce // previews by browsers, which leave the shop its own
}

// New returns the use cases on a store and registers the job that drafts.
func New(store *db.Store, cfg Config) *Service {
	s := &Service{store: store, Config: cfg,
		estimates: work.NewAtOnce("estimates", 4), previews: work.NewAtOnce("previews", 8),
		visitors: work.NewAtOnce("previews by browsers", 4)}
	work.Handle(cfg.Jobs, s.draft)
	return s
}

// Get returns an order of the caller's shop.
func (s *Service) Get(ctx context.Context, caller service.Caller, id uuid.UUID) (Order, error) {
	row, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return Order{}, service.OrNotFound(err, "order")
	}
	return Decode(row)
}

// LastEvent returns the number of the last thing that happened to the shop's
// orders, or to one of them if order is not uuid.Nil. It rises with each event.
func (s *Service) LastEvent(ctx context.Context, caller service.Caller, order uuid.UUID) (int64, error) {
	return s.store.LastOrderEvent(ctx, query.LastOrderEventParams{ShopID: caller.Shop, OrderID: optional(order)})
}

// History returns everything that happened to an order, oldest first.
func (s *Service) History(ctx context.Context, caller service.Caller, id uuid.UUID) ([]Event, error) {
	if _, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: id}); err != nil {
		return nil, service.OrNotFound(err, "order")
	}
	histories, err := s.Histories(ctx, caller, id)
	return histories[id], err
}

// maxRows is the number of rows of a history that a statement reads.
const maxRows = 1000

// Histories returns the histories of orders, oldest first.
func (s *Service) Histories(
	ctx context.Context, caller service.Caller, ids ...uuid.UUID,
) (map[uuid.UUID][]Event, error) {
	histories := make(map[uuid.UUID][]Event, len(ids))
	for p := (query.OrderEventsParams{ShopID: caller.Shop, OrderIds: ids, Limit: maxRows}); ; {
		rows, err := s.store.OrderEvents(ctx, p)
		if err != nil {
			return nil, err
		}
		for _, row := range rows {
			e, err := DecodeEvent(row)
			if err != nil {
				return nil, err
			}
			histories[row.OrderID] = append(histories[row.OrderID], e)
			p.After = row.ID
		}
		if len(rows) < p.Limit {
			return histories, nil
		}
	}
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
