package legacy

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service/webhooks"
)

// CancelForErasure implements customers.Orders, in three statements.
func (s *Service) CancelForErasure(
	ctx context.Context, tx *db.Tx, caller Caller, customer uuid.UUID, at time.Time,
) (int, error) {
	rows, err := tx.CancelCustomerOrders(ctx, query.CancelCustomerOrdersParams{
		ShopID: caller.Shop, CustomerID: customer, Reason: reasonErased, At: at,
		Actor: caller.Actor(), RequestID: optional(caller.RequestID),
	})
	if err != nil || len(rows) == 0 {
		return 0, err
	}
	news := query.AddOrderMessagesParams{ShopID: caller.Shop, Type: string(eventCancelled), At: at}
	for _, row := range rows {
		o := Order{
			ID: row.ID, Reference: row.Reference, Status: StatusCancelled, Reason: reasonErased, Revision: row.Revision,
		}
		news.OrderIds = append(news.OrderIds, row.ID)
		news.Bodies = append(news.Bodies, webhooks.Event{Type: eventCancelled, Timestamp: at, Data: s.orderData(o)}.Body())
	}
	messages, err := tx.AddOrderMessages(ctx, news)
	if err != nil {
		return 0, err
	}
	var jobs jobList
	for _, m := range messages {
		jobs = append(jobs, webhooks.Delivery{MessageID: m.ID})
	}
	return len(rows), s.enqueue(ctx, tx, jobs)
}

// ExportedOrder is an order with its history, the geometry of every draft, and
// what refits compared of it.
type ExportedOrder struct {
	Order    Order
	History  []OrderEvent
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
		orders, next, err := s.Orders(ctx, caller, OrderFilter{CustomerID: customer}, page)
		if err != nil {
			return err
		}
		exported, err := s.exportPage(ctx, caller, orders)
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
func (s *Service) exportPage(ctx context.Context, caller Caller, orders []Order) ([]ExportedOrder, error) {
	ids := make([]uuid.UUID, len(orders))
	exported := make([]ExportedOrder, len(orders))
	at := map[uuid.UUID]*ExportedOrder{}
	for i, o := range orders {
		ids[i], exported[i].Order, exported[i].Patterns = o.ID, o, []json.RawMessage{}
		at[o.ID] = &exported[i]
	}
	events, err := s.store.OrderEvents(ctx, caller.Shop, ids...)
	if err != nil {
		return nil, err
	}
	for _, e := range events {
		at[e.OrderID].History = append(at[e.OrderID].History, e)
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
