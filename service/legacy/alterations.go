package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/body"
)

// Alterations are the corrections that a fitting found for a customer. They
// never change; others are another version, and the latest applies to every
// draft made from then on.
type Alterations struct {
	ID         uuid.UUID
	CustomerID uuid.UUID
	Version    int
	Altered
	Note      string
	By        *uuid.UUID // the key; nil: the operator
	CreatedAt time.Time
}

// Altered are alterations as the shop gave them: lengths in Unit by name, and
// under left and right those of one side.
type Altered struct {
	Unit   string
	Values map[string]any
}

// read checks alterations against those that blocks know. Its error is an
// Error with CodeInvalidInput.
func (a Altered) read() (drafting.Alterations, error) {
	if a.Values == nil {
		return drafting.Alterations{}, nil
	}
	read, faults := drafting.NewAlterations(body.Unit(a.Unit), a.Values)
	if len(faults) > 0 {
		return drafting.Alterations{}, invalid(faults)
	}
	return read, nil
}

// KeepAlterations stores a customer's alterations as another version; none at
// all take the former back. Faulty ones fail with CodeInvalidInput, every fault
// named. No order is drafted again by it.
func (s *Service) KeepAlterations(ctx context.Context, caller Caller, customer uuid.UUID, a Altered, note string) (Alterations, error) {
	if _, err := s.living(ctx, caller, customer); err != nil {
		return Alterations{}, err
	}
	if _, err := a.read(); err != nil {
		return Alterations{}, err
	}
	row := db.Alterations{ID: s.newID(), ShopID: caller.Shop, CustomerID: customer, Unit: a.Unit, Given: encode(a.Values),
		Note: optional(note), CreatedBy: actor(caller), CreatedAt: s.now()}
	err := s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		if row.Version, err = tx.InsertAlterations(ctx, row); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "customer.altered", customer, map[string]any{"version": row.Version})
	})
	if errors.Is(err, db.ErrNotFound) { // erased since we looked
		err = erased()
	}
	if err != nil {
		return Alterations{}, err
	}
	return alterations(row)
}

// alterations reads a stored version; an erased one fails with CodeErased.
func alterations(row db.Alterations) (Alterations, error) {
	if row.ErasedAt != nil {
		return Alterations{}, erased()
	}
	a := Alterations{ID: row.ID, CustomerID: row.CustomerID, Version: row.Version, Altered: Altered{Unit: row.Unit},
		By: row.CreatedBy, CreatedAt: row.CreatedAt}
	if row.Note != nil {
		a.Note = *row.Note
	}
	if err := json.Unmarshal(row.Given, &a.Values); err != nil {
		return Alterations{}, fmt.Errorf("stored alterations %s: %w", row.ID, err)
	}
	return a, nil
}

// Alterations reads a version. An erased one fails with CodeErased.
func (s *Service) Alterations(ctx context.Context, caller Caller, id uuid.UUID) (Alterations, error) {
	row, err := s.store.Alterations(ctx, caller.Shop, id)
	if err != nil {
		return Alterations{}, orNotFound(err, "alterations")
	}
	return alterations(row)
}

// CustomerAlterations lists a customer's versions, newest first; erased ones
// are gone.
func (s *Service) CustomerAlterations(ctx context.Context, caller Caller, customer uuid.UUID, page Page) ([]Alterations, uuid.UUID, error) {
	if _, err := s.Customer(ctx, caller, customer); err != nil {
		return nil, uuid.Nil, err
	}
	rows, err := s.store.CustomerAlterations(ctx, caller.Shop, customer, more(page))
	rows, next, err := paged(rows, err, page, func(r db.Alterations) uuid.UUID { return r.ID })
	if err != nil {
		return nil, uuid.Nil, err
	}
	list, err := legible(rows, alterations)
	return list, next, err
}

// kept are the alterations that apply to a customer now; none where none were
// kept.
func kept(ctx context.Context, q db.Queries, shop, customer uuid.UUID) (drafting.Alterations, error) {
	row, err := q.LatestAlterations(ctx, shop, customer)
	if errors.Is(err, db.ErrNotFound) {
		return drafting.Alterations{}, nil
	}
	if err != nil {
		return drafting.Alterations{}, err
	}
	a, err := alterations(row)
	if err != nil {
		return drafting.Alterations{}, err
	}
	return a.read()
}

// keptIn are those that a draft is to be made with. What this version of the
// program doesn't take, though a former did, is a *undrafted.
func keptIn(in db.DraftInput) (drafting.Alterations, error) {
	if in.KeptID == nil {
		return drafting.Alterations{}, nil
	}
	a := Altered{Unit: *in.KeptUnit}
	if err := json.Unmarshal(in.Kept, &a.Values); err != nil {
		return drafting.Alterations{}, fmt.Errorf("stored alterations %s: %w", *in.KeptID, err)
	}
	read, err := a.read()
	if e, ok := errors.AsType[*Error](err); ok {
		return drafting.Alterations{}, &undrafted{reasonUndraftable, e.Faults}
	}
	return read, err
}
