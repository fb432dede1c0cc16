package api

import (
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/api/workroom"
	"tapeline/service"
)

type callerKey struct{}

// callerOf returns the caller of a request that needs a key.
func callerOf(ctx context.Context) service.Caller {
	caller, _ := ctx.Value(callerKey{}).(service.Caller)
	return caller
}

// route finds the operation of a request.
func (s *Server) route(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if op, ok := s.contract.find(c); ok {
			c.Set(operationKey, op)
		}
		return next(c)
	}
}

// authorize refuses a request without a valid key of a role that the contract
// allows, before its body is read.
func (s *Server) authorize(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, ok := c.Get(operationKey).(*operation)
		if !ok || op.public {
			if !isHealth(op) && !s.limiter.allowKeyless(remoteHost(c)) {
				return tooMany()
			}
			return next(c)
		}
		caller, err := s.authenticate(c)
		if err != nil {
			return err
		}
		if !s.limiter.AllowKey(caller.Key, caller.Shop) {
			return tooMany()
		}
		if !slices.Contains(op.roles, caller.Role) {
			return &refusal{code: codeForbidden, detail: fmt.Sprintf("%s may be called with a key of role %s; this key's "+
				"is %s", op.id, op.allowed(), caller.Role)}
		}
		c.Set(callerContextKey, caller)
		r := c.Request()
		c.SetRequest(r.WithContext(context.WithValue(r.Context(), callerKey{}, caller)))
		return next(c)
	}
}

// isHealth reports whether an operation asks for the health of the service, as its
// supervisor does. It costs next to nothing and is not limited.
func isHealth(op *operation) bool {
	return op != nil && (op.id == "getHealth" || op.id == "getReadiness")
}

const callerContextKey = "caller"

// fromSession returns the caller of a request by a page of the workroom, whose
// session stands for the key that it was opened with.
func (s *Server) fromSession(c echo.Context, token string) (service.Caller, error) {
	if err := s.origins.Check(c.Request()); err != nil {
		return service.Caller{}, &refusal{code: codeForbidden, detail: "the request was made by another site"}
	}
	session, err := s.service.Access.Session(c.Request().Context(), token)
	session.Caller.RequestID = requestID(c)
	return session.Caller, err
}

// authenticate checks the key, or the session of a page. Failed attempts are limited by address to slow down
// guessing.
func (s *Server) authenticate(c echo.Context) (service.Caller, error) {
	if cookie, err := c.Cookie(workroom.Cookie); err == nil && c.Request().Header.Get(echo.HeaderAuthorization) == "" {
		return s.fromSession(c, cookie.Value)
	}
	scheme, key, _ := strings.Cut(c.Request().Header.Get(echo.HeaderAuthorization), " ")
	if strings.EqualFold(scheme, "Bearer") && key != "" {
		caller, err := s.service.Access.Authenticate(c.Request().Context(), strings.TrimSpace(key))
		if err == nil {
			caller.RequestID = requestID(c)
			return caller, nil
		}
		if e, ok := errors.AsType[*service.Error](err); !ok || e.Code != service.CodeUnauthenticated {
			return service.Caller{}, err
		}
	}
	if !s.limiter.AllowGuess(remoteHost(c)) {
		return service.Caller{}, tooMany()
	}
	return service.Caller{}, &refusal{code: service.CodeUnauthenticated,
		detail: "Authorization must be Bearer and a key that is neither revoked nor expired"}
}

// remoteHost returns the address of the peer. It ignores forwarding headers, which
// anybody can set: behind a proxy, the proxy must limit addresses.
func remoteHost(c echo.Context) string {
	host, _, err := net.SplitHostPort(c.Request().RemoteAddr)
	if err != nil {
		return c.Request().RemoteAddr
	}
	return host
}
