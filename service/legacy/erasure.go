package legacy

import (
	"context"
	"encoding/json"

	"tapeline/service/orders"

	"github.com/google/uuid"
)

// ExportedOrder is an order with its history, the geometry of every draft, and
// what refits compared of it.
type ExportedOrder struct {
	Order    orders.Order
	History  []orders.Event
	Patterns []json.RawMessage // newest first
	Refits   []RefitOrder
}

// exportPage is the number of orders whose data an export holds at a time.
const exportPage = 10

// ExportOrders calls yield with everything stored about each order of a
// customer, newest first. It ends with the first error of yield.
func (s *Service) ExportOrders(
	ctx context.Context, caller Caller, customer uuid.UUID, yield func(ExportedOrder) error,
) error {
	for page := (Page{Limit: exportPage}); ; {
		list, next, err := s.Orders.List(ctx, caller, orders.Filter{CustomerID: customer}, page)
		if err != nil {
			return err
		}
		exported, err := s.exportPage(ctx, caller, list)
		if err != nil {
			return err
		}
		for _, x := range exported {
			if err := yield(x); err != nil {
				return err
			}
		}
		if next == uuid.Nil {
			return nil
		}
		page.After = next
	}
}

// exportPage reads the data of orders in a statement for each kind of it.
func (s *Service) exportPage(ctx context.Context, caller Caller, list []orders.Order) ([]ExportedOrder, error) {
	ids := make([]uuid.UUID, len(list))
	exported := make([]ExportedOrder, len(list))
	at := map[uuid.UUID]*ExportedOrder{}
	for i, o := range list {
		ids[i], exported[i].Order, exported[i].Patterns = o.ID, o, []json.RawMessage{}
		at[o.ID] = &exported[i]
	}
	events, err := s.store.OrderEvents(ctx, caller.Shop, ids...)
	if err != nil {
		return nil, err
	}
	for _, row := range events {
		e, err := orders.DecodeEvent(row)
		if err != nil {
			return nil, err
		}
		at[row.OrderID].History = append(at[row.OrderID].History, e)
	}
	drafts, err := s.store.DraftGeometries(ctx, caller.Shop, ids)
	if err != nil {
		return nil, err
	}
	for _, d := range drafts {
		at[d.OrderID].Patterns = append(at[d.OrderID].Patterns, d.Geometry)
	}
	rows, err := s.store.RefitsOfOrders(ctx, caller.Shop, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		refit, err := refitOrder(row)
		if err != nil {
			return nil, err
		}
		at[row.OrderID].Refits = append(at[row.OrderID].Refits, refit)
	}
	return exported, nil
}
