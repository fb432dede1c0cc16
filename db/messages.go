package db

import (
	"time"

	"github.com/google/uuid"
)

// NewMessage is an event to tell a shop's endpoints of.
type NewMessage struct {
	ShopID  uuid.UUID
	Type    string
	OrderID *uuid.UUID // nil: a test message
	Body    string     // as signed and sent, less than 20 kB
	At      time.Time
}

// QueuedMessage is a message made for one endpoint, to be delivered.
type QueuedMessage struct {
	ID         uuid.UUID
	EndpointID uuid.UUID
}
