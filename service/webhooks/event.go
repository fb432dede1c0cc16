package webhooks

import (
	"encoding/json"
	"time"

	"github.com/google/uuid"
)

// EventType names what a message reports.
type EventType string

const (
	OrderReceived  EventType = "order.received"
	OrderHeld      EventType = "order.held"
	OrderReady     EventType = "order.ready"
	OrderRevised   EventType = "order.revised"
	OrderCancelled EventType = "order.cancelled"
	OrderFailed    EventType = "order.failed"
	OrderCut       EventType = "order.cut"
	OrderShipped   EventType = "order.shipped"
	OrderUncut     EventType = "order.uncut"   // marked as cut by mistake
	FittingReady   EventType = "fitting.ready" // an order's draft was tried on
	EndpointTest   EventType = "endpoint.test" // sent on request only
)

// EventTypes returns the types that an endpoint can subscribe to.
func EventTypes() []EventType {
	return []EventType{OrderReceived, OrderHeld, OrderReady, OrderRevised, OrderCancelled, OrderFailed, OrderCut,
		OrderShipped, OrderUncut, FittingReady}
}

// Event is the body of a message: the contract's WebhookEvent. It has IDs and
// links, never measurements or names.
type Event struct {
	Type      EventType `json:"type"`
	Timestamp time.Time `json:"timestamp"`
	Data      EventData `json:"data"`
}

// EventData says what an event is about.
type EventData struct {
	OrderID          *uuid.UUID  `json:"order_id,omitempty"`
	Reference        string      `json:"reference,omitempty"`
	Status           string      `json:"status,omitempty"`
	ReasonCodes      []string    `json:"reason_codes,omitempty"`
	Revision         int         `json:"revision,omitempty"`
	PreviousRevision int         `json:"previous_revision,omitempty"`
	Progress         string      `json:"progress,omitempty"`
	PreviousProgress string      `json:"previous_progress,omitempty"`
	Links            *OrderLinks `json:"links,omitempty"`
	RefitID          *uuid.UUID  `json:"refit_id,omitempty"`
	FittingID        *uuid.UUID  `json:"fitting_id,omitempty"`
	Test             bool        `json:"test,omitempty"` // the order was made with a test key
	EndpointID       *uuid.UUID  `json:"endpoint_id,omitempty"`
}

// OrderLinks are the URLs at which an order is read.
type OrderLinks struct {
	Fitting    string `json:"fitting,omitempty"`
	Order      string `json:"order"`
	PatternPDF string `json:"pattern_pdf,omitempty"`
}

// Body returns the event as it is signed and sent.
func (e Event) Body() string {
	b, err := json.Marshal(e)
	if err != nil {
		panic(err) // strings, numbers and times always marshal
	}
	return string(b)
}
