package api

import (
	"cmp"
	"context"
	"encoding/json"
	"strings"
	"time"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"tapeline/drafting/fault"
	service "tapeline/service/legacy"
)

// CreateOrder places an order.
func (s *Server) CreateOrder(ctx context.Context, r CreateOrderRequestObject) (CreateOrderResponseObject, error) {
	n, err := newOrder(*r.Body)
	if err != nil {
		return nil, err
	}
	o, err := s.service.CreateOrder(ctx, callerOf(ctx), n, idempotencyKey(r.Params.IdempotencyKey))
	if err != nil {
		return nil, err
	}
	body := s.order(o)
	return CreateOrder201JSONResponse{Body: body, Headers: CreateOrder201ResponseHeaders{Location: "/v1/orders/" + body.ID.String()}}, nil
}

// idempotencyKey takes the quotes off a structured field string (RFC 8941); a
// bare key is taken as it is.
func idempotencyKey(header string) string {
	if len(header) > 2 && strings.HasPrefix(header, `"`) && strings.HasSuffix(header, `"`) {
		return header[1 : len(header)-1]
	}
	return header
}

// newOrder reads an order of the contract. Which fields go together is
// declared there too, in x-oapi-codegen-extra-tags.
func newOrder(b NewOrder) (service.NewOrder, error) {
	if err := checkTogether(b); err != nil {
		return service.NewOrder{}, err
	}
	n := service.NewOrder{
		Reference:        b.Reference,
		CustomerID:       b.CustomerID,
		MeasurementSetID: b.MeasurementSetID,
		Measurements:     b.Measurements,
		Spec: service.Spec{Unit: string(b.Unit), Date: dateText(b.Date), Block: blockOf(b.Block, b.Style), Style: b.Style, StyleRevision: b.StyleRevision,
			Fit: b.Fit, Choices: b.Choices, Ease: b.Ease, Allowances: b.Allowances},
	}
	if b.Customer != nil {
		d := customerDetails(*b.Customer)
		n.Customer = &d
	}
	return n, nil
}

// blockOf is the block of a request that may name a style instead, or neither.
func blockOf(block, style string) string {
	if block == "" && style == "" {
		return "torso"
	}
	return block
}

func dateText(d Date) string {
	if d.IsZero() {
		return ""
	}
	return d.Format(time.DateOnly)
}

// ListOrders lists orders.
func (s *Server) ListOrders(ctx context.Context, r ListOrdersRequestObject) (ListOrdersResponseObject, error) {
	p := r.Params
	page, err := pageOf(p.Limit, p.Cursor)
	if err != nil {
		return nil, err
	}
	orders, next, err := s.service.Orders(ctx, callerOf(ctx), service.OrderFilter{
		Status: string(p.Status), Reference: p.Reference, CustomerID: p.CustomerID, Block: p.Block, Style: p.Style,
		CreatedFrom: p.CreatedFrom, CreatedBefore: p.CreatedBefore,
	}, page)
	if err != nil {
		return nil, err
	}
	return ListOrders200JSONResponse{Items: each(orders, s.order), NextCursor: cursorOf(next)}, nil
}

// GetOrder reads an order.
func (s *Server) GetOrder(ctx context.Context, r GetOrderRequestObject) (GetOrderResponseObject, error) {
	o, err := s.service.Order(ctx, callerOf(ctx), r.OrderID)
	return GetOrder200JSONResponse(s.order(o)), err
}

// HoldOrder holds an order.
func (s *Server) HoldOrder(ctx context.Context, r HoldOrderRequestObject) (HoldOrderResponseObject, error) {
	o, err := s.service.HoldOrder(ctx, callerOf(ctx), r.OrderID, r.Body.Reason)
	return HoldOrder200JSONResponse(s.order(o)), err
}

// ConfirmOrder releases a held order.
func (s *Server) ConfirmOrder(ctx context.Context, r ConfirmOrderRequestObject) (ConfirmOrderResponseObject, error) {
	o, err := s.service.ConfirmOrder(ctx, callerOf(ctx), r.OrderID, r.Body.MeasurementSetID, r.Body.Reason)
	return ConfirmOrder200JSONResponse(s.order(o)), err
}

