package refits

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/sheets"
	"tapeline/service"
	"tapeline/service/orders"
	"tapeline/service/work"
)

// Status is the state of a refit.
type Status string

const (
	Previewing Status = "previewing" // its orders are being drafted both ways
	ToDecide   Status = "to_decide"  // all of them are
	Applying   Status = "applying"   // those chosen get their new drafts
	Done       Status = "done"       // every order has its outcome
	Stopped    Status = "stopped"    // ended before that; what was applied stays
)

// decidable refuses a decision on a refit that is not to be decided.
func (s Status) decidable() error {
	if s == ToDecide {
		return nil
	}
	return service.Refuse(service.CodeWrongState, "a refit that is %s is not to be decided", s)
}

// stoppable reports whether a refit is to be stopped: one that is stopped stays
// so, and one that is done is refused.
func (s Status) stoppable() (bool, error) {
	if s == Done {
		return false, service.Refuse(service.CodeWrongState, "a refit that is done cannot be stopped")
	}
	return s != Stopped, nil
}

// The findings of a preview. All except waiting and changes are outcomes too, as
// are chosen, revised, declined and stopped.
const (
	findingWaiting     = "waiting"
	findingChanges     = "changes"     // its draft would be another
	findingUnchanged   = "unchanged"   // its draft would be the same
	findingUndraftable = "undraftable" // it could not be drafted, or not be proved
	findingHeld        = "held"        // its measurements would have to be confirmed
	findingFailed      = "failed"      // a defect of the program
	findingLeftAlone   = "left_alone"  // it is not touched
	outcomeChosen      = "chosen"      // it waits for its new draft
	outcomeRevised     = "revised"     // it has it
)

// Why a refit leaves an order alone.
const (
	leftNotInScope orders.Reason = "not_in_scope" // named, but the change or the rest of the scope is not about it
	leftCut        orders.Reason = "cut"
	leftShipped    orders.Reason = "shipped"
	leftNoDraft    orders.Reason = "no_draft"      // it has none that could be compared with
	leftState      orders.Reason = "order_state"   // it is neither ready nor held by request
	leftChanged    orders.Reason = "order_changed" // revised, or otherwise changed, since the preview
	leftOtherRefit orders.Reason = "other_refit"   // revised by another refit since the preview
	leftErased                   = orders.Erased   // its customer's data is gone
)

// reasonDetail says in a sentence why a refit leaves an order alone, or an
// order's own reason.
func reasonDetail(r orders.Reason) string {
	switch r {
	case leftNotInScope:
		return "the change, or the rest of the scope, does not concern this order"
	case leftCut, leftShipped:
		return "the garment is " + string(r) + ": name the order in the scope to draft it again nevertheless"
	case leftNoDraft:
		return "the order has no draft of what it now says"
	case leftState:
		return "the order is neither ready nor held by request"
	case leftChanged:
		return "the order was changed since the preview: preview again"
	case leftOtherRefit:
		return "another refit drafted the order again since the preview: preview again"
	default:
		return r.Detail()
	}
}

// Scope selects orders for a refit, among those that its change concerns. A zero
// field selects all.
type Scope struct {
	Statuses      []orders.Status `json:"statuses,omitempty"` // ready and held where none is given
	Block         string          `json:"block,omitempty"`
	Style         string          `json:"style,omitempty"`
	CustomerID    uuid.UUID       `json:"customer_id,omitzero"`
	CreatedFrom   time.Time       `json:"created_from,omitzero"`
	CreatedBefore time.Time       `json:"created_before,omitzero"`
	Orders        []uuid.UUID     `json:"orders,omitempty"` // these alone, and even where they are cut or shipped
}

// Input is a refit to preview.
type Input struct {
	Change Change
	Scope  Scope
	Paper  string // that pages are counted on
	Reason string
}

// Refit applies a change to many orders.
type Refit struct {
	ID          uuid.UUID
	Status      Status
	Change      Change
	Scope       Scope
	Paper       string // that pages are counted on
	Reason      string
	Orders      int // in scope when it was begun
	CreatedBy   *uuid.UUID
	CreatedAt   time.Time
	PreviewedAt *time.Time
	Decision    Apply // "" until it is decided
	DecidedBy   *uuid.UUID
	DecidedAt   *time.Time
	EndedBy     *uuid.UUID // who stopped it
	EndedAt     *time.Time

	row db.Refit
}

func decode(row db.Refit) (Refit, error) {
	r := Refit{ID: row.ID, Status: Status(row.Status), Paper: row.Paper, Reason: row.Reason, Orders: row.Orders,
		CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt, PreviewedAt: row.PreviewedAt, DecidedBy: row.DecidedBy,
		DecidedAt: row.DecidedAt, EndedBy: row.EndedBy, EndedAt: row.EndedAt, row: row}
	if row.Decision != nil {
		r.Decision = Apply(*row.Decision)
	}
	if err := errors.Join(json.Unmarshal(row.Change, &r.Change), json.Unmarshal(row.Scope, &r.Scope)); err != nil {
		return r, fmt.Errorf("refit %s: %w", row.ID, err)
	}
	return r, nil
}

