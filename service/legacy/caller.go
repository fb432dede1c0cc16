package legacy

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/access"
)

// The shared vocabulary, until every subject has its own package.
type (
	Role   = service.Role
	Caller = service.Caller
	Code   = service.Code
	Error  = service.Error
	Page   = service.Page
)

const (
	RoleShop  = service.RoleShop
	RoleStaff = service.RoleStaff
	RoleAdmin = service.RoleAdmin

	CodeInvalidInput          = service.CodeInvalidInput
	CodeUnauthenticated       = service.CodeUnauthenticated
	CodeSignatureInvalid      = service.CodeSignatureInvalid
	CodeNotFound              = service.CodeNotFound
	CodeWrongState            = service.CodeWrongState
	CodeReferenceTaken        = service.CodeReferenceTaken
	CodeIdempotencyInFlight   = service.CodeIdempotencyInFlight
	CodeIdempotencyKeyReused  = service.CodeIdempotencyKeyReused
	CodeMessageIDReused       = service.CodeMessageIDReused
	CodePatternNotReady       = service.CodePatternNotReady
	CodeLimitReached          = service.CodeLimitReached
	CodeScopeEmpty            = service.CodeScopeEmpty
	CodeRefitConflict         = service.CodeRefitConflict
	CodeNotProved             = service.CodeNotProved
	CodeErased                = service.CodeErased
	CodeLinkExpired           = service.CodeLinkExpired
	CodeLinkUsedUp            = service.CodeLinkUsedUp
	CodeLinkRevoked           = service.CodeLinkRevoked
	CodeOrderCancelled        = service.CodeOrderCancelled
	CodeWebhookAddressRefused = service.CodeWebhookAddressRefused
	CodeUnavailable           = service.CodeUnavailable
)

func Roles() []Role { return service.Roles() }

func refuse(code Code, format string, args ...any) *Error {
	return service.Refuse(code, format, args...)
}

func invalid(faults fault.List) *Error { return service.Invalid(faults) }

func notFound(what string) *Error { return service.NotFound(what) }

func orNotFound(err error, what string) error { return service.OrNotFound(err, what) }

func actor(c Caller) *uuid.UUID { return c.Actor() }

func more(p Page) db.Page { return db.Page{After: p.After, Limit: int(p.Rows())} }

func paged[T any](rows []T, err error, p Page, id func(T) uuid.UUID) ([]T, uuid.UUID, error) {
	rows, next := service.Cut(rows, p, id)
	return rows, next, err
}

func audit(ctx context.Context, tx *db.Tx, c Caller, at time.Time, action string, subject uuid.UUID,
	detail map[string]any) error {
	return access.Record(ctx, tx, c, access.Action{Name: action, Subject: subject, Detail: detail, At: at})
}
