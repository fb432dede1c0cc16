package api

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"tapeline/service/webhooks"
)

// CreateWebhookEndpoint registers an endpoint.
func (s *Server) CreateWebhookEndpoint(
	ctx context.Context, r CreateWebhookEndpointRequestObject,
) (CreateWebhookEndpointResponseObject, error) {
	e, secret, err := s.service.Webhooks.CreateEndpoint(ctx, callerOf(ctx),
		webhooks.NewEndpoint{URL: r.Body.URL, Events: events(r.Body.Events), Description: r.Body.Description})
	return CreateWebhookEndpoint201JSONResponse{
		Body:    WebhookEndpointWithSecret{Endpoint: endpoint(e), Secret: secret},
		Headers: CreateWebhookEndpoint201ResponseHeaders{Location: "/v1/webhook-endpoints/" + e.ID.String()},
	}, err
}

// ListWebhookEndpoints lists endpoints.
func (s *Server) ListWebhookEndpoints(
	ctx context.Context, _ ListWebhookEndpointsRequestObject,
) (ListWebhookEndpointsResponseObject, error) {
	endpoints, err := s.service.Webhooks.Endpoints(ctx, callerOf(ctx))
	return ListWebhookEndpoints200JSONResponse{Items: each(endpoints, endpoint)}, err
}

// GetWebhookEndpoint reads an endpoint.
func (s *Server) GetWebhookEndpoint(
	ctx context.Context, r GetWebhookEndpointRequestObject,
) (GetWebhookEndpointResponseObject, error) {
	e, err := s.service.Webhooks.Endpoint(ctx, callerOf(ctx), r.EndpointID)
	return GetWebhookEndpoint200JSONResponse(endpoint(e)), err
}

// UpdateWebhookEndpoint changes an endpoint.
func (s *Server) UpdateWebhookEndpoint(
	ctx context.Context, r UpdateWebhookEndpointRequestObject,
) (UpdateWebhookEndpointResponseObject, error) {
	b := r.Body
	e, err := s.service.Webhooks.UpdateEndpoint(ctx, callerOf(ctx), r.EndpointID, webhooks.EndpointChanges{
		URL: b.URL, Events: events(b.Events), Description: b.Description, Enabled: b.Enabled})
	return UpdateWebhookEndpoint200JSONResponse(endpoint(e)), err
}

// DeleteWebhookEndpoint removes an endpoint.
func (s *Server) DeleteWebhookEndpoint(
	ctx context.Context, r DeleteWebhookEndpointRequestObject,
) (DeleteWebhookEndpointResponseObject, error) {
	return DeleteWebhookEndpoint204Response{}, s.service.Webhooks.DeleteEndpoint(ctx, callerOf(ctx), r.EndpointID)
}

// RotateWebhookSecret gives an endpoint a new secret.
func (s *Server) RotateWebhookSecret(
	ctx context.Context, r RotateWebhookSecretRequestObject,
) (RotateWebhookSecretResponseObject, error) {
	e, secret, err := s.service.Webhooks.RotateEndpointSecret(ctx, callerOf(ctx), r.EndpointID,
		overlap(r.Body.OverlapSeconds))
	return RotateWebhookSecret200JSONResponse{Endpoint: endpoint(e), Secret: secret}, err
}

// overlap is how long both secrets sign after a rotation, a day by default.
func overlap(seconds *int) time.Duration {
	if seconds == nil {
		return 24 * time.Hour
	}
	return time.Duration(*seconds) * time.Second
}

// TestWebhookEndpoint sends a test message.
func (s *Server) TestWebhookEndpoint(
	ctx context.Context, r TestWebhookEndpointRequestObject,
) (TestWebhookEndpointResponseObject, error) {
	m, err := s.service.Webhooks.TestEndpoint(ctx, callerOf(ctx), r.EndpointID)
	return TestWebhookEndpoint202JSONResponse(message(m)), err
}

func events(list []SubscribableEvent) []webhooks.EventType {
	if list == nil {
		return nil
	}
	return each(list, func(e SubscribableEvent) webhooks.EventType { return webhooks.EventType(e) })
}

func endpoint(e webhooks.Endpoint) WebhookEndpoint {
	return WebhookEndpoint{
		ID: e.ID, URL: e.URL, Description: e.Description, Enabled: e.Enabled(), DisabledReason: deref(e.DisabledReason),
		Events:       each(e.Events, func(t webhooks.EventType) SubscribableEvent { return SubscribableEvent(t) }),
		FailingSince: deref(e.FailingSince), PausedUntil: deref(e.PausedUntil),
		PreviousSecretUntil: deref(e.PreviousSecretUntil), CreatedAt: e.CreatedAt, UpdatedAt: e.UpdatedAt,
	}
}

// ListWebhookMessages lists messages.
func (s *Server) ListWebhookMessages(
	ctx context.Context, r ListWebhookMessagesRequestObject,
) (ListWebhookMessagesResponseObject, error) {
	p := r.Params
	page, err := pageOf(p.Limit, p.Cursor)
	if err != nil {
		return nil, err
	}
	messages, next, err := s.service.Webhooks.Messages(ctx, callerOf(ctx), webhooks.Filter{
		Type: webhooks.EventType(p.Type), Status: string(p.Status), EndpointID: p.EndpointID, OrderID: p.OrderID}, page)
	return ListWebhookMessages200JSONResponse{Items: each(messages, message), NextCursor: cursorOf(next)}, err
}

