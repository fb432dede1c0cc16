package workroom

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/webhooks"
)

func (r *Room) registerWebhooks(g *echo.Group) {
	g.GET("/settings/webhooks", r.admin(r.webhooksPage))
	g.POST("/settings/webhooks", r.admin(r.createEndpoint))
	g.POST("/settings/inbound/secret", r.admin(r.rotateInbound))
	g.POST("/settings/inbound/stop", r.admin(r.stopInbound))
	g.GET("/settings/webhooks/:endpoint", r.admin(r.endpointPage))
	g.POST("/settings/webhooks/:endpoint", r.admin(r.changeEndpoint))
	g.POST("/settings/webhooks/:endpoint/enabled", r.admin(r.enableEndpoint))
	g.POST("/settings/webhooks/:endpoint/secret", r.admin(r.rotateEndpoint))
	g.POST("/settings/webhooks/:endpoint/test", r.admin(r.testEndpoint))
	g.POST("/settings/webhooks/:endpoint/delete", r.admin(r.deleteEndpoint))
	g.GET("/settings/messages/:message", r.admin(r.messagePage))
	g.POST("/settings/messages/:message/replay", r.admin(r.replayMessage))
}

// overlap is how long the former secret is valid beside a new one.
const overlap = 24 * time.Hour

// endpointForm holds the typed fields of an endpoint.
type endpointForm struct {
	URL, Description string
	Events           map[webhooks.EventType]bool
	All              []webhooks.EventType
	Refused          refusals
}

func newEndpointForm(url, description string, events []webhooks.EventType) endpointForm {
	f := endpointForm{URL: url, Description: description, Events: map[webhooks.EventType]bool{},
		All: webhooks.EventTypes(), Refused: refusals{}}
	for _, e := range events {
		f.Events[e] = true
	}
	return f
}

// readEndpoint reads the form, and what is wrong with it.
func readEndpoint(c echo.Context) (endpointForm, []webhooks.EventType, error) {
	form, err := c.FormParams()
	if err != nil {
		return endpointForm{}, nil, err
	}
	var events []webhooks.EventType
	for _, e := range webhooks.EventTypes() {
		if slices.Contains(form["event"], string(e)) {
			events = append(events, e)
		}
	}
	f := newEndpointForm(strings.TrimSpace(form.Get("url")), strings.TrimSpace(form.Get("description")), events)
	f.Refused.requireLine("url", f.URL, 1, 2000)
	f.Refused.requireLine("description", f.Description, 0, 500)
	if len(events) == 0 {
		f.Refused["event"] = "Choose at least one event."
	}
	return f, events, nil
}

type webhooksView struct {
	Endpoints []webhooks.Endpoint
	Inbound   webhooks.Inbound
	Secret    string // of inbound messages, shown once
	Form      endpointForm
}

func (r *Room) webhooksPage(c echo.Context, s access.Session) error {
	return r.showWebhooks(c, s, http.StatusOK, webhooksView{Form: newEndpointForm("", "", webhooks.EventTypes())})
}

// showWebhooks adds the shop's endpoints to a view and shows it.
func (r *Room) showWebhooks(c echo.Context, s access.Session, status int, v webhooksView) (err error) {
	ctx := c.Request().Context()
	if v.Endpoints, err = r.service.Webhooks.Endpoints(ctx, s.Caller); err != nil {
		return err
	}
	if v.Inbound, err = r.service.Webhooks.Inbound(ctx, s.Caller); err != nil {
		return err
	}
	return r.show(c, status, "settings-webhooks", &s, v)
}

func (r *Room) createEndpoint(c echo.Context, s access.Session) error {
	form, events, err := readEndpoint(c)
	if err != nil {
		return err
	}
	var created webhooks.Endpoint
	var secret string
	if len(form.Refused) == 0 {
		created, secret, err = r.service.Webhooks.CreateEndpoint(c.Request().Context(), s.Caller,
			webhooks.NewEndpoint{URL: form.URL, Events: events, Description: form.Description})
		if err == nil {
			return r.showEndpoint(c, s, http.StatusCreated, created.ID, endpointView{Secret: secret})
		}
		if form.Refused, err = refusalsOf(err); err != nil {
			return err
		}
	}
	return r.showWebhooks(c, s, http.StatusUnprocessableEntity, webhooksView{Form: form})
}

func (r *Room) rotateInbound(c echo.Context, s access.Session) error {
	_, secret, err := r.service.Webhooks.RotateInboundSecret(c.Request().Context(), s.Caller, overlap)
	if err != nil {
		return err
	}
	return r.showWebhooks(c, s, http.StatusCreated, webhooksView{Secret: secret,
		Form: newEndpointForm("", "", webhooks.EventTypes())})
}

func (r *Room) stopInbound(c echo.Context, s access.Session) error {
	if err := r.service.Webhooks.RemoveInboundSecret(c.Request().Context(), s.Caller); err != nil {
		return err
	}
	return r.done(c, Root+"/settings/webhooks", "Orders by signed message are no longer taken.")
}

type endpointView struct {
	webhooks.Endpoint
	Secret   string // shown once
	Form     endpointForm
	Statuses []string
	Status   string // of the messages that are listed; "" lists all
	Messages []webhooks.Message
	Next     string // the ID to continue after; "" on the last page
}

// messageStatuses are the statuses of messages by which they are listed.
var messageStatuses = []string{"pending", "delivered", "dead"}

