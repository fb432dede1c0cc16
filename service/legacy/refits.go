package legacy

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
	"tapeline/drafting/fault"
	"tapeline/drafting/sheets"
	"tapeline/service/orders"
)

// RefitState is where a refit stands.
type RefitState string

const (
	RefitPreviewing RefitState = "previewing" // its orders are being drafted both ways
	RefitToDecide   RefitState = "to_decide"  // all of them are
	RefitApplying   RefitState = "applying"   // those chosen get their new drafts
	RefitDone       RefitState = "done"       // every order has its outcome
	RefitStopped    RefitState = "stopped"    // given up before that; what was applied stays
)

// What a preview finds for an order. All but waiting and changes may become of
// it, too; so may being chosen, then revised, and others that the store knows.
const (
	findingWaiting     = "waiting"
	findingChanges     = "changes"     // its draft would be another
	findingUnchanged   = "unchanged"   // its draft would be the same
	findingUndraftable = "undraftable" // it could not be drafted, or not be proved
	findingHeld        = "held"        // its measurements would have to be confirmed
	findingFailed      = "failed"      // a fault of ours
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

// RefitReasonDetail says a reason in a sentence: one of those here, or an
// order's.
func RefitReasonDetail(code string) string {
	switch r := orders.Reason(code); r {
	case leftNotInScope:
		return "the change, or the rest of the scope, does not concern this order"
	case leftCut, leftShipped:
		return "the garment is " + code + ": name the order in the scope to draft it again nevertheless"
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

// RefitScope chooses orders for a refit, beside what its change is about. A
// zero field chooses all.
type RefitScope struct {
	Statuses      []orders.Status `json:"statuses,omitempty"` // ready and held where none is given
	Block         string          `json:"block,omitempty"`
	Style         string          `json:"style,omitempty"`
	CustomerID    uuid.UUID       `json:"customer_id,omitzero"`
	CreatedFrom   time.Time       `json:"created_from,omitzero"`
	CreatedBefore time.Time       `json:"created_before,omitzero"`
	Orders        []uuid.UUID     `json:"orders,omitempty"` // these alone, and even where they are cut or shipped
}

// NewRefit is a refit to be previewed.
type NewRefit struct {
	Change RefitChange
	Scope  RefitScope
	Paper  string // that pages are counted on
	Reason string
}

// Refit is a change carried to many orders.
type Refit struct {
	db.Refit
	Change RefitChange
	Scope  RefitScope
}

func refit(row db.Refit) (Refit, error) {
	r := Refit{Refit: row}
	if err := errors.Join(json.Unmarshal(row.Change, &r.Change), json.Unmarshal(row.Scope, &r.Scope)); err != nil {
		return r, fmt.Errorf("refit %s: %w", row.ID, err)
	}
	return r, nil
}

// orders is the scope as orders are chosen by.
func (r Refit) orders() db.RefitScope {
	scope := db.RefitScope{ShopID: r.ShopID, CustomerID: r.Scope.CustomerID, CreatedFrom: r.Scope.CreatedFrom,
		CreatedBefore: r.Scope.CreatedBefore, IDs: r.Scope.Orders}
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

// Of a refit: how many orders a job works on, and the most that one may have.
const (
	refitBatch = 20
	mostRefit  = 50_000
)

// CreateRefit begins the preview of a change. It fails with CodeScopeEmpty
// where the scope holds no order, and CodeLimitReached where it holds too many.
func (s *Service) CreateRefit(ctx context.Context, caller Caller, n NewRefit) (created Refit, err error) {
	if _, err := sheets.ParsePaper(n.Paper); err != nil {
		f, _ := errors.AsType[fault.Fault](err)
		return Refit{}, invalid(fault.List{f})
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		change, err := s.refitting(ctx, tx.Queries, caller, n.Change)
		if err != nil {
			return err
		}
		if err := known(ctx, tx.Queries, caller, n.Scope.Orders); err != nil {
			return err
		}
		created, err = refit(db.Refit{ID: s.newID(), ShopID: caller.Shop, State: string(RefitPreviewing), Change: encode(change.RefitChange),
			Scope: encode(n.Scope), Paper: n.Paper, Reason: n.Reason, CreatedBy: actor(caller), CreatedAt: s.now()})
		if err != nil {
			return err
		}
		count, batches, err := tx.InsertRefit(ctx, created.Refit, created.orders(), refitBatch, mostRefit)
		switch {
		case err != nil:
			return err
		case count == 0:
			return refuse(CodeScopeEmpty, "no order of this shop is in the scope")
		case count > mostRefit:
			return refuse(CodeLimitReached, "a refit takes at most %d orders: narrow its scope", mostRefit)
		}
		created.Orders = count
		if n.Scope.Orders != nil {
			beside, err := tx.AddLeftAlone(ctx, created.Refit, n.Scope.Orders, string(leftNotInScope))
			if err != nil {
				return err
			}
			created.Orders += beside
		}
		if err := audit(ctx, tx, caller, s.now(), "refit.created", created.ID, map[string]any{"orders": created.Orders}); err != nil {
			return err
		}
		jobs := make(jobList, batches)
		for i := range jobs {
			jobs[i] = refitJob(created.ID, i, RefitPreviewing)
		}
		return s.enqueue(ctx, tx, jobs)
	})
	return created, err
}

// known refuses ids that name no order of the shop.
func known(ctx context.Context, q db.Queries, caller Caller, ids []uuid.UUID) error {
	if len(ids) == 0 {
		return nil
	}
	missing, err := q.MissingOrders(ctx, caller.Shop, ids)
	if err != nil {
		return err
	}
	return unknownOrders("/scope/orders", ids, missing, "the id of an order of this shop")
}

// unknownOrders is a fault for each of the ids that is among those missing.
func unknownOrders(field string, ids, missing []uuid.UUID, accepted string) error {
	var faults fault.List
	for i, id := range ids {
		if slices.Contains(missing, id) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: field + "/" + strconv.Itoa(i), Value: id.String(), Accepted: accepted})
		}
	}
	if len(faults) == 0 {
		return nil
	}
	return invalid(faults)
}

