package workroom

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/orders"
)

func (r *Room) registerOrders(g *echo.Group) {
	g.GET("/orders", r.signedIn(r.queue))
	g.GET("/orders/follow", r.signedIn(r.follow))
	g.POST("/orders/several", r.signedIn(r.several))
}

// tab is one way to see the queue.
type tab struct {
	name, title string
	empty       string // what is said if no order is in it
	statuses    []orders.Status
	progress    []orders.Progress
	late, mine  bool
	closed      bool // newest first, because nobody waits for these orders
}

var tabs = []tab{
	{name: "to-cut", title: "Ready to cut", empty: "Nothing waits to be cut.", statuses: []orders.Status{orders.Ready},
		progress: []orders.Progress{orders.Uncut}},
	{name: "late", title: "Late", empty: "Nothing is late.", late: true},
	{name: "mine", title: "Mine", empty: "No open order is assigned to the name of your key.", mine: true},
	{name: "asks", title: "Held", empty: "No order waits for an answer.", statuses: []orders.Status{orders.Held}},
	{name: "failed", title: "Failed", empty: "No order has failed.", statuses: []orders.Status{orders.Failed}},
	{name: "drafting", title: "Being drafted", empty: "No order is being drafted.",
		statuses: []orders.Status{orders.Received}},
	{name: "cut", title: "Cut", empty: "Nothing is cut and still here.", progress: []orders.Progress{orders.Cut}},
	{name: "shipped", title: "Shipped", empty: "Nothing is shipped yet.", progress: []orders.Progress{orders.Shipped},
		closed: true},
	{name: "all", title: "All", empty: "There are no such orders.", closed: true},
}

// count returns how many of the counted orders are in the tab.
func (t tab) count(counts []orders.Count) (n int) {
	for _, c := range counts {
		switch {
		case t.late:
			n += c.Late
		case t.mine:
			n += c.Mine
		case (t.statuses == nil || slices.Contains(t.statuses, c.Status)) &&
			(t.progress == nil || slices.Contains(t.progress, c.Progress)):
			n += c.Orders
		}
	}
	return n
}

type tabView struct {
	Name, Title string
	Orders      int
	Here        bool
}

type queueView struct {
	Show         string // the tab
	Here, Next   string // addresses
	Title, Empty string
	Search       string
	Assignee     string // whose orders are shown; "" for everybody's
	DueUntil     string // the last day on which the orders shown are due; "" for any
	People       []string
	Tabs         []tabView
	Orders       []orderRow
	Event        int64 // the last one that the page knows of
}

// Filtered reports whether the page shows a part of its tab.
func (v queueView) Filtered() bool { return v.Search != "" || v.Assignee != "" || v.DueUntil != "" }

// scanned finds the order whose address was scanned from a job ticket into the field
// that searches orders.
func scanned(text string) (uuid.UUID, bool) {
	_, rest, ok := strings.Cut(strings.ToLower(text), Root+"/orders/")
	if !ok || len(rest) < 36 {
		return uuid.Nil, false
	}
	order, err := uuid.Parse(rest[:36])
	return order, err == nil
}

func (r *Room) queue(c echo.Context, s access.Session) error {
	ctx := c.Request().Context()
	if order, ok := scanned(c.QueryParam("q")); ok {
		return c.Redirect(http.StatusSeeOther, Root+"/orders/"+order.String())
	}
	here := tabs[0]
	for _, t := range tabs {
		if t.name == c.QueryParam("show") {
			here = t
		}
	}
	v := queueView{Show: here.name, Title: here.title, Empty: here.empty, Search: strings.TrimSpace(c.QueryParam("q")),
		Assignee: strings.TrimSpace(c.QueryParam("assignee"))}
	f := orders.Filter{Statuses: here.statuses, Progress: here.progress, Late: here.late, Search: v.Search,
		Assignee: v.Assignee, ByDue: !here.closed}
	if here.mine {
		f.Open, f.Assignee = true, s.KeyName
	}
	if day, err := time.Parse(time.DateOnly, c.QueryParam("due")); err == nil {
		v.DueUntil, f.DueBefore = c.QueryParam("due"), day.AddDate(0, 0, 1)
	}
	query := url.Values{"show": {here.name}}
	for name, value := range map[string]string{"q": v.Search, "assignee": v.Assignee, "due": v.DueUntil} {
		if value != "" {
			query.Set(name, value)
		}
	}
	v.Here = Root + "/orders?" + query.Encode()
	var err error
	// The event is read first: what happens while the page is made is then told of.
	if v.Event, err = r.service.Orders.LastEvent(ctx, s.Caller, uuid.Nil); err != nil {
		return err
	}
	counts, err := r.service.Orders.Counts(ctx, s.Caller)
	if err != nil {
		return err
	}
	for _, t := range tabs {
		v.Tabs = append(v.Tabs, tabView{Name: t.name, Title: t.title, Here: t.name == here.name && v.Search == "",
			Orders: t.count(counts)})
	}
	if v.People, err = r.people(c, s); err != nil {
		return err
	}
	list, next, err := r.service.Orders.List(ctx, s.Caller, f, pageOf(c))
	if err != nil {
		return err
	}
	if v.Orders, err = r.orderRows(c, s, list); err != nil {
		return err
	}
	if next != uuid.Nil {
		query.Set("after", next.String())
		v.Next = Root + "/orders?" + query.Encode()
	}
	if isPart(c) {
		return r.showPart(c, "orders", "queue", v)
	}
	return r.show(c, http.StatusOK, "orders", &s, v)
}

