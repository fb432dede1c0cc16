package legacy

import (
	"encoding/json"
	"slices"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
)

// eventType is what a webhook message tells of.
type eventType string

const (
	eventReceived  eventType = "order.received"
	eventHeld      eventType = "order.held"
	eventReady     eventType = "order.ready"
	eventRevised   eventType = "order.revised"
	eventCancelled eventType = "order.cancelled"
	eventFailed    eventType = "order.failed"
	eventTest      eventType = "endpoint.test"
)

// EventTypes are those that an endpoint can listen for.
func EventTypes() []string {
	return []string{string(eventReceived), string(eventHeld), string(eventReady), string(eventRevised), string(eventCancelled), string(eventFailed)}
}

// event is the body of a message: the contract's WebhookEvent. It has ids and
// links, never measurements or names.
type event struct {
	Type      eventType `json:"type"`
	Timestamp time.Time `json:"timestamp"`
	Data      eventData `json:"data"`
}

type eventData struct {
	OrderID          *uuid.UUID  `json:"order_id,omitempty"`
	Reference        string      `json:"reference,omitempty"`
	Status           Status      `json:"status,omitempty"`
	ReasonCodes      []string    `json:"reason_codes,omitempty"`
	Revision         int         `json:"revision,omitempty"`
	PreviousRevision int         `json:"previous_revision,omitempty"`
	Links            *OrderLinks `json:"links,omitempty"`
	RefitID          *uuid.UUID  `json:"refit_id,omitempty"`
	EndpointID       *uuid.UUID  `json:"endpoint_id,omitempty"`
}

// OrderLinks are the addresses at which an order is read.
type OrderLinks struct {
	Order      string `json:"order"`
	PatternPDF string `json:"pattern_pdf,omitempty"`
}

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
	return &db.NewMessage{ShopID: shop, Type: string(t), OrderID: &o.ID, Body: t.body(data, at), At: at}
}

// revisedMessage also tells which draft the new one follows.
func (s *Service) revisedMessage(shop uuid.UUID, o Order, previous int, at time.Time) *db.NewMessage {
	data := s.orderData(o)
	data.PreviousRevision = previous
	return &db.NewMessage{ShopID: shop, Type: string(eventRevised), OrderID: &o.ID, Body: eventRevised.body(data, at), At: at}
}

// refittedMessage tells of a new draft that a refit had made.
func (s *Service) refittedMessage(shop uuid.UUID, o Order, previous int, refit uuid.UUID, at time.Time) *db.NewMessage {
	data := s.orderData(o)
	data.PreviousRevision, data.RefitID = previous, &refit
	return &db.NewMessage{ShopID: shop, Type: string(eventRevised), OrderID: &o.ID, Body: eventRevised.body(data, at), At: at}
}

func (s *Service) orderData(o Order) eventData {
	links := s.LinksTo(o)
	return eventData{OrderID: &o.ID, Reference: o.Reference, Status: o.Status, ReasonCodes: o.reasonCodes(), Revision: o.Revision, Links: &links}
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

// body writes an event of the type as it is signed and sent.
func (t eventType) body(data eventData, at time.Time) string {
	b, err := json.Marshal(event{Type: t, Timestamp: at, Data: data})
	if err != nil {
		panic(err) // plain data of ours
	}
	return string(b)
}
