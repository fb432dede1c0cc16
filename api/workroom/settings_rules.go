package workroom

import (
	"cmp"
	"errors"
	"fmt"
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
)

func (r *Room) registerRules(g *echo.Group) {
	g.GET("/settings/rules", r.admin(r.rulesPage))
	g.POST("/settings/levels", r.admin(r.setLevels))
	g.POST("/settings/shop", r.admin(r.changeSettings))
	g.GET("/settings/audit", r.admin(r.auditPage))
}

type rulesView struct {
	Note, Confirm, Refuse string // percent; "" is the default
	DefaultNote           string
	DefaultConfirm        string
	Days                  string // "" keeps customers until they are erased
	KeptDays              int    // as stored; 0: until they are erased
	MaxDays               int
	TimeZone              string
	FitEachDraft          bool   // as stored
	HoldOnFitting         string // as stored
	Refused               refusals
}

func (r *Room) rulesPage(c echo.Context, s access.Session) error {
	v, err := r.rulesView(c, s)
	if err != nil {
		return err
	}
	return r.show(c, http.StatusOK, "settings-rules", &s, v)
}

func (r *Room) rulesView(c echo.Context, s access.Session) (rulesView, error) {
	usual := customers.DefaultLevels()
	v := rulesView{DefaultNote: number(100 * usual.Note), DefaultConfirm: number(100 * usual.Confirm),
		MaxDays: access.MaxRetentionDays}
	l, err := r.service.Customers.Levels(c.Request().Context(), s.Caller)
	if err != nil {
		return v, err
	}
	if l.Note != usual.Note {
		v.Note = number(100 * l.Note)
	}
	if l.Confirm != usual.Confirm {
		v.Confirm = number(100 * l.Confirm)
	}
	if l.Refuse != 0 {
		v.Refuse = number(100 * l.Refuse)
	}
	set, err := r.service.Access.Settings(c.Request().Context(), s.Caller)
	v.TimeZone, v.KeptDays = set.TimeZone, set.RetentionDays
	v.FitEachDraft, v.HoldOnFitting = set.FitEachDraft, set.HoldOnFitting
	if v.KeptDays > 0 {
		v.Days = strconv.Itoa(v.KeptDays)
	}
	return v, err
}

// readChance reads a chance typed as percent; "" is 0, the default.
func readChance(c echo.Context, field string, refused refusals) float64 {
	text := strings.TrimSpace(strings.ReplaceAll(c.FormValue(field), ",", "."))
	if text == "" {
		return 0
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, "%")), 64)
	if err != nil || !(v > 0 && v < 100) {
		refused[field] = "A number such as 14.3, or nothing for the default."
	}
	return v / 100
}

func (r *Room) setLevels(c echo.Context, s access.Session) error {
	refused := refusals{}
	l := customers.Levels{Note: readChance(c, "note", refused), Confirm: readChance(c, "confirm", refused),
		Refuse: readChance(c, "refuse", refused)}
	if len(refused) == 0 {
		_, err := r.service.Customers.SetLevels(c.Request().Context(), s.Caller, l)
		if err == nil {
			return r.done(c, Root+"/settings/rules", "Saved. The levels apply to later checks.")
		}
		e, ok := errors.AsType[*service.Error](err)
		if !ok || e.Code != service.CodeInvalidInput {
			return err
		}
		refused = refusedLevels(e.Faults)
	}
	v, err := r.rulesView(c, s)
	if err != nil {
		return err
	}
	v.Note, v.Confirm, v.Refuse = c.FormValue("note"), c.FormValue("confirm"), c.FormValue("refuse")
	v.Refused = refused
	return r.show(c, http.StatusUnprocessableEntity, "settings-rules", &s, v)
}

// refusedLevels says in percent what is wrong with levels.
func refusedLevels(faults service.Faults) refusals {
	refused := refusals{}
	for _, f := range faults {
		field := strings.TrimPrefix(f.Field, "/")
		low, high := customers.MinChance, customers.MaxChance
		if field == "refuse" {
			low, high = customers.MinRefuse, customers.MaxRefuse
		}
		switch {
		case f.Related == nil:
			refused[field] = fmt.Sprintf("From %s to %s %%.", number(100*low), number(100*high))
		case field == "note":
			refused[field] = "At most the chance at which the order asks."
		default:
			refused[field] = "At least the chance at which the order asks."
		}
	}
	return refused
}

