package api

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
)

// Pages of other sites may call the operations that are open to publishable keys, from
// the origins that a key names (the CORS protocol of the Fetch standard). They send no
// cookies: the key is in Authorization, which always makes a browser ask first.

// exposed are the headers of an answer that a page may read.
const exposed = "RateLimit, RateLimit-Policy, Retry-After, X-Request-Id"

// preflightLasts is for how many seconds a browser need not ask again.
const preflightLasts = "600"

// forBrowsers reports whether pages of other sites may call an operation.
func (o *operation) forBrowsers() bool { return slices.Contains(o.roles, service.RolePublishable) }

// preflight answers a browser that asks whether a page may call an operation. It does
// not know the key yet, so it asks whether any key is for the page.
func (s *Server) preflight(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r, h := c.Request(), c.Response().Header()
		wanted := r.Header.Get(echo.HeaderAccessControlRequestMethod)
		if r.Method != http.MethodOptions || wanted == "" {
			return next(c)
		}
		method := wanted
		if method == http.MethodHead {
			method = http.MethodGet
		}
		op, ok := s.contract.operations[method+" "+c.Path()]
		if !ok || !op.forBrowsers() {
			return next(c)
		}
		h.Add(echo.HeaderVary, echo.HeaderOrigin)
		h.Add(echo.HeaderVary, echo.HeaderAccessControlRequestMethod)
		h.Add(echo.HeaderVary, echo.HeaderAccessControlRequestHeaders)
		origin := r.Header.Get(echo.HeaderOrigin)
		allowed, err := s.service.Access.OriginAllowed(r.Context(), origin)
		if err != nil {
			return err
		}
		if allowed {
			h.Set(echo.HeaderAccessControlAllowOrigin, origin)
			h.Set(echo.HeaderAccessControlAllowMethods, wanted)
			h.Set(echo.HeaderAccessControlAllowHeaders, "Authorization, Content-Type, X-Request-Id")
			h.Set(echo.HeaderAccessControlMaxAge, preflightLasts)
		}
		return c.NoContent(http.StatusNoContent)
	}
}

// share lets the page that a request came from read the answer, also a refusal.
func share(c echo.Context) {
	h := c.Response().Header()
	h.Set(echo.HeaderAccessControlAllowOrigin, c.Request().Header.Get(echo.HeaderOrigin))
	h.Set(echo.HeaderAccessControlExposeHeaders, exposed)
}

// shareRefusal lets a page read why its key is not valid, if any key is for the page.
func (s *Server) shareRefusal(c echo.Context) {
	origin := c.Request().Header.Get(echo.HeaderOrigin)
	if origin == "" {
		return
	}
	if allowed, err := s.service.Access.OriginAllowed(c.Request().Context(), origin); err == nil && allowed {
		share(c)
	}
}

// checkOrigin refuses a publishable key on a page that it does not name. A request
// without an origin is not a page's; the origin keeps other sites from using the key
// in their visitors' browsers, and programs can claim any.
func checkOrigin(c echo.Context, caller service.Caller) error {
	origin := c.Request().Header.Get(echo.HeaderOrigin)
	if caller.Role != service.RolePublishable || origin == "" {
		return nil
	}
	if !slices.Contains(caller.Origins, origin) {
		return &refusal{code: codeForbidden, detail: fmt.Sprintf("this key is for pages of %s; this page's origin is %.200q",
			strings.Join(caller.Origins, ", "), origin)}
	}
	share(c)
	return nil
}
