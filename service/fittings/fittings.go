// Package fittings tries the drafts of orders on forms of their customers' bodies,
// before cloth is cut.
//
// A fitting is made by a job on spare cores, for one order of a shop at a time.
package fittings

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/drape"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/work"
)

// What a fitting found.
type (
	Finding     = fitting.Finding
	Level       = fitting.Level
	Opening     = fitting.Opening
	FormMeasure = fitting.FormMeasure
)

// A Report holds what a fitting found, and the cures of it.
type Report struct {
	fitting.Report
	Cures     []Cure    `json:"cures"`     // empty unless they were asked for
	Remaining []Finding `json:"remaining"` // what is found with the cures
}

// A Cure is a change of the order that removes a finding, alone or with others of that
// finding. It was tried: the order was drafted with it and tried on again.
type Cure struct {
	Kind   fitting.Kind      `json:"kind"` // of the finding
	Place  string            `json:"place"`
	Change drafting.CureKind `json:"change"`
	Name   string            `json:"name"` // of the ease, the alteration or the measurement
	Before float64           `json:"before_mm"`
	After  float64           `json:"after_mm"`
	Words  string            `json:"words"`
}

// Of reports whether the cure removes a finding.
func (c Cure) Of(f Finding) bool { return c.Kind == f.Kind && c.Place == f.Place }

// Alterations returns the alterations of the cures, mm by name.
func (r Report) Alterations() map[string]float64 {
	altered := map[string]float64{}
	for _, c := range r.Cures {
		if c.Change == drafting.CureAlteration {
			altered[c.Name] = c.After
		}
	}
	return altered
}

// Detail says how fine the triangles are in which a draft is tried on.
type Detail string

const (
	Quick Detail = "quick" // for the findings alone
	Full  Detail = "full"
)

// State is the state of a fitting.
type State string

const (
	Queued    State = "queued"
	Running   State = "running"
	Ready     State = "ready"
	Failed    State = "failed" // not tried on; the reason says why
	Cancelled State = "cancelled"
)

// Limits of fittings.
const (
	maxOpen  = 20 // of a shop, waiting or running, that somebody asked for
	maxShown = 100
)

// Fitting is a draft tried on.
type Fitting struct {
	ID         uuid.UUID
	OrderID    uuid.UUID
	Revision   int // the draft
	Detail     Detail
	Cures      bool   // look for what removes each finding
	Cloth      string // name of a preset; "" for the one that suits the style
	Automatic  bool   // nobody asked for it: the shop tries each draft on
	State      State
	Report     *Report // nil unless ready
	Reason     string  // why it failed
	Engine     string  // version of the program that tried it on
	CreatedBy  *uuid.UUID
	CreatedAt  time.Time
	StartedAt  *time.Time
	FinishedAt *time.Time
}

func decode(row query.FittingRow) (Fitting, error) {
	f := Fitting{ID: row.ID, OrderID: row.OrderID, Revision: row.Revision, Detail: Detail(row.Level), Cures: row.Cures,
		Cloth: service.OrZero(row.Cloth), Automatic: row.Automatic, State: State(row.State),
		Reason: service.OrZero(row.Reason), Engine: service.OrZero(row.Engine), CreatedBy: row.CreatedBy,
		CreatedAt: row.CreatedAt, StartedAt: row.StartedAt, FinishedAt: row.FinishedAt}
	if row.Report == nil {
		return f, nil
	}
	f.Report = &Report{}
	if err := json.Unmarshal(row.Report, f.Report); err != nil {
		return Fitting{}, fmt.Errorf("report of fitting %s: %w", row.ID, err)
	}
	return f, nil
}

// Config holds the settings of a Service.
type Config struct {
	Clock    service.Clock
	Cores    *work.Cores
	Jobs     *work.Jobs
	Log      *slog.Logger
	Version  string // of the program
	Orders   *orders.Service
	Patterns *patterns.Service
}

// Service has the use cases of fittings.
type Service struct {
	store *db.Store
	Config
	pictures *work.AtOnce
	previews *work.AtOnce
	halt     func()
	halted   chan struct{}
}

// New returns the use cases on a store and registers the job that tries on.
func New(store *db.Store, cfg Config) *Service {
	s := &Service{store: store, Config: cfg, pictures: work.NewAtOnce("pictures of fittings", 4),
		previews: work.NewAtOnce("fittings of orders that are not stored", 1),
		halted:   make(chan struct{})}
	s.halt = sync.OnceFunc(func() { close(s.halted) })
	work.Handle(cfg.Jobs, s.try)
	return s
}

// Stop has the fitting under way go back to the queue.
func (s *Service) Stop() { s.halt() }

// A Request asks for a fitting of an order.
type Request struct {
	Order    uuid.UUID
	Revision int    // 0: the draft that is handed out
	Detail   Detail // "" is Full
	Cures    bool   // look for what removes each finding, which takes a few times as long
	Cloth    string // name of a preset; "" for the one that suits the style
}

