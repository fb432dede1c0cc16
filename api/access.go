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
			if isHealth(op) {
				return next(c)
			}
			counted := s.limiter.countKeyless(c.RealIP())
			if counted.describe(c.Response().Header()); !counted.allowed {
				return counted.refusal()
			}
			return next(c)
		}
		if op.forBrowsers() {
			c.Response().Header().Add(echo.HeaderVary, echo.HeaderOrigin)
		}
		caller, err := s.authenticate(c)
		if err != nil {
			if op.forBrowsers() {
				s.shareRefusal(c)
			}
			return err
		}
		if err := checkOrigin(c, caller); err != nil {
			return err
		}
		counted := s.limiter.countKey(caller, c.RealIP())
		if counted.describe(c.Response().Header()); !counted.allowed {
			return counted.refusal()
		}
		if !slices.Contains(op.roles, caller.Role) {
			return &refusal{code: codeForbidden, detail: fmt.Sprintf("%s may be called with a key of role %s; this key's "+
				"is %s", op.id, op.allowed(), caller.Role)}
		}
		if caller, err = s.sideOf(c, op, caller); err != nil {
			return err
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
	if !s.limiter.AllowGuess(c.RealIP()) {
		return service.Caller{}, tooMany()
	}
	return service.Caller{}, &refusal{code: service.CodeUnauthenticated,
		detail: "Authorization must be Bearer and a key that is neither revoked nor expired"}
}

// addressBehind returns how to find a client's address: that of the peer or, if the
// peer is a trusted proxy, the last in X-Forwarded-For that is none. Anybody can set
// that header, so that it counts only from these.
func addressBehind(proxies []*net.IPNet) echo.IPExtractor {
	if len(proxies) == 0 {
		return echo.ExtractIPDirect()
	}
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		trust = append(trust, echo.TrustIPRange(p))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}
