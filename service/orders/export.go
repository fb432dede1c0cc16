package orders

import (
	"context"
	"encoding/json"

	"github.com/google/uuid"

	"tapeline/db/query"
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
	histories, err := s.Histories(ctx, caller, ids...)
	if err != nil {
		return nil, uuid.Nil, err
	}
	for id, events := range histories {
		at[id].History = events
	}
	drafts, err := s.store.DraftDocuments(ctx, query.DraftDocumentsParams{ShopID: caller.Shop, OrderIds: ids})
	if err != nil {
		return nil, uuid.Nil, err
	}
	for _, d := range drafts {
		at[d.OrderID].Patterns = append(at[d.OrderID].Patterns, d.Document)
	}
	return exported, next, nil
}