// Create stores a fitting and enqueues its job. It fails with CodeInvalidInput for an
// unknown cloth, with CodeLimitReached if the shop has too many that are not finished,
// and otherwise as patterns.Head does.
func (s *Service) Create(ctx context.Context, caller service.Caller, r Request) (Fitting, error) {
	if err := CheckCloth(r.Cloth); err != nil {
		return Fitting{}, err
	}
	if r.Detail == "" {
		r.Detail = Full
	}
	head, err := s.Patterns.Head(ctx, caller, r.Order, r.Revision)
	if err != nil {
		return Fitting{}, err
	}
	now := s.Clock.Now()
	f := Fitting{ID: s.Clock.NewID(), OrderID: r.Order, Revision: head.Number, Detail: r.Detail, Cures: r.Cures,
		Cloth: r.Cloth, State: Queued, CreatedBy: caller.Actor(), CreatedAt: now}
	err = s.store.InTx(ctx, func(tx *db.Tx) error { return s.insert(ctx, tx, caller, f) })
	return f, err
}

// CheckCloth refuses the name of a cloth that is no preset; "" is the one that suits a
// style.
func CheckCloth(name string) error {
	if _, ok := drape.PresetOf(name); ok || name == "" {
		return nil
	}
	return service.Invalid(fault.List{{Code: fault.Choice, Field: "/cloth", Value: fault.Shorten(name),
		Accepted: fitting.ClothNames()}})
}

func (s *Service) insert(ctx context.Context, tx *db.Tx, caller service.Caller, f Fitting) error {
	if err := tx.LockShop(ctx, caller.Shop); err != nil {
		return err
	}
	// An erasure locks the order too: it sees the fitting, or this sees the erasure.
	row, err := tx.OrderForUpdate(ctx, query.OrderForUpdateParams{ShopID: caller.Shop, ID: f.OrderID})
	if err != nil {
		return service.OrNotFound(err, "order")
	}
	if orders.Status(row.Status) == orders.Cancelled {
		return service.Refuse(service.CodeOrderCancelled, "a cancelled order is not tried on")
	}
	open, err := tx.CountOpenFittings(ctx, caller.Shop)
	if err != nil {
		return err
	}
	if open >= maxOpen {
		return service.Refuse(service.CodeLimitReached,
			"%d fittings of this shop are waiting or running; wait for one, or cancel it", open)
	}
	if err := tx.InsertFitting(ctx, query.InsertFittingParams{ID: f.ID, ShopID: caller.Shop, OrderID: f.OrderID,
		Revision: f.Revision, Level: string(f.Detail), Cures: f.Cures, Cloth: service.Optional(f.Cloth),
		CreatedBy: f.CreatedBy, CreatedAt: f.CreatedAt}); err != nil {
		return err
	}
	err = access.Record(ctx, tx, caller, access.Action{Name: "fitting.requested", Subject: f.ID, At: f.CreatedAt,
		Detail: map[string]any{"order": f.OrderID, "revision": f.Revision, "level": f.Detail}})
	if err != nil {
		return err
	}
	// A few fittings take as long as many drafts.
	return s.Jobs.Enqueue(ctx, tx, orders.FittingJob{FittingID: f.ID, Waiting: min(10*int(open), orders.BehindRequests-1)})
}

// Get returns a fitting.
func (s *Service) Get(ctx context.Context, caller service.Caller, id uuid.UUID) (Fitting, error) {
	row, err := s.store.Fitting(ctx, query.FittingParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return Fitting{}, service.OrNotFound(err, "fitting")
	}
	return decode(row)
}

// OfOrder lists the latest fittings of an order, newest first.
func (s *Service) OfOrder(ctx context.Context, caller service.Caller, order uuid.UUID) ([]Fitting, error) {
	if _, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: order}); err != nil {
		return nil, service.OrNotFound(err, "order")
	}
	rows, err := s.store.Fittings(ctx, query.FittingsParams{ShopID: caller.Shop, OrderID: order, Limit: maxShown})
	if err != nil {
		return nil, err
	}
	list := make([]Fitting, len(rows))
	for i, row := range rows {
		if list[i], err = decode(query.FittingRow(row)); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// Cancel cancels a fitting. Cancelling a finished one changes nothing.
func (s *Service) Cancel(ctx context.Context, caller service.Caller, id uuid.UUID) (Fitting, error) {
	now := s.Clock.Now()
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.Fitting(ctx, query.FittingParams{ShopID: caller.Shop, ID: id}); err != nil {
			return service.OrNotFound(err, "fitting")
		}
		n, err := tx.FinishFitting(ctx, query.FinishFittingParams{ID: id, State: string(Cancelled), At: now})
		if err != nil || n == 0 {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "fitting.cancelled", Subject: id, At: now})
	})
	if err != nil {
		return Fitting{}, err
	}
	return s.Get(ctx, caller, id)
}