// What may be decided of a refit.
const (
	ApplyAll  = "all"
	ApplySome = "some"
	ApplyNone = "none"
)

// RefitDecision is what is to become of a previewed refit. Only orders whose
// draft changes can be chosen; the others get what the preview found as their
// outcome.
type RefitDecision struct {
	Apply  string
	Orders []uuid.UUID // with ApplySome
}

// DecideRefit chooses the orders that get their new drafts, and begins to apply.
// It fails with CodeWrongState unless the refit is to be decided, and with
// CodeRefitConflict, nothing chosen, while another refit is applying one of the
// orders.
func (s *Service) DecideRefit(ctx context.Context, caller Caller, id uuid.UUID, d RefitDecision) (decided Refit, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := s.lockRefit(ctx, tx, caller, id)
		if err != nil {
			return err
		}
		if RefitState(row.State) != RefitToDecide {
			return refuse(CodeWrongState, "a refit that is %s is not to be decided", row.State)
		}
		if d.Apply == ApplySome {
			missing, err := tx.NotOfRefit(ctx, id, d.Orders)
			if err != nil {
				return err
			}
			if err := unknownOrders("/orders", d.Orders, missing, "the id of an order of this refit"); err != nil {
				return err
			}
		}
		if d.Apply != ApplyNone {
			if err := contended(ctx, tx, id, d.Orders); err != nil {
				return err
			}
		}
		now := s.now()
		chosen, batches, err := tx.DecideRefit(ctx, id, d.Apply, d.Orders, now)
		if err != nil {
			return err
		}
		row.Decision, row.DecidedBy, row.DecidedAt, row.State = &d.Apply, actor(caller), &now, string(RefitApplying)
		if chosen == 0 {
			row.State, row.EndedAt = string(RefitDone), &now
		}
		if err := tx.UpdateRefit(ctx, row); err != nil {
			return err
		}
		if err := audit(ctx, tx, caller, s.now(), "refit.decided", id, map[string]any{"apply": d.Apply, "orders": chosen}); err != nil {
			return err
		}
		jobs := make(jobList, len(batches))
		for i, batch := range batches {
			jobs[i] = refitJob(id, batch, RefitApplying)
		}
		if err := s.enqueue(ctx, tx, jobs); err != nil {
			return err
		}
		decided, err = refit(row)
		return err
	})
	if db.Conflicts(err, "refit_orders_chosen") { // begun since we looked
		err = refuse(CodeRefitConflict, "another refit has just begun to apply some of these orders")
	}
	return decided, err
}

// contended refuses a decision on orders that another refit is applying.
func contended(ctx context.Context, tx *db.Tx, id uuid.UUID, ids []uuid.UUID) error {
	others, err := tx.Contenders(ctx, id, ids)
	if err != nil || len(others) == 0 {
		return err
	}
	o := others[0]
	return refuse(CodeRefitConflict, "refit %s is applying %d of these orders: wait until it is done, stop it, or choose other orders", o.RefitID, o.Orders)
}

// StopRefit ends a refit before it is done. Orders that were revised stay so;
// the rest stay as they are. Stopping twice changes nothing.
func (s *Service) StopRefit(ctx context.Context, caller Caller, id uuid.UUID) (stopped Refit, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := s.lockRefit(ctx, tx, caller, id)
		if err != nil {
			return err
		}
		switch RefitState(row.State) {
		case RefitDone:
			return refuse(CodeWrongState, "a refit that is done cannot be stopped")
		case RefitStopped:
		default:
			now := s.now()
			if err := tx.StopRefitOrders(ctx, id, now); err != nil {
				return err
			}
			row.State, row.EndedBy, row.EndedAt = string(RefitStopped), actor(caller), &now
			if err := tx.UpdateRefit(ctx, row); err != nil {
				return err
			}
			if err := audit(ctx, tx, caller, s.now(), "refit.stopped", id, nil); err != nil {
				return err
			}
		}
		stopped, err = refit(row)
		return err
	})
	return stopped, err
}

// lockRefit reads and locks a refit of the caller's shop.
func (s *Service) lockRefit(ctx context.Context, tx *db.Tx, caller Caller, id uuid.UUID) (db.Refit, error) {
	row, err := tx.RefitForUpdate(ctx, id)
	if err == nil && row.ShopID != caller.Shop {
		err = db.ErrNotFound
	}
	return row, orNotFound(err, "refit")
}