// GetWebhookMessage reads a message.
func (s *Server) GetWebhookMessage(
	ctx context.Context, r GetWebhookMessageRequestObject,
) (GetWebhookMessageResponseObject, error) {
	m, err := s.service.Webhooks.Message(ctx, callerOf(ctx), r.MessageID)
	return GetWebhookMessage200JSONResponse(message(m)), err
}

// ReplayWebhookMessage delivers a message again.
func (s *Server) ReplayWebhookMessage(
	ctx context.Context, r ReplayWebhookMessageRequestObject,
) (ReplayWebhookMessageResponseObject, error) {
	m, err := s.service.Webhooks.ReplayMessage(ctx, callerOf(ctx), r.MessageID)
	return ReplayWebhookMessage202JSONResponse(message(m)), err
}

func message(m webhooks.Message) WebhookMessage {
	return WebhookMessage{ID: m.ID, Type: EventType(m.Type), EndpointID: m.EndpointID, OrderID: deref(m.OrderID),
		Status:   MessageStatus(m.Status),
		Attempts: m.Attempts, NextAttemptAt: deref(m.NextAttemptAt), SettledAt: deref(m.SettledAt), CreatedAt: m.CreatedAt,
		Body: event(m.Body)}
}

func event(e webhooks.Event) WebhookEvent {
	d := e.Data
	w := WebhookEvent{Type: EventType(e.Type), Timestamp: e.Timestamp, Data: WebhookData{
		OrderID: deref(d.OrderID), Reference: d.Reference, Status: OrderStatus(d.Status), ReasonCodes: d.ReasonCodes,
		Revision: d.Revision, PreviousRevision: d.PreviousRevision, Progress: Progress(d.Progress),
		PreviousProgress: Progress(d.PreviousProgress), RefitID: deref(d.RefitID), FittingID: deref(d.FittingID),
		Test: d.Test, EndpointID: deref(d.EndpointID)}}
	if d.Links != nil {
		w.Data.Links = OrderLinks(*d.Links)
	}
	return w
}

// ListWebhookAttempts lists the attempts at a message.
func (s *Server) ListWebhookAttempts(
	ctx context.Context, r ListWebhookAttemptsRequestObject,
) (ListWebhookAttemptsResponseObject, error) {
	attempts, err := s.service.Webhooks.Attempts(ctx, callerOf(ctx), r.MessageID)
	return ListWebhookAttempts200JSONResponse{Items: each(attempts, func(a webhooks.Attempt) WebhookAttempt {
		return WebhookAttempt{Number: a.Number, Outcome: a.Outcome, HTTPStatus: a.HTTPStatus, Error: a.Error,
			StartedAt: a.StartedAt, DurationMs: a.DurationMS}
	})}, err
}

// verifyInbound checks the signature of an inbound message, over the body as
// it came and before anything else looks at it.
func (s *Server) verifyInbound(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if operationOf(c).id != "receiveOrder" {
			return next(c)
		}
		r := c.Request()
		shop, err := shopParameter(r)
		if err != nil {
			return err
		}
		body, err := io.ReadAll(http.MaxBytesReader(nil, r.Body, maxBody))
		if err != nil {
			return tooLarge(maxBody)
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		caller, err := s.service.Webhooks.VerifyInbound(r.Context(), shop, r.Header, body)
		if err != nil {
			return err
		}
		caller.RequestID = requestID(c)
		c.SetRequest(r.WithContext(context.WithValue(r.Context(), callerKey{}, caller)))
		return next(c)
	}
}

// ReceiveOrder makes an order of a verified message.
func (s *Server) ReceiveOrder(ctx context.Context, r ReceiveOrderRequestObject) (ReceiveOrderResponseObject, error) {
	n, err := newOrder(r.Body.Data)
	if err != nil {
		return nil, under("/data", err)
	}
	o, err := s.service.Orders.Receive(ctx, callerOf(ctx), r.Params.WebhookID, n)
	if err != nil {
		return nil, under("/data", err)
	}
	body := s.order(o)
	return ReceiveOrder201JSONResponse{
		Body:    body,
		Headers: ReceiveOrder201ResponseHeaders{Location: "/v1/orders/" + body.ID.String()},
	}, nil
}

// GetInbound tells where the shop's platform posts.
func (s *Server) GetInbound(ctx context.Context, _ GetInboundRequestObject) (GetInboundResponseObject, error) {
	in, err := s.service.Webhooks.Inbound(ctx, callerOf(ctx))
	return GetInbound200JSONResponse(inbound(in)), err
}

// RotateInboundSecret makes a new inbound secret.
func (s *Server) RotateInboundSecret(
	ctx context.Context, r RotateInboundSecretRequestObject,
) (RotateInboundSecretResponseObject, error) {
	in, secret, err := s.service.Webhooks.RotateInboundSecret(ctx, callerOf(ctx), overlap(r.Body.OverlapSeconds))
	return RotateInboundSecret200JSONResponse{Inbound: inbound(in), Secret: secret}, err
}

// RemoveInboundSecret stops the taking of inbound messages.
func (s *Server) RemoveInboundSecret(
	ctx context.Context, _ RemoveInboundSecretRequestObject,
) (RemoveInboundSecretResponseObject, error) {
	return RemoveInboundSecret204Response{}, s.service.Webhooks.RemoveInboundSecret(ctx, callerOf(ctx))
}

func inbound(in webhooks.Inbound) Inbound {
	return Inbound{URL: in.URL, Enabled: in.Enabled, PreviousSecretUntil: deref(in.PreviousSecretUntil)}
}
