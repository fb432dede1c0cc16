package orders

import (
	"slices"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/service/webhooks"
)

// Links returns an order's addresses, with that of its pattern while it is
// ready.
func (s *Service) Links(o Order) webhooks.OrderLinks {
	l := webhooks.OrderLinks{Order: s.PublicURL + "/v1/orders/" + o.ID.String()}
	if o.Status == Ready {
		l.PatternPDF = l.Order + "/pattern.pdf"
	}
	return l
}

// Message tells a shop's endpoints of something that happened to an order.
func (s *Service) Message(shop uuid.UUID, t webhooks.EventType, o Order, at time.Time) *query.QueueMessagesParams {
	return s.message(shop, t, o, at, webhooks.EventData{})
}

// progressMessage also says how far the garment is made, and was before.
func (s *Service) progressMessage(
	shop uuid.UUID, t webhooks.EventType, o Order, previous Progress, at time.Time,
) *query.QueueMessagesParams {
	var also webhooks.EventData
	if previous != "" {
		also.Progress, also.PreviousProgress = string(o.Progress), string(previous)
	}
	return s.message(shop, t, o, at, also)
}

// RevisedMessage also names the draft that the new one follows, and the refit
// that had it made.
func (s *Service) RevisedMessage(
	shop uuid.UUID, t webhooks.EventType, o Order, previous int, refit *uuid.UUID, at time.Time,
) *query.QueueMessagesParams {
	return s.message(shop, t, o, at, webhooks.EventData{PreviousRevision: previous, RefitID: refit})
}

// message tells of an event with what every message of an order has, and more data.
func (s *Service) message(
	shop uuid.UUID, t webhooks.EventType, o Order, at time.Time, data webhooks.EventData,
) *query.QueueMessagesParams {
	links := s.Links(o)
	data.OrderID, data.Reference, data.Status, data.ReasonCodes = &o.ID, o.Reference, string(o.Status), o.reasonCodes()
	data.Revision, data.Test, data.Links = o.Revision, o.Spec.Test, &links
	if data.FittingID != nil {
		links.Fitting = s.PublicURL + "/v1/fittings/" + data.FittingID.String()
	}
	body := webhooks.Event{Type: t, Timestamp: at, Data: data}.Body()
	return &query.QueueMessagesParams{ShopID: shop, Type: string(t), OrderID: &o.ID, Body: body, At: at}
}

// reasonCodes lists the codes of why an order is held or has failed.
func (o Order) reasonCodes() []string {
	if o.Status != Held && o.Status != Failed {
		return nil
	}
	codes := []string{string(o.Reason)}
	for _, f := range o.Faults {
		if !slices.Contains(codes, string(f.Code)) {
			codes = append(codes, string(f.Code))
		}
	}
	return codes
}
