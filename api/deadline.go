package api

import (
	"context"
	"time"

	"github.com/labstack/echo/v4"
)

// Times within which a request must end. A database that hangs, rather than
// refuses, would otherwise hold it for as long as it hangs.
const (
	healthWithin  = 2 * time.Second
	requestWithin = 25 * time.Second // unless Config says otherwise
	exportWithin  = writeTimeout     // an export streams what may be much
)

// limitTime ends the context of a request in time for a problem document.
func (s *Server) limitTime(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		within := s.within
		switch op, _ := c.Get(operationKey).(*operation); {
		case isHealth(op):
			within = healthWithin
		case op != nil && op.id == "exportCustomer":
			within = exportWithin
		}
		ctx, cancel := context.WithTimeout(c.Request().Context(), within)
		defer cancel()
		c.SetRequest(c.Request().WithContext(ctx))
		return next(c)
	}
}
