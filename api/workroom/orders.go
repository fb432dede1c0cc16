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
}

var tabs = []tab{
	{name: "to-cut", title: "Ready to cut", empty: "Nothing waits to be cut.", statuses: []orders.Status{orders.Ready},
		progress: []orders.Progress{orders.Uncut}},
	{name: "asks", title: "Held", empty: "No order waits for an answer.", statuses: []orders.Status{orders.Held}},
	{name: "failed", title: "Failed", empty: "No order has failed.", statuses: []orders.Status{orders.Failed}},
	{name: "drafting", title: "Being drafted", empty: "No order is being drafted.",
		statuses: []orders.Status{orders.Received}},
	{name: "cut", title: "Cut", empty: "Nothing is cut and still here.", progress: []orders.Progress{orders.Cut}},
	{name: "shipped", title: "Shipped", empty: "Nothing is shipped yet.", progress: []orders.Progress{orders.Shipped}},
	{name: "all", title: "All", empty: "There are no such orders."},
}

// has reports whether orders of a status and progress are in the tab.
func (t tab) has(c orders.Count) bool {
	return (t.statuses == nil || slices.Contains(t.statuses, c.Status)) &&
		(t.progress == nil || slices.Contains(t.progress, c.Progress))
}

type tabView struct {
	Name, Title string
	Orders      int
	Here        bool
}

type queueView struct {
	Here, Next   string // addresses
	Title, Empty string
	Search       string
	Tabs         []tabView
	Orders       []orderRow
	Event        int64 // the last one that the page knows of
}

// orderRow is an order in a list.
type orderRow struct{ orders.Order }

// Garment says what is ordered: the style or block and the fit.
func (o orderRow) Garment() string {
	in := o.Spec.Input()
	name := in.Style
	if name == "" {
		name = in.Block
	}
	name = sentence(words(strings.ReplaceAll(name, "-", " ")))
	name = strings.TrimSuffix(name, ".")
	if in.Fit != "" {
		name += ", " + words(in.Fit) + " fit"
	}
	return name
}

// State says in a word how far the order is.
func (o orderRow) State() string {
	switch {
	case o.Status == orders.Ready && o.Progress != orders.Uncut:
		return string(o.Progress)
	case o.Status == orders.Received:
		return "being drafted"
	}
	return string(o.Status)
}

// StateClass is the state's class in the style sheet.
func (o orderRow) StateClass() string { return "is-" + string(o.Status) }

// Why says shortly why an order is held, has failed or was cancelled.
func (o orderRow) Why() string {
	switch {
	case o.Reason == orders.Implausible && len(o.Faults) == 1:
		return "1 question"
	case o.Reason == orders.Implausible:
		return fmt.Sprintf("%d questions", len(o.Faults))
	}
	return words(o.Reason)
}

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
	v := queueView{Title: here.title, Empty: here.empty, Search: strings.TrimSpace(c.QueryParam("q"))}
	query := url.Values{"show": {here.name}}
	if v.Search != "" {
		query.Set("q", v.Search)
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
		view := tabView{Name: t.name, Title: t.title, Here: t.name == here.name && v.Search == ""}
		for _, count := range counts {
			if t.has(count) {
				view.Orders += count.Orders
			}
		}
		v.Tabs = append(v.Tabs, view)
	}
	list, next, err := r.service.Orders.List(ctx, s.Caller, orders.Filter{Statuses: here.statuses,
		Progress: here.progress, Search: v.Search}, pageOf(c))
	if err != nil {
		return err
	}
	for _, o := range list {
		v.Orders = append(v.Orders, orderRow{o})
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
	progress := orders.Progress(act)
	if progress != orders.Cut && progress != orders.Shipped {
		return service.NotFound("act")
	}
	var marked, refused []string
	for _, order := range chosen {
		o, err := r.service.Orders.SetProgress(c.Request().Context(), s.Caller, order, progress, "")
		if e, ok := errors.AsType[*service.Error](err); ok {
			refused = append(refused, r.named(c, s, order)+" ("+e.Detail+")")
			continue
		}
		if err != nil {
			return err
		}
		marked = append(marked, o.Reference)
	}
	var notice string
	if len(marked) > 0 {
		notice = fmt.Sprintf("Marked as %s: %s.", progress, few(marked))
	}
	if len(refused) > 0 {
		notice += " Not marked: " + few(refused) + "."
	}
	return r.done(c, back, "%s", strings.TrimSpace(notice))
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
