package legacy

import (
	"slices"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service/webhooks"
)

type eventType = webhooks.EventType

const (
	eventReceived  = webhooks.OrderReceived
	eventHeld      = webhooks.OrderHeld
	eventReady     = webhooks.OrderReady
	eventRevised   = webhooks.OrderRevised
	eventCancelled = webhooks.OrderCancelled
	eventFailed    = webhooks.OrderFailed
)

// OrderLinks are the addresses at which an order is read.
type OrderLinks = webhooks.OrderLinks

// LinksTo gives an order's addresses; that of its pattern while it is ready.
func (s *Service) LinksTo(o Order) OrderLinks {
	l := OrderLinks{Order: s.cfg.PublicURL + "/v1/orders/" + o.ID.String()}
	if o.Status == StatusReady {
		l.PatternPDF = l.Order + "/pattern.pdf"
	}
	return l
}

// orderMessage tells of something that happened to an order.
func (s *Service) orderMessage(shop uuid.UUID, t eventType, o Order, at time.Time) *db.NewMessage {
	data := s.orderData(o)
	return &db.NewMessage{ShopID: shop, Type: string(t), OrderID: &o.ID, Body: webhooks.Event{Type: t, Timestamp: at, Data: data}.Body(), At: at}
}

// revisedMessage also tells which draft the new one follows.
func (s *Service) revisedMessage(shop uuid.UUID, o Order, previous int, at time.Time) *db.NewMessage {
	data := s.orderData(o)
	data.PreviousRevision = previous
	return &db.NewMessage{ShopID: shop, Type: string(eventRevised), OrderID: &o.ID, Body: webhooks.Event{Type: eventRevised, Timestamp: at, Data: data}.Body(), At: at}
}

// refittedMessage tells of a new draft that a refit had made.
func (s *Service) refittedMessage(shop uuid.UUID, o Order, previous int, refit uuid.UUID, at time.Time) *db.NewMessage {
	data := s.orderData(o)
	data.PreviousRevision, data.RefitID = previous, &refit
	return &db.NewMessage{ShopID: shop, Type: string(eventRevised), OrderID: &o.ID, Body: webhooks.Event{Type: eventRevised, Timestamp: at, Data: data}.Body(), At: at}
}

func (s *Service) orderData(o Order) webhooks.EventData {
	links := s.LinksTo(o)
	return webhooks.EventData{OrderID: &o.ID, Reference: o.Reference, Status: string(o.Status), ReasonCodes: o.reasonCodes(), Revision: o.Revision, Links: &links}
}

// reasonCodes are the codes of why an order is held or has failed.
func (o Order) reasonCodes() []string {
	if o.Status != StatusHeld && o.Status != StatusFailed {
		return nil
	}
	codes := []string{o.Reason}
	for _, f := range o.Faults {
		if !slices.Contains(codes, string(f.Code)) {
			codes = append(codes, string(f.Code))
		}
	}
	return codes
}