// scope returns the scope as the store selects orders.
func (r Refit) scope() db.RefitScope {
	scope := db.RefitScope{ShopID: r.row.ShopID, CustomerID: service.Optional(r.Scope.CustomerID),
		CreatedFrom:   service.Optional(r.Scope.CreatedFrom),
		CreatedBefore: service.Optional(r.Scope.CreatedBefore), Ids: r.Scope.Orders}
	for _, status := range r.Scope.Statuses {
		scope.Statuses = append(scope.Statuses, string(status))
	}
	if scope.Statuses == nil {
		scope.Statuses = []string{string(orders.Ready), string(orders.Held)}
	}
	if r.Scope.Block != "" {
		scope.Blocks = []string{r.Scope.Block}
	}
	if r.Scope.Style != "" {
		scope.Styles = []string{r.Scope.Style}
	}
	r.Change.narrow(&scope)
	return scope
}

const (
	batchSize = 20     // orders of a job
	maxOrders = 50_000 // of a refit
)

// Create begins the preview of a change. It fails with CodeScopeEmpty if the
// scope contains no orders, and with CodeLimitReached if it contains too many.
func (s *Service) Create(ctx context.Context, caller service.Caller, n Input) (created Refit, err error) {
	if _, err := sheets.ParsePaper(n.Paper); err != nil {
		f, _ := errors.AsType[fault.Fault](err)
		return Refit{}, service.Invalid(fault.List{f})
	}
	if faults := service.CheckReason(n.Reason); len(faults) > 0 {
		return Refit{}, service.Invalid(faults)
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		change, err := s.target(ctx, tx.Queries, caller, n.Change)
		if err != nil {
			return err
		}
		if err := checkOrders(ctx, tx.Queries, caller, n.Scope.Orders); err != nil {
			return err
		}
		created, err = decode(db.Refit{ID: s.Clock.NewID(), ShopID: caller.Shop, Status: string(Previewing),
			Change: db.JSON(change.Change), Scope: db.JSON(n.Scope), Paper: n.Paper, Reason: n.Reason,
			CreatedBy: caller.Actor(), CreatedAt: s.Clock.Now()})
		if err != nil {
			return err
		}
		count, batches, err := tx.InsertRefit(ctx, created.row, created.scope(), batchSize, maxOrders)
		switch {
		case err != nil:
			return err
		case count == 0:
			return service.Refuse(service.CodeScopeEmpty, "no order of this shop is in the scope")
		case count > maxOrders:
			return service.Refuse(service.CodeLimitReached, "a refit takes at most %d orders: narrow its scope", maxOrders)
		}
		created.Orders = count
		if n.Scope.Orders != nil {
			beside, err := tx.AddLeftAlone(ctx, query.AddLeftAloneParams{RefitID: created.ID, ShopID: caller.Shop,
				Ids: n.Scope.Orders, ReasonCode: string(leftNotInScope), At: created.CreatedAt})
			if err != nil {
				return err
			}
			created.Orders += beside
		}
		detail := map[string]any{"orders": created.Orders}
		if err := s.record(ctx, tx, caller, "refit.created", created.ID, detail); err != nil {
			return err
		}
		jobs := make([]work.Args, batches)
		for i := range jobs {
			jobs[i] = newJob(created.ID, i, Previewing)
		}
		return s.Jobs.Enqueue(ctx, tx, jobs...)
	})
	return created, err
}

// checkOrders refuses IDs that are not of orders of the shop.
func checkOrders(ctx context.Context, q db.Queries, caller service.Caller, ids []uuid.UUID) error {
	if len(ids) == 0 {
		return nil
	}
	missing, err := q.MissingOrders(ctx, query.MissingOrdersParams{ShopID: caller.Shop, Ids: ids})
	if err != nil {
		return err
	}
	return unknownOrders("/scope/orders", ids, missing, "the ID of an order of this shop")
}

// unknownOrders refuses the IDs that are missing.
func unknownOrders(field string, ids, missing []uuid.UUID, accepted string) error {
	var faults fault.List
	for i, id := range ids {
		if slices.Contains(missing, id) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: field + "/" + strconv.Itoa(i),
				Value: id.String(), Accepted: accepted})
		}
	}
	if len(faults) == 0 {
		return nil
	}
	return service.Invalid(faults)
}

// Apply says to which orders a refit is applied.
type Apply string

const (
	All  Apply = "all"
	Some Apply = "some"
	None Apply = "none"
)

// Decision says to which orders a previewed refit is applied. Only orders whose
// draft changes can be chosen; the others get the finding as their outcome.
type Decision struct {
	Apply  Apply
	Orders []uuid.UUID // with Some
}

