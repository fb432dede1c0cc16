package legacy

import (
	"fmt"
	"time"

	"tapeline/drafting/fault"
)

// Code is the stable name of why a use case was refused. The contract lists
// every code; package api gives each its HTTP status.
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
	CodeErased                Code = "erased"
	CodeLinkExpired           Code = "link_expired"
	CodeLinkUsedUp            Code = "link_used_up"
	CodeLinkRevoked           Code = "link_revoked"
	CodeOrderCancelled        Code = "order_cancelled"
	CodeWebhookAddressRefused Code = "webhook_address_refused"
	CodeUnavailable           Code = "unavailable"
)

// Error is a refusal that may be shown to the caller as it is. Every other
// error that a use case returns is a fault of ours.
type Error struct {
	Code       Code
	Detail     string        // one sentence, safe to show
	Faults     fault.List    // what is wrong with the input, field by field
	OfFile     bool          // the faults are of the options of a file, not of what it is made from
	RetryAfter time.Duration // when trying again may help; 0 when it will not
}

func (e *Error) Error() string {
	if e.Detail == "" {
		return string(e.Code)
	}
	return string(e.Code) + ": " + e.Detail
}

// refuse makes an Error with a detail.
func refuse(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Detail: fmt.Sprintf(format, args...)}
}

// invalid makes the Error of an input with faults.
func invalid(faults fault.List) *Error {
	return &Error{Code: CodeInvalidInput, Faults: faults}
}

// notFound says that the shop has no such record.
func notFound(what string) *Error { return refuse(CodeNotFound, "there is no such %s", what) }
