package workroom

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/orders"
)

func (r *Room) registerCustomers(g *echo.Group) {
	g.GET("/customers", r.signedIn(r.customers))
	g.GET("/customers/:customer", r.signedIn(r.customer))
	g.POST("/customers/:customer/details", r.signedIn(r.renameCustomer))
	g.GET("/customers/:customer/measure", r.signedIn(r.measurePage))
	g.POST("/customers/:customer/measure", r.signedIn(r.measure))
	g.POST("/customers/:customer/assess", r.signedIn(r.assess))
	g.GET("/customers/:customer/erase", r.admin(r.erasePage))
	g.POST("/customers/:customer/erase", r.admin(r.erase))
}

type customersView struct {
	Search, Next string
	List         []customers.Customer
}

func (r *Room) customers(c echo.Context, s access.Session) error {
	v := customersView{Search: strings.TrimSpace(c.QueryParam("q"))}
	list, next, err := r.service.Customers.List(c.Request().Context(), s.Caller, customers.Filter{Search: v.Search},
		pageOf(c))
	if err != nil {
		return err
	}
	v.List = list
	if next != uuid.Nil {
		v.Next = Root + "/customers?" + url.Values{"q": {v.Search}, "after": {next.String()}}.Encode()
	}
	return r.show(c, http.StatusOK, "customers", &s, v)
}

type customerView struct {
	customers.Customer
	Title       string
	Admin       bool
	Orders      []orderRow
	MoreOrders  bool
	Sets        []customers.Set
	Compared    comparedView
	Alterations []customers.AlterationSet
	Error       string
	Refused     refusals
}

// comparedView is two versions of a customer's measurements beside each other, in
// the unit of the later.
type comparedView struct {
	Was, Now customers.Set
	Rows     []comparedRow
}

type comparedRow struct {
	Name, Was, Now, Difference string
}

func (r *Room) customer(c echo.Context, s access.Session) error {
	v, err := r.customerView(c, s)
	if err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "customer", &s, v)
}

// recent is how many versions and orders the page of a customer shows.
const recent = 20

func (r *Room) customerView(c echo.Context, s access.Session) (v customerView, err error) {
	ctx := c.Request().Context()
	id, err := id(c, "customer")
	if err != nil {
		return v, err
	}
	if v.Customer, err = r.service.Customers.Get(ctx, s.Caller, id); err != nil {
		return v, err
	}
	v.Title, v.Admin = nameOf(v.Customer), s.Caller.Role == service.RoleAdmin
	page := service.Page{Limit: recent}
	list, next, err := r.service.Orders.List(ctx, s.Caller, orders.Filter{CustomerID: id}, page)
	if err != nil {
		return v, err
	}
	v.MoreOrders = next != uuid.Nil
	if v.Orders, err = r.orderRows(c, s, list); err != nil {
		return v, err
	}
	if v.ErasedAt != nil {
		return v, nil
	}
	if v.Sets, _, err = r.service.Customers.Sets(ctx, s.Caller, id, page); err != nil {
		return v, err
	}
	if v.Alterations, _, err = r.service.Customers.AlterationSets(ctx, s.Caller, id, page); err != nil {
		return v, err
	}
	v.Compared = compareSets(v.Sets, c.QueryParam("was"), c.QueryParam("now"))
	return v, nil
}

// nameOf returns what a customer is called.
func nameOf(c customers.Customer) string {
	switch {
	case c.ErasedAt != nil:
		return "An erased customer"
	case c.Name != "":
		return c.Name
	}
	return c.Reference
}

// compareSets compares two versions, by default the latest with the one before it.
func compareSets(sets []customers.Set, was, now string) comparedView {
	if len(sets) == 0 {
		return comparedView{}
	}
	find := func(version string, otherwise int) customers.Set {
		for _, set := range sets {
			if strconv.Itoa(set.Version) == version {
				return set
			}
		}
		return sets[min(otherwise, len(sets)-1)]
	}
	v := comparedView{Was: find(was, 1), Now: find(now, 0)}
	before, after := v.Was.In(v.Now.Unit), v.Now.Values
	names := map[string]bool{}
	for name := range before {
		names[name] = true
	}
	for name := range after {
		names[name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		row := comparedRow{Name: words(name)}
		b, given := before[name]
		a, still := after[name]
		if given {
			row.Was = number(b)
		}
		if still {
			row.Now = number(a)
		}
		if given && still && number(a-b) != "0" {
			row.Difference = number(a - b)
			if a > b {
				row.Difference = "+" + row.Difference
			}
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

func (r *Room) renameCustomer(c echo.Context, s access.Session) error {
	id, err := id(c, "customer")
	if err != nil {
		return err
	}
	details := customers.Details{Reference: strings.TrimSpace(c.FormValue("reference")),
		Name: strings.TrimSpace(c.FormValue("name"))}
	_, err = r.service.Customers.Replace(c.Request().Context(), s.Caller, id, details)
	if err == nil {
		return r.done(c, Root+"/customers/"+id.String(), "Saved.")
	}
	refused, err := refusalsOf(err)
	if err != nil {
		return err
	}
	v, err := r.customerView(c, s)
	if err != nil {
		return err
	}
	v.Reference, v.Name, v.Refused = details.Reference, details.Name, refused
	return r.show(c, http.StatusUnprocessableEntity, "customer", &s, v)
}

// erasePage asks before a customer's data is erased.
func (r *Room) erasePage(c echo.Context, s access.Session) error {
	v, err := r.customerView(c, s)
	if err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "erase", &s, v)
}

func (r *Room) erase(c echo.Context, s access.Session) error {
	v, err := r.customerView(c, s)
	if err != nil {
		return err
	}
	if v.ErasedAt == nil && strings.TrimSpace(c.FormValue("reference")) != v.Reference {
		v.Error = "That is not the customer's reference. Nothing was erased."
		return r.show(c, http.StatusUnprocessableEntity, "erase", &s, v)
	}
	e, err := r.service.Customers.Erase(c.Request().Context(), s.Caller, v.ID)
	if err != nil {
		return err
	}
	return r.done(c, Root+"/customers/"+v.ID.String(), "Erased. %d orders were cancelled.", e.OrdersCancelled)
}