// Decide chooses the orders that get their new drafts, and begins to apply.
// It fails with CodeWrongState unless the refit is to be decided, and with
// CodeRefitConflict, nothing chosen, while another refit is applying one of the
// orders.
func (s *Service) Decide(
	ctx context.Context, caller service.Caller, id uuid.UUID, d Decision,
) (decided Refit, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := s.lockRefit(ctx, tx, caller, id)
		if err != nil {
			return err
		}
		if err := Status(row.Status).decidable(); err != nil {
			return err
		}
		if d.Apply == Some {
			missing, err := tx.MissingRefitOrders(ctx, query.MissingRefitOrdersParams{RefitID: id, Ids: d.Orders})
			if err != nil {
				return err
			}
			if err := unknownOrders("/orders", d.Orders, missing, "the ID of an order of this refit"); err != nil {
				return err
			}
		}
		if d.Apply != None {
			if err := refuseContended(ctx, tx, id, d.Orders); err != nil {
				return err
			}
		}
		now := s.Clock.Now()
		chosen, batches, err := tx.DecideRefit(ctx, id, string(d.Apply), d.Orders, now)
		if err != nil {
			return err
		}
		row.Decision, row.DecidedBy, row.DecidedAt = (*string)(&d.Apply), caller.Actor(), &now
		row.Status = string(Applying)
		if chosen == 0 {
			row.Status, row.EndedAt = string(Done), &now
		}
		if err := update(ctx, tx, row); err != nil {
			return err
		}
		detail := map[string]any{"apply": d.Apply, "orders": chosen}
		if err := s.record(ctx, tx, caller, "refit.decided", id, detail); err != nil {
			return err
		}
		jobs := make([]work.Args, len(batches))
		for i, batch := range batches {
			jobs[i] = newJob(id, batch, Applying)
		}
		if err := s.Jobs.Enqueue(ctx, tx, jobs...); err != nil {
			return err
		}
		decided, err = decode(row)
		return err
	})
	if db.Conflicts(err, "refit_orders_chosen") { // begun since we looked
		err = service.Refuse(service.CodeRefitConflict, "another refit has just begun to apply some of these orders")
	}
	return decided, err
}

// refuseContended refuses a decision on orders that another refit is applying.
func refuseContended(ctx context.Context, tx *db.Tx, id uuid.UUID, ids []uuid.UUID) error {
	others, err := tx.RefitContenders(ctx, query.RefitContendersParams{RefitID: id, Ids: ids})
	if err != nil || len(others) == 0 {
		return err
	}
	o := others[0]
	return service.Refuse(service.CodeRefitConflict, "refit %s is applying %d of these orders: "+
		"wait until it is done, stop it, or choose other orders", o.RefitID, o.Orders)
}

// Stop ends a refit before it is done. Orders that were revised stay so;
// the rest stay as they are. Stopping twice changes nothing.
func (s *Service) Stop(ctx context.Context, caller service.Caller, id uuid.UUID) (stopped Refit, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := s.lockRefit(ctx, tx, caller, id)
		if err != nil {
			return err
		}
		stop, err := Status(row.Status).stoppable()
		if err != nil {
			return err
		}
		if stop {
			now := s.Clock.Now()
			if err := tx.StopRefitOrders(ctx, query.StopRefitOrdersParams{RefitID: id, At: now}); err != nil {
				return err
			}
			if _, err := tx.CancelRefitFittings(ctx, query.CancelRefitFittingsParams{RefitID: id, At: now}); err != nil {
				return err
			}
			row.Status, row.EndedBy, row.EndedAt = string(Stopped), caller.Actor(), &now
			if err := update(ctx, tx, row); err != nil {
				return err
			}
			if err := s.record(ctx, tx, caller, "refit.stopped", id, nil); err != nil {
				return err
			}
		}
		stopped, err = decode(row)
		return err
	})
	return stopped, err
}

// lockRefit reads and locks a refit of the caller's shop.
func (s *Service) lockRefit(ctx context.Context, tx *db.Tx, caller service.Caller, id uuid.UUID) (db.Refit, error) {
	row, err := tx.LockRefit(ctx, id)
	if err == nil && row.ShopID != caller.Shop {
		err = db.ErrNotFound
	}
	return row, service.OrNotFound(err, "refit")
}

// update writes what may change of a locked refit.
func update(ctx context.Context, tx *db.Tx, row db.Refit) error {
	_, err := tx.UpdateRefit(ctx, query.UpdateRefitParams{ID: row.ID, Status: row.Status, PreviewedAt: row.PreviewedAt,
		Decision: row.Decision, DecidedBy: row.DecidedBy, DecidedAt: row.DecidedAt, EndedBy: row.EndedBy,
		EndedAt: row.EndedAt})
	return err
}
