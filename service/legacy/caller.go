package legacy

import "github.com/google/uuid"

// Role is what a key may be used for. The contract says which roles may call
// which operation.
type Role string

const (
	RoleShop  Role = "shop"  // the shop's backend
	RoleStaff Role = "staff" // the pattern cutter
	RoleAdmin Role = "admin" // keys, endpoints, erasure
)

// Roles are all roles.
func Roles() []Role { return []Role{RoleShop, RoleStaff, RoleAdmin} }

// Caller is on whose behalf a use case runs.
type Caller struct {
	Shop      uuid.UUID
	Key       uuid.UUID // uuid.Nil: the service itself, or an inbound message
	Role      Role
	RequestID string // for the audit trail
}