func (r *Room) endpointPage(c echo.Context, s access.Session) error {
	endpoint, err := id(c, "endpoint")
	if err != nil {
		return err
	}
	return r.showEndpoint(c, s, http.StatusOK, endpoint, endpointView{})
}

// showEndpoint adds an endpoint and its messages to a view and shows it. A form that
// was refused stays as it was typed.
func (r *Room) showEndpoint(c echo.Context, s access.Session, status int, endpoint uuid.UUID, v endpointView) error {
	ctx := c.Request().Context()
	var err error
	if v.Endpoint, err = r.service.Webhooks.Endpoint(ctx, s.Caller, endpoint); err != nil {
		return err
	}
	if v.Form.All == nil {
		v.Form = newEndpointForm(v.URL, v.Description, v.Events)
	}
	v.Statuses = messageStatuses
	if status := c.QueryParam("status"); slices.Contains(messageStatuses, status) {
		v.Status = status
	}
	var next uuid.UUID
	v.Messages, next, err = r.service.Webhooks.Messages(ctx, s.Caller,
		webhooks.Filter{EndpointID: endpoint, Status: v.Status}, pageOf(c))
	if err != nil {
		return err
	}
	if next != uuid.Nil {
		v.Next = next.String()
	}
	return r.show(c, status, "settings-endpoint", &s, v)
}

// changeEndpoint changes the address, events and description of an endpoint.
func (r *Room) changeEndpoint(c echo.Context, s access.Session) error {
	endpoint, err := id(c, "endpoint")
	if err != nil {
		return err
	}
	form, events, err := readEndpoint(c)
	if err != nil {
		return err
	}
	if len(form.Refused) == 0 {
		_, err = r.service.Webhooks.UpdateEndpoint(c.Request().Context(), s.Caller, endpoint, webhooks.EndpointChanges{
			URL: form.URL, Events: events, Description: form.Description})
		if err == nil {
			return r.done(c, Root+"/settings/webhooks/"+endpoint.String(), "Saved.")
		}
		if form.Refused, err = refusalsOf(err); err != nil {
			return err
		}
	}
	return r.showEndpoint(c, s, http.StatusUnprocessableEntity, endpoint, endpointView{Form: form})
}

func (r *Room) enableEndpoint(c echo.Context, s access.Session) error {
	endpoint, err := id(c, "endpoint")
	if err != nil {
		return err
	}
	enabled := c.FormValue("enabled") == "true"
	if _, err := r.service.Webhooks.UpdateEndpoint(c.Request().Context(), s.Caller, endpoint,
		webhooks.EndpointChanges{Enabled: &enabled}); err != nil {
		return err
	}
	notice := "Disabled. Its messages wait for a week at most."
	if enabled {
		notice = "Enabled."
	}
	return r.done(c, Root+"/settings/webhooks/"+endpoint.String(), "%s", notice)
}

func (r *Room) rotateEndpoint(c echo.Context, s access.Session) error {
	endpoint, err := id(c, "endpoint")
	if err != nil {
		return err
	}
	_, secret, err := r.service.Webhooks.RotateEndpointSecret(c.Request().Context(), s.Caller, endpoint, overlap)
	if err != nil {
		return err
	}
	return r.showEndpoint(c, s, http.StatusCreated, endpoint, endpointView{Secret: secret})
}

func (r *Room) testEndpoint(c echo.Context, s access.Session) error {
	endpoint, err := id(c, "endpoint")
	if err != nil {
		return err
	}
	m, err := r.service.Webhooks.TestEndpoint(c.Request().Context(), s.Caller, endpoint)
	if err != nil {
		return err
	}
	return r.done(c, Root+"/settings/messages/"+m.ID.String(), "The test message is on its way.")
}

func (r *Room) deleteEndpoint(c echo.Context, s access.Session) error {
	endpoint, err := id(c, "endpoint")
	if err != nil {
		return err
	}
	if err := r.service.Webhooks.DeleteEndpoint(c.Request().Context(), s.Caller, endpoint); err != nil {
		return err
	}
	return r.done(c, Root+"/settings/webhooks", "Deleted.")
}

type messageView struct {
	webhooks.Message
	Text     string // the body as JSON, over several lines
	List     []webhooks.Attempt
	Endpoint webhooks.Endpoint
	Gone     bool // the endpoint was deleted
}

func (r *Room) messagePage(c echo.Context, s access.Session) error {
	ctx := c.Request().Context()
	message, err := id(c, "message")
	if err != nil {
		return err
	}
	var v messageView
	if v.Message, err = r.service.Webhooks.Message(ctx, s.Caller, message); err != nil {
		return err
	}
	if v.List, err = r.service.Webhooks.Attempts(ctx, s.Caller, message); err != nil {
		return err
	}
	v.Endpoint, err = r.service.Webhooks.Endpoint(ctx, s.Caller, v.EndpointID)
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeNotFound {
		v.Gone, err = true, nil
	}
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(v.Body, "", "  ")
	if err != nil {
		return err
	}
	v.Text = string(text)
	return r.show(c, http.StatusOK, "settings-message", &s, v)
}

func (r *Room) replayMessage(c echo.Context, s access.Session) error {
	message, err := id(c, "message")
	if err != nil {
		return err
	}
	if _, err := r.service.Webhooks.ReplayMessage(c.Request().Context(), s.Caller, message); err != nil {
		return err
	}
	return r.done(c, Root+"/settings/messages/"+message.String(), "It is sent again, under the same ID.")
}