// people lists to whom an order may be assigned: whoever has open orders, and the
// person who is signed in.
func (r *Room) people(c echo.Context, s access.Session) ([]string, error) {
	names, err := r.service.Orders.Assignees(c.Request().Context(), s.Caller)
	if !slices.Contains(names, s.KeyName) {
		names = append(names, s.KeyName)
	}
	return names, err
}

// orderRows are orders as a list shows them today.
func (r *Room) orderRows(c echo.Context, s access.Session, list []orders.Order) ([]orderRow, error) {
	today, err := r.service.Orders.Today(c.Request().Context(), s.Caller)
	rows := make([]orderRow, len(list))
	for i, o := range list {
		rows[i] = orderRow{o, today}
	}
	return rows, err
}

// A page that follows orders asks again when its stream ends. The server ends it
// well before a request's time is over, so that no stream outlives its session.
const (
	followLasts = 20 * time.Second
	followEvery = time.Second
)

// follow tells a page, as server-sent events, that something happened to the shop's
// orders, or to the one that the query names.
func (r *Room) follow(c echo.Context, s access.Session) error {
	var order uuid.UUID
	if text := c.QueryParam("order"); text != "" {
		var err error
		if order, err = uuid.Parse(text); err != nil {
			return service.NotFound("order")
		}
	}
	var since int64
	// A browser that connects again sends the number of the last event it has.
	for _, text := range []string{c.QueryParam("since"), c.Request().Header.Get("Last-Event-ID")} {
		_, _ = fmt.Sscan(text, &since) // anything else follows from the start
	}
	w := c.Response()
	w.Header().Set(echo.HeaderContentType, "text/event-stream")
	w.WriteHeader(http.StatusOK)
	fmt.Fprint(w, "retry: 1000\n\n")
	w.Flush()
	ctx, tick := c.Request().Context(), time.NewTicker(followEvery)
	defer tick.Stop()
	end := time.After(followLasts)
	for {
		last, err := r.service.Orders.LastEvent(ctx, s.Caller, order)
		if err != nil || r.cfg.Stopping() {
			return nil // the page asks again
		}
		if last > since {
			since = last
			fmt.Fprintf(w, "event: change\nid: %d\ndata: %d\n\n", last, last)
			w.Flush()
		}
		select {
		case <-ctx.Done():
			return nil
		case <-end:
			return nil
		case <-tick.C:
		}
	}
}

// several does one thing to each of the chosen orders. What cannot be done to one
// does not keep it from the others, and is said.
func (r *Room) several(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	back := destination(c.FormValue("back"))
	var chosen []uuid.UUID
	for _, text := range form["order"] {
		if parsed, err := uuid.Parse(text); err == nil {
			chosen = append(chosen, parsed)
		}
	}
	if len(chosen) == 0 {
		return r.done(c, back, "Choose at least one order.")
	}
	act := c.FormValue("act")
	if act == "print" {
		return c.Redirect(http.StatusSeeOther, printAddress(chosen))
	}
	does, said, err := r.actOn(c, s, act)
	if err != nil {
		return r.done(c, back, "%s", sentence(err.Error()))
	}
	if does == nil {
		return service.NotFound("act")
	}
	var done, refused []string
	for _, order := range chosen {
		o, err := does(order)
		if e, ok := errors.AsType[*service.Error](err); ok {
			refused = append(refused, r.named(c, s, order)+" ("+e.Detail+")")
			continue
		}
		if err != nil {
			return err
		}
		done = append(done, o.Reference)
	}
	var notice string
	if len(done) > 0 {
		notice = sentence(said + ": " + few(done))
	}
	if len(refused) > 0 {
		notice += " Not " + said + ": " + few(refused) + "."
	}
	return r.done(c, back, "%s", strings.TrimSpace(notice))
}

// actOn returns what an act does to an order, and what it then is; nil for an act that
// there is not. The error says what the form lacks.
func (r *Room) actOn(
	c echo.Context, s access.Session, act string,
) (does func(uuid.UUID) (orders.Order, error), said string, err error) {
	ctx := c.Request().Context()
	switch act {
	case "cut", "shipped":
		return func(order uuid.UUID) (orders.Order, error) {
			return r.service.Orders.SetProgress(ctx, s.Caller, order, orders.Progress(act), "")
		}, "marked as " + act, nil
	case "assign":
		name := strings.TrimSpace(c.FormValue("assignee"))
		refused := refusals{}
		if refused.requireLine("", name, 1, orders.MaxAssignee); len(refused) > 0 {
			return nil, "", errors.New("type who makes the chosen orders: " + refused[""])
		}
		return func(order uuid.UUID) (orders.Order, error) {
			base := orders.Assignment{Assignee: c.FormValue("was." + order.String())}
			return r.service.Orders.Assign(ctx, s.Caller, order, orders.Reassignment{Assignee: &name, Base: &base})
		}, "assigned to " + name, nil
	}
	return nil, "", nil
}

// few lists the first of some names, and says how many more there are.
func few(names []string) string {
	const shown = 5
	if len(names) <= shown {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:shown], ", "), len(names)-shown)
}

// named returns an order's reference for a message.
func (r *Room) named(c echo.Context, s access.Session, order uuid.UUID) string {
	o, err := r.service.Orders.Get(c.Request().Context(), s.Caller, order)
	if err != nil {
		return "an order"
	}
	return o.Reference
}

// patternAddress returns the address of a file of an order's pattern.
func patternAddress(order uuid.UUID, format string) string {
	return "/v1/orders/" + order.String() + "/pattern." + format
}
