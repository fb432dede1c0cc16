package api

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/api/linkpage"
	"tapeline/api/workroom"
	"tapeline/drafting/fault"
	"tapeline/service"
)

// Codes of refusals that concern HTTP only. The others are those of package service.
const (
	codeInvalidRequest        service.Code = "invalid_request"
	codeIdempotencyKeyMissing service.Code = "idempotency_key_missing"
	codeForbidden             service.Code = "forbidden"
	codeMethodNotAllowed      service.Code = "method_not_allowed"
	codeBodyTooLarge          service.Code = "body_too_large"
	codeUnsupportedMediaType  service.Code = "unsupported_media_type"
	codeRateLimited           service.Code = "rate_limited"
	codeInternal              service.Code = "internal"
)

// kind is the HTTP form of a code.
type kind struct {
	status int
	title  string
}

// kinds has every code of the contract's ProblemCode; a test compares them.
var kinds = map[service.Code]kind{
	codeInvalidRequest:              {http.StatusBadRequest, "The request does not match the contract"},
	codeIdempotencyKeyMissing:       {http.StatusBadRequest, "This operation requires an Idempotency-Key"},
	service.CodeUnauthenticated:     {http.StatusUnauthorized, "A valid API key is required"},
	service.CodeSignatureInvalid:    {http.StatusUnauthorized, "The signature is not valid"},
	codeForbidden:                   {http.StatusForbidden, "The key's role does not permit this"},
	service.CodeNotFound:            {http.StatusNotFound, "Not found"},
	codeMethodNotAllowed:            {http.StatusMethodNotAllowed, "The method is not allowed here"},
	service.CodeWrongState:          {http.StatusConflict, "The record's state does not permit this"},
	service.CodeReferenceTaken:      {http.StatusConflict, "The reference is already in use"},
	service.CodeIdempotencyInFlight: {http.StatusConflict, "A request with this Idempotency-Key is in progress"},
	service.CodePatternNotReady:     {http.StatusConflict, "The pattern is not ready"},
	service.CodeLimitReached:        {http.StatusConflict, "The limit is reached"},
	service.CodeRefitConflict:       {http.StatusConflict, "Another refit is applying some of these orders"},
	service.CodeNotProved:           {http.StatusConflict, "The style is not proved"},
	service.CodeFaultsUnconfirmed:   {http.StatusConflict, "Drafts of the style have faults"},
	service.CodeErased:              {http.StatusGone, "The customer's data is erased"},
	service.CodeLinkExpired:         {http.StatusGone, "The link has expired"},
	service.CodeLinkUsedUp:          {http.StatusGone, "The link is used up"},
	service.CodeLinkRevoked:         {http.StatusGone, "The link was revoked"},
	service.CodeOrderCancelled:      {http.StatusGone, "The order was cancelled"},
	codeBodyTooLarge:                {http.StatusRequestEntityTooLarge, "The body is too large"},
	codeUnsupportedMediaType:        {http.StatusUnsupportedMediaType, "The media type is not supported"},
	service.CodeInvalidInput:        {http.StatusUnprocessableEntity, "The input is not acceptable"},
	service.CodeIdempotencyKeyReused: {http.StatusUnprocessableEntity,
		"The Idempotency-Key was used for another request"},
	service.CodeMessageIDReused:       {http.StatusUnprocessableEntity, "The webhook-id was used for another message"},
	service.CodeWebhookAddressRefused: {http.StatusUnprocessableEntity, "Webhooks are not delivered to this URL"},
	service.CodeScopeEmpty:            {http.StatusUnprocessableEntity, "The scope contains no orders"},
	service.CodeTooCostly:             {http.StatusUnprocessableEntity, "The work takes too much time or memory"},
	service.CodeTooManyAtOnce:         {http.StatusTooManyRequests, "The shop has too many of these requests at once"},
	codeRateLimited:                   {http.StatusTooManyRequests, "Too many requests"},
	codeInternal:                      {http.StatusInternalServerError, "The server failed"},
	service.CodeUnavailable:           {http.StatusServiceUnavailable, "The service is not available now"},
}

// refusal refuses a request before it reaches a use case.
type refusal struct {
	code   service.Code
	detail string
	errors []FieldError
	header http.Header // added to the response
}

func (r *refusal) Error() string { return string(r.code) + ": " + r.detail }

// handleError responds with a problem document (RFC 9457). It is the only place that
// turns errors into HTTP.
func (s *Server) handleError(err error, c echo.Context) {
	if c.Response().Committed {
		return // headers already sent
	}
	p, header := s.problem(c, err)
	if workroom.Serves(c.Request().URL.Path) {
		var faults service.Faults
		if e, ok := errors.AsType[*service.Error](err); ok {
			faults = e.Faults
		}
		s.room.ShowProblem(c, workroom.Problem{Status: p.Status, Title: p.Title, Detail: p.Detail, Faults: faults,
			RequestID: p.Instance})
		return
	}
	if linkpage.Serves(c.Request().URL.Path) {
		s.pages.ShowProblem(c, p.Status, p.Title, "")
		return
	}
	for name, values := range header {
		c.Response().Header()[name] = values
	}
	body, _ := json.Marshal(p) // a Problem always marshals
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "application/problem+json")
	h.Set(echo.HeaderContentLength, strconv.Itoa(len(body)))
	h.Del("ETag")
	c.Response().WriteHeader(p.Status)
	if !isHead(c.Request().Context()) {
		_, _ = c.Response().Write(body) // the caller may be gone
	}
}

