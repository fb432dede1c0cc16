package service

import (
	"errors"
	"fmt"
	"time"

	"tapeline/db"
	"tapeline/drafting/cost"
)

// Code is the stable name of the reason why a use case is refused. The
// contract lists every code; package api gives each its HTTP status.
type Code string

const (
	CodeInvalidInput          Code = "invalid_input" // Faults says what
	CodeUnauthenticated       Code = "unauthenticated"
	CodeSignatureInvalid      Code = "signature_invalid"
	CodeNotFound              Code = "not_found"
	CodeWrongState            Code = "wrong_state"
	CodeReferenceTaken        Code = "reference_taken"
	CodeIdempotencyInFlight   Code = "idempotency_in_flight"
	CodeIdempotencyKeyReused  Code = "idempotency_key_reused"
	CodeMessageIDReused       Code = "message_id_reused"
	CodePatternNotReady       Code = "pattern_not_ready"
	CodeLimitReached          Code = "limit_reached"
	CodeScopeEmpty            Code = "scope_empty"
	CodeRefitConflict         Code = "refit_conflict"
	CodeNotProved             Code = "not_proved"
	CodeFaultsUnconfirmed     Code = "faults_unconfirmed"
	CodeErased                Code = "erased"
	CodeLinkExpired           Code = "link_expired"
	CodeLinkUsedUp            Code = "link_used_up"
	CodeLinkRevoked           Code = "link_revoked"
	CodeOrderCancelled        Code = "order_cancelled"
	CodeWebhookAddressRefused Code = "webhook_address_refused"
	CodeTooCostly             Code = "too_costly"
	CodeTooManyAtOnce         Code = "too_many_at_once"
	CodeUnavailable           Code = "unavailable"
)

// Error is a refusal that may be shown to the caller as it is. Any other error
// that a use case returns is a failure of the service.
type Error struct {
	Code       Code
	Detail     string        // one sentence, safe to show
	Faults     Faults        // what is wrong with the input, field by field
	OfFile     bool          // the faults concern the options of a file
	RetryAfter time.Duration // when trying again may help; 0 if it will not
}

func (e *Error) Error() string {
	if e.Detail == "" {
		return string(e.Code)
	}
	return string(e.Code) + ": " + e.Detail
}

// Refuse returns an Error with a detail, formatted as by fmt.Sprintf.
func Refuse(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Detail: fmt.Sprintf(format, args...)}
}

// Invalid returns the Error of an input with faults.
func Invalid(faults Faults) *Error {
	return &Error{Code: CodeInvalidInput, Faults: faults}
}

// NotFound returns the Error for a record that the shop does not have.
func NotFound(what string) *Error { return Refuse(CodeNotFound, "there is no such %s", what) }

// OrNotFound returns NotFound(what) if err is db.ErrNotFound, and err otherwise.
func OrNotFound(err error, what string) error {
	if errors.Is(err, db.ErrNotFound) {
		return NotFound(what)
	}
	return err
}

// TooCostly returns the refusal of work that exceeded its budget of processor time
// or memory, nil if err has another reason.
func TooCostly(err error) *Error {
	if e, ok := errors.AsType[*cost.Error](err); ok {
		return Refuse(CodeTooCostly, "%s", e)
	}
	return nil
}

// Unavailable reports whether a use case failed because the database is not
// available, so that the same call may succeed later.
func Unavailable(err error) bool { return db.Unavailable(err) }
