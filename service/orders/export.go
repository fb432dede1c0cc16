package orders

import (
	"context"
	"encoding/json"

	"github.com/google/uuid"

	"tapeline/service"
)

// Exported is an order with its history and the documents of its drafts.
type Exported struct {
	Order    Order
	History  []Event
	Patterns []json.RawMessage // newest first
}

// Export lists the orders of a customer, newest first, with all that is stored
// about each except refits. A page is read in three statements.
func (s *Service) Export(
	ctx context.Context, caller service.Caller, customer uuid.UUID, page service.Page,
) ([]Exported, uuid.UUID, error) {
	list, next, err := s.List(ctx, caller, Filter{CustomerID: customer}, page)
	if err != nil {
		return nil, uuid.Nil, err
	}
	ids := make([]uuid.UUID, len(list))
	exported := make([]Exported, len(list))
	at := map[uuid.UUID]*Exported{}
	for i, o := range list {
		ids[i], exported[i].Order, exported[i].Patterns = o.ID, o, []json.RawMessage{}
		at[o.ID] = &exported[i]
	}
	events, err := s.store.OrderEvents(ctx, caller.Shop, ids...)
	if err != nil {
		return nil, uuid.Nil, err
	}
	for _, row := range events {
		e, err := DecodeEvent(row)
		if err != nil {
			return nil, uuid.Nil, err
		}
		at[row.OrderID].History = append(at[row.OrderID].History, e)
	}
	drafts, err := s.store.DraftGeometries(ctx, caller.Shop, ids)
	if err != nil {
		return nil, uuid.Nil, err
	}
	for _, d := range drafts {
		at[d.OrderID].Patterns = append(at[d.OrderID].Patterns, d.Geometry)
	}
	return exported, next, nil
}