// ReviseOrder has an order drafted again with changes.
func (s *Server) ReviseOrder(ctx context.Context, r ReviseOrderRequestObject) (ReviseOrderResponseObject, error) {
	b := *r.Body
	if err := checkTogether(b); err != nil {
		return nil, err
	}
	o, err := s.service.ReviseOrder(ctx, callerOf(ctx), r.OrderID, service.Revision{
		MeasurementSetID: b.MeasurementSetID, Style: b.Style, StyleRevision: b.StyleRevision, Unit: string(b.Unit), Fit: b.Fit,
		Choices: b.Choices, Ease: b.Ease, Allowances: b.Allowances, Note: b.Reason,
	})
	return ReviseOrder200JSONResponse(s.order(o)), err
}

// CancelOrder cancels an order.
func (s *Server) CancelOrder(ctx context.Context, r CancelOrderRequestObject) (CancelOrderResponseObject, error) {
	o, err := s.service.CancelOrder(ctx, callerOf(ctx), r.OrderID, r.Body.Reason)
	return CancelOrder200JSONResponse(s.order(o)), err
}

// SetOrderProgress records how far an order's garment is made.
func (s *Server) SetOrderProgress(ctx context.Context, r SetOrderProgressRequestObject) (SetOrderProgressResponseObject, error) {
	o, err := s.service.MarkOrder(ctx, callerOf(ctx), r.OrderID, service.Making(r.Body.Progress), r.Body.Reason)
	return SetOrderProgress200JSONResponse(s.order(o)), err
}

// GetOrderHistory tells what happened to an order.
func (s *Server) GetOrderHistory(ctx context.Context, r GetOrderHistoryRequestObject) (GetOrderHistoryResponseObject, error) {
	events, err := s.service.OrderHistory(ctx, callerOf(ctx), r.OrderID)
	return GetOrderHistory200JSONResponse{Items: each(events, orderEvent)}, err
}

// order writes an order as the contract does.
func (s *Server) order(o service.Order) Order {
	links := s.service.LinksTo(o)
	return Order{
		ID: o.ID, Reference: o.Reference, Status: OrderStatus(o.Status), Reasons: reasons(o),
		CustomerID: o.CustomerID, MeasurementSetID: o.MeasurementSetID, Source: OrderSource(o.Source),
		Date: date(o.Spec.Date), Unit: Unit(o.Spec.Unit), Block: o.Spec.Block, Style: o.Spec.Style, StyleRevision: o.Spec.StyleRevision, StyleHash: o.Spec.StyleHash, Fit: o.Spec.Fit,
		Choices: filled(o.Spec.Choices), Ease: filled(o.Spec.Ease), Allowances: filled(o.Spec.Allowances),
		Revision: o.Revision, AlterationSetID: deref(o.AlterationsID), Progress: Progress(cmp.Or(o.Making, service.Uncut)), CreatedAt: o.CreatedAt, UpdatedAt: o.UpdatedAt,
		Links: OrderLinks{Order: links.Order, PatternPDF: links.PatternPDF},
	}
}

// reasonDetails say in words why an order is held, has failed or was
// cancelled, where no fault says it better.
var reasonDetails = map[string]string{
	"by_request":      "somebody asked for it, see the order's history",
	"undraftable":     "the block cannot be drafted to these measurements",
	"implausible":     "some measurements do not go together: confirm the order, or confirm it with another measurement set",
	"check_failed":    "the draft did not measure back as it should",
	"style_failed":    "the style's script goes wrong on these measurements and choices",
	"internal":        "drafting failed on our side; revise the order to try again",
	"customer_erased": "the customer's data was erased",
}

func reasons(o service.Order) []Reason {
	if o.Reason == "" {
		return nil
	}
	return append([]Reason{{Code: o.Reason, Detail: reasonDetails[o.Reason]}}, faultReasons(o.Faults)...)
}

func faultReasons(faults fault.List) []Reason {
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

func orderEvent(e service.OrderEvent) OrderEvent {
	w := OrderEvent{Event: OrderEventEvent(e.Event), Status: OrderStatus(e.ToStatus), At: e.At, By: deref(e.Actor), Revision: deref(e.Revision), RefitID: deref(e.RefitID)}
	var confirmed []service.Confirmed
	if e.Confirmed != nil && json.Unmarshal(e.Confirmed, &confirmed) == nil { // written by us
		w.Confirmed = each(confirmed, func(c service.Confirmed) ConfirmedNumber {
			return ConfirmedNumber{Pointer: fragment(c.Field), Explanation: Explanation(c.Explanation)}
		})
	}
	switch {
	case e.Note != nil:
		w.Reason = *e.Note
	case e.ReasonCode != nil:
		w.Reason = *e.ReasonCode
	}
	return w
}

func date(text string) Date {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return Date{}
	}
	return openapi_types.Date{Time: t}
}
