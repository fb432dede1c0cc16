package workroom

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
)

func (r *Room) registerSettings(g *echo.Group) {
	g.GET("/settings", r.admin(r.keysPage))
	g.POST("/settings/keys", r.admin(r.createKey))
	g.POST("/settings/keys/:key/revoke", r.admin(r.revokeKey))
	g.POST("/settings/sessions/:session/end", r.admin(r.endSession))
	r.registerWebhooks(g)
	r.registerRules(g)
}

// refusals says beside which field a form is refused, and why; "" is the form as a
// whole.
type refusals map[string]string

// refusalsOf returns the refusals of an error that a person can mend, and otherwise
// the error.
func refusalsOf(err error) (refusals, error) {
	e, ok := errors.AsType[*service.Error](err)
	if !ok || e.Code == service.CodeNotFound {
		return nil, err
	}
	list := refusals{}
	for _, f := range e.Faults {
		field, _, _ := strings.Cut(strings.TrimPrefix(f.Field, "/"), "/") // of a list, its field
		list[field] = sentence(f.Accepted)
	}
	if len(list) == 0 {
		list[""] = sentence(e.Detail)
	}
	return list, nil
}

// requireLine refuses a text that is not one line of at most the given number of
// characters, and one with characters that reorder or hide others.
func (list refusals) requireLine(field, text string, low, high int) {
	if service.CheckLine(field, text, low, high) != nil {
		list[field] = fmt.Sprintf("One line of %d to %d characters.", low, high)
	}
}

type keysView struct {
	Keys      []access.Key
	Sessions  []access.Session
	Own       uuid.UUID // the key of the session
	OwnID     uuid.UUID // the session
	Now       time.Time
	Roles     []service.Role
	New       access.Key // just created; its secret is shown once
	Secret    string
	Name      string // as typed
	Role      service.Role
	Test      bool
	Origins   string // as typed, one to a line
	ExpiresOn string
	Refused   refusals
}

// State returns whether a key opens anything, in one word.
func (v keysView) State(k access.Key) string {
	switch {
	case k.RevokedAt != nil:
		return "revoked"
	case k.Expired(v.Now):
		return "expired"
	}
	return "valid"
}

func (r *Room) keysPage(c echo.Context, s access.Session) error {
	return r.showKeys(c, s, http.StatusOK, keysView{Role: service.RoleStaff})
}

// showKeys adds the shop's keys and sessions to a view and shows it.
func (r *Room) showKeys(c echo.Context, s access.Session, status int, v keysView) (err error) {
	ctx := c.Request().Context()
	v.Own, v.OwnID, v.Now, v.Roles = s.Caller.Key, s.ID, r.service.Now(), service.Roles()
	if v.Keys, err = r.service.Access.Keys(ctx, s.Caller); err != nil {
		return err
	}
	if v.Sessions, err = r.service.Access.Sessions(ctx, s.Caller); err != nil {
		return err
	}
	return r.show(c, status, "settings-keys", &s, v)
}

// createKey creates a key and shows it on the page that answers: nothing stores it.
func (r *Room) createKey(c echo.Context, s access.Session) error {
	v := keysView{Name: strings.TrimSpace(c.FormValue("name")), Role: service.Role(c.FormValue("role")),
		Test: c.FormValue("test") == "yes", Origins: c.FormValue("origins"), ExpiresOn: c.FormValue("expires_at"),
		Refused: refusals{}}
	v.Refused.requireLine("name", v.Name, 1, 120)
	if !slices.Contains(service.Roles(), v.Role) {
		v.Refused["role"] = "Choose publishable, shop, staff or admin."
	}
	n := access.NewKey{Name: v.Name, Role: v.Role, Test: v.Test}
	if v.Role == service.RolePublishable {
		n.Origins = strings.Fields(v.Origins)
	}
	if v.ExpiresOn != "" {
		day, err := time.Parse(time.DateOnly, v.ExpiresOn)
		if err != nil {
			v.Refused["expires_at"] = "A day such as 2027-03-31."
		}
		end := day.AddDate(0, 0, 1) // it is valid on that day, in UTC
		n.ExpiresAt = &end
	}
	if len(v.Refused) > 0 {
		return r.showKeys(c, s, http.StatusUnprocessableEntity, v)
	}
	created, secret, err := r.service.Access.CreateKey(c.Request().Context(), s.Caller, n)
	if err != nil {
		if v.Refused, err = refusalsOf(err); err != nil {
			return err
		}
		return r.showKeys(c, s, http.StatusUnprocessableEntity, v)
	}
	return r.showKeys(c, s, http.StatusCreated, keysView{New: created, Secret: secret, Role: service.RoleStaff})
}

func (r *Room) revokeKey(c echo.Context, s access.Session) error {
	key, err := id(c, "key")
	if err != nil {
		return err
	}
	if err := r.service.Access.RevokeKey(c.Request().Context(), s.Caller, key); err != nil {
		return err
	}
	return r.done(c, Root+"/settings", "Revoked. The sessions opened with the key have ended.")
}

func (r *Room) endSession(c echo.Context, s access.Session) error {
	session, err := id(c, "session")
	if err != nil {
		return err
	}
	if err := r.service.Access.EndSession(c.Request().Context(), s.Caller, session); err != nil {
		return err
	}
	return r.done(c, Root+"/settings", "The session has ended.")
}