func (s *Server) problem(c echo.Context, err error) (Problem, http.Header) {
	r := s.refusalOf(c, err)
	k, ok := kinds[r.code]
	if !ok {
		panic("no kind for problem code " + string(r.code))
	}
	header := r.header
	if header == nil {
		header = http.Header{}
	}
	if k.status == http.StatusUnauthorized {
		header.Set("WWW-Authenticate", `Bearer realm="tapeline"`)
	}
	if (k.status == http.StatusTooManyRequests || k.status == http.StatusServiceUnavailable) &&
		header.Get("Retry-After") == "" {
		header.Set("Retry-After", "1")
	}
	return Problem{
		Type:     "/docs#problem-" + string(r.code),
		Title:    k.title,
		Status:   k.status,
		Detail:   r.detail,
		Instance: requestID(c),
		Code:     ProblemCode(r.code),
		Errors:   r.errors,
	}, header
}

// refusalOf converts an error. An error that is neither a refusal nor one of echo is
// logged, and the caller learns only its request ID.
func (s *Server) refusalOf(c echo.Context, err error) *refusal {
	if r, ok := errors.AsType[*refusal](err); ok {
		return r
	}
	if e, ok := errors.AsType[*service.Error](err); ok {
		r := &refusal{code: e.Code, detail: e.Detail, errors: fieldErrors(inQuery(operationOf(c), e), e.Faults)}
		if e.RetryAfter > 0 {
			seconds := int(math.Ceil(e.RetryAfter.Seconds()))
			r.header = http.Header{"Retry-After": {strconv.Itoa(seconds)}}
		}
		return r
	}
	if e := service.TooCostly(err); e != nil {
		return &refusal{code: e.Code, detail: e.Detail}
	}
	if he, ok := errors.AsType[*echo.HTTPError](err); ok {
		switch he.Code {
		case http.StatusNotFound:
			return &refusal{code: service.CodeNotFound, detail: "there is nothing at this address"}
		case http.StatusMethodNotAllowed:
			return &refusal{code: codeMethodNotAllowed, header: http.Header{"Allow": c.Response().Header()["Allow"]}}
		case http.StatusBadRequest:
			return &refusal{code: codeInvalidRequest, detail: "a parameter or the body is not readable"}
		}
	}
	if service.Unavailable(err) {
		s.log.LogAttrs(c.Request().Context(), slog.LevelWarn, "database unavailable",
			slog.String("request_id", requestID(c)), slog.String("operation", operationOf(c).id), slog.Any("error", err))
		return &refusal{code: service.CodeUnavailable, detail: "the database does not respond; try again"}
	}
	if errors.Is(err, context.Canceled) && c.Request().Context().Err() != nil {
		detail := "the request was cancelled"
		if s.stopping.Load() {
			detail = "the server is stopping; try again"
		}
		return &refusal{code: service.CodeUnavailable, detail: detail}
	}
	s.log.LogAttrs(c.Request().Context(), slog.LevelError, "request failed",
		slog.String("request_id", requestID(c)), slog.String("operation", operationOf(c).id), slog.Any("error", err))
	return &refusal{code: codeInternal, detail: "the server's log has the fault under the ID of this request"}
}

// inQuery reports whether the fields of a refusal are query parameters. Without a
// body all are, and with one the options of a file are.
func inQuery(op *operation, e *service.Error) bool {
	return op.route == nil || op.route.Operation.RequestBody == nil || e.OfFile && len(op.query) > 0
}

// fieldErrors converts the faults of a use case.
func fieldErrors(inQuery bool, faults fault.List) []FieldError {
	errs := make([]FieldError, 0, len(faults))
	for _, f := range faults {
		e := FieldError{Code: FieldErrorCode(f.Code), Detail: f.Accepted, Value: f.Value,
			Explanation: Explanation(f.Explanation), Line: f.Line}
		if inQuery {
			e.Parameter = strings.TrimPrefix(f.Field, "/")
		} else {
			e.Pointer = fragment(f.Field)
		}
		for _, r := range f.Related {
			e.Related = append(e.Related, fragment(r))
		}
		errs = append(errs, e)
	}
	if len(errs) == 0 {
		return nil
	}
	return errs
}

// fragment returns a JSON pointer in the URI fragment form (RFC 6901 section 6).
func fragment(pointer string) string {
	u := url.URL{Fragment: pointer}
	return "#" + u.EscapedFragment()
}
