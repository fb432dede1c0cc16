package workroom

import (
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service/access"
	"tapeline/service/orders"
)

func (r *Room) registerTests(g *echo.Group) {
	g.GET("/test-orders", r.signedIn(r.testOrders))
}

// sideOf returns the session as it sees what a page is about: of a test order or its
// customer, the test orders. ok is false if the page would change one, which only a
// test key does.
func (r *Room) sideOf(c echo.Context, s access.Session) (_ access.Session, ok bool, err error) {
	for _, name := range []string{"order", "customer"} {
		id, err := uuid.Parse(c.Param(name))
		if err != nil {
			continue
		}
		test, err := r.service.Access.SeesTest(c.Request().Context(), s.Caller, id)
		if err != nil || !test {
			return s, true, err
		}
		s.Caller = s.Caller.OnTests()
		return s, c.Request().Method == http.MethodGet, nil
	}
	return s, true, nil
}

type testOrdersView struct {
	Orders []orderRow
	Next   string
}

// testOrders lists what was ordered with test keys, newest first.
func (r *Room) testOrders(c echo.Context, s access.Session) error {
	list, next, err := r.service.Orders.List(c.Request().Context(), s.Caller.OnTests(), orders.Filter{}, pageOf(c))
	if err != nil {
		return err
	}
	var v testOrdersView
	if v.Orders, err = r.orderRows(c, s, list); err != nil {
		return err
	}
	if next != uuid.Nil {
		v.Next = Root + "/test-orders?after=" + next.String()
	}
	return r.show(c, http.StatusOK, "test-orders", &s, v)
}
