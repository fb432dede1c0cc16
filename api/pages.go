package api

import (
	"context"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/api/linkpage"
	"tapeline/api/workroom"
)

type headKey struct{}

// headAsGet returns a HEAD request as a GET request, which is routed and answered
// alike; the HTTP server leaves the body out. What follows orders and does not end takes
// no HEAD.
func headAsGet(r *http.Request) *http.Request {
	if r.Method != http.MethodHead || workroom.Follows(r.URL.Path) {
		return r
	}
	r = r.WithContext(context.WithValue(r.Context(), headKey{}, true))
	r.Method = http.MethodGet
	return r
}

// isHead reports whether the caller of a GET operation wants the header alone.
func isHead(ctx context.Context) bool { return ctx.Value(headKey{}) != nil }

// leadToPage leads a browser that follows a download link to the page for people. It
// also does so when a download fails: the page says why.
func leadToPage(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if operationOf(c).id != "followLink" {
			return next(c)
		}
		c.Response().Header().Set("Vary", echo.HeaderAccept)
		if !strings.Contains(c.Request().Header.Get(echo.HeaderAccept), echo.MIMETextHTML) {
			return next(c)
		}
		page := linkpage.LinkPage(c.Param("link_id"), c.Request().URL.RawQuery)
		if c.QueryParam("download") != "true" {
			return c.Redirect(http.StatusSeeOther, page)
		}
		if err := next(c); err != nil {
			return c.Redirect(http.StatusSeeOther, page)
		}
		return nil
	}
}
