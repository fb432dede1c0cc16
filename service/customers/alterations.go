package customers

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/service"
	"tapeline/service/access"
)

// Alterations are alterations as the shop gave them: lengths in Unit by name,
// and under left and right those of one side.
type Alterations struct {
	Unit   string
	Values map[string]any
}

// Draftable converts alterations for drafting. It fails with CodeInvalidInput.
func (a Alterations) Draftable() (drafting.Alterations, error) {
	if a.Values == nil {
		return drafting.Alterations{}, nil
	}
	read, faults := drafting.NewAlterations(body.Unit(a.Unit), a.Values)
	if len(faults) > 0 {
		return drafting.Alterations{}, service.Invalid(faults)
	}
	return read, nil
}

// AlterationSet is the corrections that a fitting found for a customer. It is
// immutable; the customer's latest version applies to every draft made from then
// on.
type AlterationSet struct {
	ID         uuid.UUID
	CustomerID uuid.UUID
	Version    int // 1, 2, ... for each customer
	Alterations
	Reason    string
	CreatedBy *uuid.UUID // the key; nil: the operator
	CreatedAt time.Time
}

// AddAlterations stores the next version of a customer's alterations; an empty
// set withdraws the former. It drafts no order again. It fails with
// CodeInvalidInput and CodeErased.
func (s *Service) AddAlterations(
	ctx context.Context, caller service.Caller, customer uuid.UUID, a Alterations, reason string,
) (AlterationSet, error) {
	if _, err := s.GetUnerased(ctx, caller, customer); err != nil {
		return AlterationSet{}, err
	}
	if faults := service.CheckReason(reason); len(faults) > 0 {
		return AlterationSet{}, service.Invalid(faults)
	}
	if _, err := a.Draftable(); err != nil {
		return AlterationSet{}, err
	}
	row := query.InsertAlterationsParams{
		ID: s.clock.NewID(), ShopID: caller.Shop, CustomerID: customer, Unit: a.Unit, Given: encode(a.Values),
		Reason: service.Optional(reason), CreatedBy: caller.Actor(), CreatedAt: s.clock.Now(),
	}
	added := AlterationSet{
		ID: row.ID, CustomerID: customer, Alterations: a, Reason: reason, CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt,
	}
	err := s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		if added.Version, err = tx.InsertAlterations(ctx, row); err != nil {
			return orErased(err)
		}
		return access.Record(ctx, tx, caller, access.Action{
			Name: "customer.altered", Subject: customer, At: row.CreatedAt,
			Detail: map[string]any{"version": added.Version},
		})
	})
	return added, err
}

// AlterationsFromRow decodes a stored version. It fails with CodeErased.
func AlterationsFromRow(row query.Alteration) (AlterationSet, error) {
	if row.ErasedAt != nil {
		return AlterationSet{}, Erased()
	}
	a := AlterationSet{
		ID: row.ID, CustomerID: row.CustomerID, Version: row.Version, Alterations: Alterations{Unit: row.Unit},
		Reason: service.OrZero(row.Reason), CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt,
	}
	if err := json.Unmarshal(row.Given, &a.Values); err != nil {
		return AlterationSet{}, fmt.Errorf("stored alterations %s: %w", row.ID, err)
	}
	return a, nil
}

// AlterationSet returns a version. It fails with CodeNotFound and CodeErased.
func (s *Service) AlterationSet(ctx context.Context, caller service.Caller, id uuid.UUID) (AlterationSet, error) {
	row, err := s.store.AlterationSet(ctx, query.AlterationSetParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return AlterationSet{}, service.OrNotFound(err, "alterations")
	}
	return AlterationsFromRow(row)
}

// AlterationSets lists a customer's versions that are not erased, newest first.
func (s *Service) AlterationSets(
	ctx context.Context, caller service.Caller, customer uuid.UUID, page service.Page,
) (list []AlterationSet, next uuid.UUID, err error) {
	if _, err := s.Get(ctx, caller, customer); err != nil {
		return nil, uuid.Nil, err
	}
	rows, err := s.store.AlterationSets(ctx, query.AlterationSetsParams{
		ShopID: caller.Shop, CustomerID: customer, Below: page.Below(), Limit: int(page.Rows()),
	})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next = service.Cut(rows, page, func(r query.Alteration) uuid.UUID { return r.ID })
	list = make([]AlterationSet, len(rows))
	for i, row := range rows {
		if list[i], err = AlterationsFromRow(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return list, next, nil
}

// LatestAlterations returns the alterations that apply to a customer now.
func LatestAlterations(ctx context.Context, q db.Queries, shop, customer uuid.UUID) (Alterations, error) {
	row, err := q.LatestAlterations(ctx, query.LatestAlterationsParams{ShopID: shop, CustomerID: customer})
	if errors.Is(err, db.ErrNotFound) {
		return Alterations{}, nil
	}
	if err != nil {
		return Alterations{}, err
	}
	set, err := AlterationsFromRow(row)
	return set.Alterations, err
}
