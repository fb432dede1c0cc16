package api

import (
	"cmp"
	"context"
	"strings"
	"time"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"tapeline/service"
	"tapeline/service/orders"
)

// CreateOrder creates an order.
func (s *Server) CreateOrder(ctx context.Context, r CreateOrderRequestObject) (CreateOrderResponseObject, error) {
	n, err := newOrder(*r.Body)
	if err != nil {
		return nil, err
	}
	o, err := s.service.Orders.Create(ctx, callerOf(ctx), n, idempotencyKey(r.Params.IdempotencyKey))
	if err != nil {
		return nil, err
	}
	body := s.order(o)
	return CreateOrder201JSONResponse{
		Body:    body,
		Headers: CreateOrder201ResponseHeaders{Location: "/v1/orders/" + body.ID.String()},
	}, nil
}

// idempotencyKey takes the quotes off a structured field string (RFC 8941); a
// bare key is taken as it is.
func idempotencyKey(header string) string {
	if len(header) > 2 && strings.HasPrefix(header, `"`) && strings.HasSuffix(header, `"`) {
		return header[1 : len(header)-1]
	}
	return header
}

// newOrder converts an order of the contract. Which fields go together is
// declared there too, in x-oapi-codegen-extra-tags.
func newOrder(b NewOrder) (orders.NewOrder, error) {
	if err := checkTogether(b); err != nil {
		return orders.NewOrder{}, err
	}
	n := orders.NewOrder{
		Reference: b.Reference, CustomerID: b.CustomerID, MeasurementSetID: b.MeasurementSetID, Date: dateText(b.Date),
		StyleRevision: b.StyleRevision, DueDate: b.DueDate.Time,
		Input: orders.Input{Unit: string(b.Unit), Measurements: b.Measurements, Block: b.Block, Style: b.Style, Fit: b.Fit,
			Choices: b.Choices, Ease: b.Ease, Allowances: b.Allowances},
	}
	if b.Customer != nil {
		d := customerDetails(*b.Customer)
		n.Customer = &d
	}
	return n, nil
}

func dateText(d Date) string {
	if d.IsZero() {
		return ""
	}
	return d.Format(time.DateOnly)
}

// GetOrder reads an order.
func (s *Server) GetOrder(ctx context.Context, r GetOrderRequestObject) (GetOrderResponseObject, error) {
	o, err := s.service.Orders.Get(ctx, callerOf(ctx), r.OrderID)
	return GetOrder200JSONResponse(s.order(o)), err
}

// HoldOrder holds an order.
func (s *Server) HoldOrder(ctx context.Context, r HoldOrderRequestObject) (HoldOrderResponseObject, error) {
	o, err := s.service.Orders.Hold(ctx, callerOf(ctx), r.OrderID, r.Body.Reason)
	return HoldOrder200JSONResponse(s.order(o)), err
}

// ConfirmOrder releases a held order.
func (s *Server) ConfirmOrder(ctx context.Context, r ConfirmOrderRequestObject) (ConfirmOrderResponseObject, error) {
	o, err := s.service.Orders.Confirm(ctx, callerOf(ctx), r.OrderID, r.Body.MeasurementSetID, r.Body.Reason)
	return ConfirmOrder200JSONResponse(s.order(o)), err
}

// ReviseOrder has an order drafted again with changes.
func (s *Server) ReviseOrder(ctx context.Context, r ReviseOrderRequestObject) (ReviseOrderResponseObject, error) {
	b := *r.Body
	if err := checkTogether(b); err != nil {
		return nil, err
	}
	o, err := s.service.Orders.Revise(ctx, callerOf(ctx), r.OrderID, orders.Change{
		MeasurementSetID: b.MeasurementSetID, Style: b.Style, StyleRevision: b.StyleRevision, Unit: string(b.Unit),
		Fit:     b.Fit,
		Choices: b.Choices, Ease: b.Ease, Allowances: b.Allowances, Reason: b.Reason,
	})
	return ReviseOrder200JSONResponse(s.order(o)), err
}

