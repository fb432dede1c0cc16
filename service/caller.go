// Package service is the vocabulary that the use cases share: who calls, what
// is refused and why, pages of lists, and where times and IDs come from. The
// use cases are in the packages below it, one for each subject.
package service

import "github.com/google/uuid"

// Role says what an API key may be used for. The contract says which roles may
// call which operation.
type Role string

const (
	RoleShop  Role = "shop"  // the shop's backend
	RoleStaff Role = "staff" // the pattern cutter
	RoleAdmin Role = "admin" // keys, endpoints, erasure
)

// Roles returns all roles.
func Roles() []Role { return []Role{RoleShop, RoleStaff, RoleAdmin} }

// Caller identifies on whose behalf a use case runs.
type Caller struct {
	Shop      uuid.UUID
	Key       uuid.UUID // uuid.Nil: the service itself, the operator or an inbound message
	Role      Role
	RequestID string // for the audit trail
}

// Actor returns the caller's key as records store it: nil if there is none.
func (c Caller) Actor() *uuid.UUID {
	if c.Key == uuid.Nil {
		return nil
	}
	return &c.Key
}
