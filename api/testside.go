package api

import (
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
)

// sideOf returns the caller as it sees what a request is about: the real orders and
// customers, or the test ones. A test key sees only test ones. Any other key sees them
// if it asks for a list of them or for one of them, and changes none.
func (s *Server) sideOf(c echo.Context, op *operation, caller service.Caller) (service.Caller, error) {
	if caller.Test() {
		if op.live {
			return caller, &refusal{code: codeForbidden, detail: op.id + " is not for test keys"}
		}
		return caller, nil
	}
	if c.Request().URL.Query().Get("test") == "true" && op.method() == http.MethodGet {
		return caller.OnTests(), nil
	}
	for _, name := range []string{"order_id", "customer_id"} {
		id, err := uuid.Parse(c.Param(name))
		if err != nil {
			continue
		}
		test, err := s.service.Access.SeesTest(c.Request().Context(), caller, id)
		switch {
		case err != nil:
			return caller, err
		case test && op.method() != http.MethodGet:
			return caller, &refusal{code: codeForbidden, detail: "this was made with a test key; only a test key changes it"}
		case test:
			return caller.OnTests(), nil
		}
	}
	return caller, nil
}