// changeSettings says how long customers are kept, in which time zone the shop lives,
// or which fittings hold an order: what the form has.
func (r *Room) changeSettings(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	v, err := r.rulesView(c, s)
	if err != nil {
		return err
	}
	v.Refused = refusals{}
	var change access.SettingsChange
	if form.Has("time_zone") {
		v.TimeZone = strings.TrimSpace(form.Get("time_zone"))
		change.TimeZone = &v.TimeZone
	}
	if form.Has("hold_on_fitting") {
		v.HoldOnFitting, v.FitEachDraft = form.Get("hold_on_fitting"), form.Get("fit_each_draft") == "yes"
		change.HoldOnFitting, change.FitEachDraft = &v.HoldOnFitting, &v.FitEachDraft
	}
	if form.Has("retention_days") {
		v.Days = strings.TrimSpace(form.Get("retention_days"))
		days, err := strconv.Atoi(cmp.Or(v.Days, "0"))
		if err != nil {
			v.Refused["retention_days"] = "A whole number of days, or nothing."
		}
		change.RetentionDays = &days
		shorter := days > 0 && (v.KeptDays == 0 || days < v.KeptDays)
		if shorter && form.Get("sure") != "yes" {
			v.Refused["sure"] = "A shorter time erases customers for good: confirm it."
		}
	}
	if len(v.Refused) == 0 {
		_, err := r.service.Access.ChangeSettings(c.Request().Context(), s.Caller, change)
		if err == nil {
			return r.done(c, Root+"/settings/rules", "Saved.")
		}
		if v.Refused, err = refusalsOf(err); err != nil {
			return err
		}
	}
	return r.show(c, http.StatusUnprocessableEntity, "settings-rules", &s, v)
}

type auditView struct {
	Actions []string
	Action  string // that is listed; "" lists all
	Subject string // the ID of the record that is listed; "" lists all
	Entries []auditRow
	Next    string
}

// auditRow is an entry as it is read: who, and what else is known.
type auditRow struct {
	access.Entry
	Who    string
	Detail []string
	Link   string // to the page of the subject; "" if it has none
}

// subjectPages are the pages of records that have one, by type of subject.
var subjectPages = map[string]string{"order": "/orders/", "customer": "/customers/",
	"webhook_endpoint": "/settings/webhooks/", "webhook_message": "/settings/messages/"}

func (r *Room) auditPage(c echo.Context, s access.Session) error {
	ctx := c.Request().Context()
	var v auditView
	var err error
	if v.Actions, err = r.service.Access.AuditActions(ctx, s.Caller); err != nil {
		return err
	}
	if action := c.QueryParam("action"); slices.Contains(v.Actions, action) {
		v.Action = action
	}
	subject, _ := uuid.Parse(c.QueryParam("subject"))
	if subject != uuid.Nil {
		v.Subject = subject.String()
	}
	before, _ := strconv.ParseInt(c.QueryParam("before"), 10, 64)
	entries, next, err := r.service.Access.Audit(ctx, s.Caller,
		access.Filter{Action: v.Action, SubjectID: subject}, before, rows)
	if err != nil {
		return err
	}
	keys, err := r.service.Access.Keys(ctx, s.Caller)
	if err != nil {
		return err
	}
	names := map[uuid.UUID]string{}
	for _, k := range keys {
		names[k.ID] = k.Name
	}
	for _, e := range entries {
		v.Entries = append(v.Entries, newAuditRow(e, names))
	}
	if next != 0 {
		query := url.Values{"before": {strconv.FormatInt(next, 10)}, "action": {v.Action}, "subject": {v.Subject}}
		v.Next = Root + "/settings/audit?" + query.Encode()
	}
	return r.show(c, http.StatusOK, "settings-audit", &s, v)
}

func newAuditRow(e access.Entry, keys map[uuid.UUID]string) auditRow {
	row := auditRow{Entry: e, Who: "the service or the operator"}
	if e.Actor != nil {
		row.Who = keys[*e.Actor]
	}
	for _, name := range slices.Sorted(maps.Keys(e.Detail)) {
		row.Detail = append(row.Detail, fmt.Sprintf("%s: %v", words(name), e.Detail[name]))
	}
	if page, ok := subjectPages[e.SubjectType]; ok && e.SubjectID != nil {
		row.Link = Root + page + e.SubjectID.String()
	}
	return row
}
