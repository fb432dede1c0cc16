package workroom

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/orders"
	"tapeline/service/patterns"
)

func (r *Room) registerPrint(g *echo.Group) {
	g.GET("/orders/print", r.signedIn(r.printPage))
	g.GET("/orders/print/file", r.signedIn(r.printFile))
}

// printAddress returns the address of the page that prints orders.
func printAddress(chosen []uuid.UUID) string {
	query := url.Values{}
	for _, order := range chosen {
		query.Add("order", order.String())
	}
	return Root + "/orders/print?" + query.Encode()
}

type printView struct {
	Orders  []orderRow // that can be printed
	Not     []orderRow
	Papers  []patterns.Paper
	Paper   string // that is chosen
	Zip     bool
	Trouble []string
}

// printPage shows the chosen orders, from which paper and kind of file are chosen.
func (r *Room) printPage(c echo.Context, s access.Session) error {
	v, err := r.printView(c, s)
	if err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "print", &s, v)
}

func (r *Room) printView(c echo.Context, s access.Session) (v printView, err error) {
	v.Papers, v.Paper = patterns.Papers(), cmp.Or(c.QueryParam("paper"), "a4")
	v.Zip = c.QueryParam("format") == "zip"
	chosen := chosenOrders(c)
	if len(chosen) > patterns.MaxPrint {
		return v, service.Refuse(service.CodeLimitReached, "%d orders are printed at once at most", patterns.MaxPrint)
	}
	for _, order := range chosen {
		o, err := r.service.Orders.Get(c.Request().Context(), s.Caller, order)
		if err != nil {
			return v, err
		}
		if o.Status == orders.Ready {
			v.Orders = append(v.Orders, orderRow{Order: o})
		} else {
			v.Not = append(v.Not, orderRow{Order: o})
		}
	}
	return v, nil
}

// chosenOrders reads the orders that a query names, each once.
func chosenOrders(c echo.Context) (chosen []uuid.UUID) {
	seen := map[uuid.UUID]bool{}
	for _, text := range c.QueryParams()["order"] {
		if order, err := uuid.Parse(text); err == nil && !seen[order] {
			seen[order] = true
			chosen = append(chosen, order)
		}
	}
	return chosen
}

// printFile sends the file of the chosen orders. If one cannot be printed any more,
// the page says which.
func (r *Room) printFile(c echo.Context, s access.Session) error {
	f, err := r.service.Patterns.Print(c.Request().Context(), s.Caller, patterns.Print{Orders: chosenOrders(c),
		Paper: c.QueryParam("paper"), Format: cmp.Or(c.QueryParam("format"), "pdf")})
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeInvalidInput {
		v, err := r.printView(c, s)
		if err != nil {
			return err
		}
		for _, wrong := range e.Faults {
			name := words(strings.TrimPrefix(wrong.Field, "/"))
			v.Trouble = append(v.Trouble, sentence(fmt.Sprintf("%s %s: %s", name, wrong.Value, wrong.Accepted)))
		}
		return r.show(c, http.StatusUnprocessableEntity, "print", &s, v)
	}
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderContentDisposition, fmt.Sprintf("inline; filename=%q", f.Name))
	return c.Blob(http.StatusOK, f.MediaType, f.Content)
}
