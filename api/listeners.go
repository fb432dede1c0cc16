package api

import (
	"context"
	"strings"
	"time"

	"tapeline/service/webhooks"
)

// CreateWebhookListener registers a listener.
func (s *Server) CreateWebhookListener(
	ctx context.Context, r CreateWebhookListenerRequestObject,
) (CreateWebhookListenerResponseObject, error) {
	e, secret, err := s.service.Webhooks.CreateListener(ctx, callerOf(ctx), r.Body.ForwardTo, events(r.Body.Events))
	return CreateWebhookListener201JSONResponse{Endpoint: endpoint(e), Secret: secret}, err
}

// DeleteWebhookListener ends a listener.
func (s *Server) DeleteWebhookListener(
	ctx context.Context, r DeleteWebhookListenerRequestObject,
) (DeleteWebhookListenerResponseObject, error) {
	return DeleteWebhookListener204Response{}, s.service.Webhooks.DeleteListener(ctx, callerOf(ctx), r.EndpointID)
}

// lookEvery is how often a call that waits looks for messages.
const lookEvery = 250 * time.Millisecond

// FetchWebhookMessages takes reports and waits for messages to forward.
func (s *Server) FetchWebhookMessages(
	ctx context.Context, r FetchWebhookMessagesRequestObject,
) (FetchWebhookMessagesResponseObject, error) {
	for _, report := range r.Body.Reports {
		if err := checkTogether(report); err != nil {
			return nil, err
		}
	}
	if _, busy := s.fetching.LoadOrStore(r.EndpointID, true); busy {
		return nil, &refusal{code: codeRateLimited, detail: "the listener has another call in progress"}
	}
	defer s.fetching.Delete(r.EndpointID)
	reports := each(r.Body.Reports, func(w WebhookReport) webhooks.Report {
		return webhooks.Report{Message: w.MessageID, Attempt: w.Attempt, Status: w.HTTPStatus, Error: w.Error,
			Duration: time.Duration(w.DurationMs) * time.Millisecond}
	})
	if err := s.service.Webhooks.Report(ctx, callerOf(ctx), r.EndpointID, reports); err != nil {
		return nil, err
	}
	end := time.After(min(time.Duration(r.Body.Wait)*time.Second, s.within/2))
	look := time.NewTicker(lookEvery)
	defer look.Stop()
	for {
		list, err := s.service.Webhooks.Fetch(ctx, r.EndpointID)
		if err != nil {
			return nil, err
		}
		if len(list) > 0 || s.stopping.Load() {
			return fetchedMessages(list), nil
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-end:
			return fetchedMessages(nil), nil
		case <-look.C:
		}
	}
}

func fetchedMessages(list []webhooks.Fetched) FetchWebhookMessages200JSONResponse {
	return FetchWebhookMessages200JSONResponse{Items: each(list, func(m webhooks.Fetched) FetchedWebhookMessage {
		headers := map[string]string{}
		for name := range m.Header {
			headers[strings.ToLower(name)] = m.Header.Get(name)
		}
		return FetchedWebhookMessage{ID: m.ID, Attempt: m.Attempt, Headers: headers, Body: m.Body}
	})}
}