// CancelOrder cancels an order.
func (s *Server) CancelOrder(ctx context.Context, r CancelOrderRequestObject) (CancelOrderResponseObject, error) {
	o, err := s.service.Orders.Cancel(ctx, callerOf(ctx), r.OrderID, r.Body.Reason)
	return CancelOrder200JSONResponse(s.order(o)), err
}

// SetOrderProgress records how far an order's garment is made.
func (s *Server) SetOrderProgress(
	ctx context.Context, r SetOrderProgressRequestObject,
) (SetOrderProgressResponseObject, error) {
	o, err := s.service.Orders.SetProgress(ctx, callerOf(ctx), r.OrderID, orders.Progress(r.Body.Progress), r.Body.Reason)
	return SetOrderProgress200JSONResponse(s.order(o)), err
}

// GetOrderHistory lists what happened to an order.
func (s *Server) GetOrderHistory(
	ctx context.Context, r GetOrderHistoryRequestObject,
) (GetOrderHistoryResponseObject, error) {
	events, err := s.service.Orders.History(ctx, callerOf(ctx), r.OrderID)
	return GetOrderHistory200JSONResponse{Items: each(events, orderEvent)}, err
}

// order converts an order to the contract's.
func (s *Server) order(o orders.Order) Order {
	links, in := s.service.Orders.Links(o), o.Spec.Input()
	return Order{
		ID: o.ID, Reference: o.Reference, Status: OrderStatus(o.Status), Reasons: reasons(o),
		CustomerID: o.CustomerID, MeasurementSetID: o.MeasurementSetID, Source: OrderSource(o.Source),
		Date: date(o.Spec.Date), Unit: Unit(in.Unit), Block: in.Block, Style: in.Style, Fit: in.Fit,
		StyleRevision: o.Spec.StyleRevision, StyleHash: o.Spec.StyleHash,
		Choices: filled(in.Choices), Ease: filled(in.Ease), Allowances: filled(in.Allowances),
		Revision: o.Revision, AlterationSetID: deref(o.AlterationsID), Progress: Progress(o.Progress),
		DueDate: Date{Time: o.DueDate}, Assignee: o.Assignee, Note: o.Note,
		Test: o.Spec.Test, CreatedAt: o.CreatedAt, UpdatedAt: o.UpdatedAt,
		Links: OrderLinks{Order: links.Order, PatternPDF: links.PatternPDF},
	}
}

func reasons(o orders.Order) []Reason {
	if o.Reason == "" {
		return nil
	}
	return append([]Reason{{Code: string(o.Reason), Detail: o.Reason.Detail()}}, faultReasons(o.Faults)...)
}

func faultReasons(faults service.Faults) []Reason {
	var list []Reason
	for _, f := range faults {
		r := Reason{Code: string(f.Code), Detail: f.Accepted, Explanation: Explanation(f.Explanation), Line: f.Line}
		if f.Field != "" {
			r.Pointer = fragment(f.Field)
		}
		list = append(list, r)
	}
	return list
}

func orderEvent(e orders.Event) OrderEvent {
	return OrderEvent{Event: OrderEventEvent(e.Event), Status: OrderStatus(e.Status), At: e.At, By: deref(e.Actor),
		Revision: deref(e.Revision), RefitID: deref(e.RefitID), Reason: e.Reason,
		Confirmed: each(e.Confirmed, func(c orders.Confirmed) ConfirmedNumber {
			return ConfirmedNumber{Pointer: fragment(c.Field), Explanation: Explanation(c.Explanation)}
		})}
}

func date(text string) Date {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return Date{}
	}
	return openapi_types.Date{Time: t}
}

// AskCustomer creates the address of a question to the customer.
func (s *Server) AskCustomer(ctx context.Context, r AskCustomerRequestObject) (AskCustomerResponseObject, error) {
	lasts := time.Duration(cmp.Or(r.Body.ExpiresIn, defaultLinkSeconds)) * time.Second
	url, expires, err := s.service.Orders.Ask(ctx, callerOf(ctx), r.OrderID, lasts)
	return AskCustomer201JSONResponse{URL: url, ExpiresAt: expires}, err
}
