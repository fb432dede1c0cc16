package api

import "tapeline/service"

// remedies says what a caller does about each code; a test compares them with kinds.
var remedies = map[service.Code]string{
	codeInvalidRequest: "Each entry of `errors` has the place of a fault and what is accepted there. " +
		"Correct all of them and send the request again.",
	codeIdempotencyKeyMissing: "Send an `Idempotency-Key` header with a string in double quotes, new for each " +
		"thing to create and the same in every repetition.",
	service.CodeUnauthenticated: "Send `Authorization: Bearer` and a key. The key may be misspelled, expired or " +
		"revoked: an admin makes another.",
	service.CodeSignatureInvalid: "Sign the exact bytes of the body with the current secret, and check the clock " +
		"of the sender and the signature in the link.",
	codeForbidden:        "Use a key of a role that the operation lists.",
	service.CodeNotFound: "Check the ID and the shop of the key. Records of other shops are never found.",
	codeMethodNotAllowed: "Use a method that the `Allow` header lists.",
	service.CodeWrongState: "Get the record and look at its state; `detail` says which states permit the " +
		"operation.",
	service.CodeReferenceTaken: "Choose another reference, or find the existing record by its reference.",
	service.CodeIdempotencyInFlight: "Wait a moment and repeat the same request: the first one is still being " +
		"processed.",
	service.CodePatternNotReady: "Wait for the `order.ready` webhook, or get the order and look at its state and " +
		"reasons.",
	service.CodeLimitReached:  "Remove records that are no longer needed; `detail` gives the limit.",
	service.CodeRefitConflict: "Wait until the other refit ends, or stop it.",
	service.CodeNotProved:     "Start a proof of the revision, correct what fails, and publish after it passes.",
	service.CodeFaultsUnconfirmed: "Correct the faults that the proof lists; or publish with `faulty`, the number of " +
		"such drafts, if a cutter looked at them and accepts them.",
	service.CodeErased:         "Nothing restores erased data. Create the customer again if they ask for it.",
	service.CodeLinkExpired:    "Create another link for the order.",
	service.CodeLinkUsedUp:     "Create another link for the order, if need be with more uses.",
	service.CodeLinkRevoked:    "Create another link for the order if the customer may still have the pattern.",
	service.CodeOrderCancelled: "Create another order. A cancelled order stays cancelled.",
	codeBodyTooLarge:           "Send a smaller body; `detail` gives the limit.",
	codeUnsupportedMediaType: "Send a media type that the operation lists in `Content-Type`, and do not compress " +
		"the body.",
	service.CodeInvalidInput: "Each entry of `errors` names a field, its value and what is accepted. Correct all " +
		"of them and send the request again with a new `Idempotency-Key`.",
	service.CodeIdempotencyKeyReused: "Use a new `Idempotency-Key` for a request that differs from the first.",
	service.CodeMessageIDReused:      "Use a new `webhook-id` for a message that differs from the first.",
	service.CodeWebhookAddressRefused: "Register a public address that begins with https://. A server for " +
		"development takes others with `--private-webhooks`.",
	service.CodeScopeEmpty: "Widen the scope: it names no order that the change could concern.",
	service.CodeTooCostly:  "Ask for less at once, or simplify the style's script; `detail` gives the limit.",
	service.CodeTooManyAtOnce: "Wait until one of the shop's requests of this kind ends, at least as long as " +
		"`Retry-After` says.",
	codeRateLimited:         "Wait as long as `Retry-After` says, then send requests more slowly.",
	codeInternal:            "Repeat the request later. Give `instance` to the operator, whose log has the fault.",
	service.CodeUnavailable: "Repeat the request with the same `Idempotency-Key` after `Retry-After`.",
}
