// Package service is the vocabulary that the use cases share: who calls, what
// is refused and why, pages of lists, and where times and IDs come from. The
// use cases are in the packages below it, one for each subject.
package service

import "github.com/google/uuid"

// Role says what an API key may be used for. The contract says which roles may
// call which operation.
type Role string

const (
	RolePublishable Role = "publishable" // pages in browsers, where anybody can read the key
	RoleShop        Role = "shop"        // the shop's backend
	RoleStaff       Role = "staff"       // the pattern cutter
	RoleAdmin       Role = "admin"       // keys, endpoints, erasure
)

// Roles returns all roles.
func Roles() []Role { return []Role{RolePublishable, RoleShop, RoleStaff, RoleAdmin} }

// Caller identifies on whose behalf a use case runs.
type Caller struct {
	Shop      uuid.UUID // whose orders and customers it sees
	Key       uuid.UUID // uuid.Nil: the service itself, the operator or an inbound message
	TestOf    uuid.UUID // of a test key: the shop that it belongs to, whose test shop is Shop; uuid.Nil: of any other
	TestShop  uuid.UUID // of any other key: the shop of the test orders; uuid.Nil: there is none
	Role      Role
	Origins   []string // of the pages that may use a publishable key
	RequestID string   // for the audit trail
}

// PublishedOnly reports whether the caller may see only what the shop shows everybody.
func (c Caller) PublishedOnly() bool { return c.Role == RolePublishable }

// Test reports whether the caller sees test orders and their customers only.
func (c Caller) Test() bool { return c.TestOf != uuid.Nil }

// Owner returns the shop whose styles, settings and limits count for the caller.
func (c Caller) Owner() uuid.UUID {
	if c.Test() {
		return c.TestOf
	}
	return c.Shop
}

// OnTests returns the caller as one that sees the shop's test orders and their
// customers. It may read them, and nothing else: only a test key changes them.
func (c Caller) OnTests() Caller {
	if !c.Test() {
		c.TestOf, c.Shop, c.TestShop = c.Shop, c.TestShop, uuid.Nil
	}
	return c
}

// Actor returns the caller's key as records store it: nil if there is none.
func (c Caller) Actor() *uuid.UUID {
	if c.Key == uuid.Nil {
		return nil
	}
	return &c.Key
}
