package workroom

import (
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
	"tapeline/service/orders"
)

// measureGroups orders the measurements as a tape goes: what is not named here
// follows at the end.
var measureGroups = []struct {
	title string
	names []string
}{
	{"Round the body", []string{"bust_girth", "over_bust_girth", "under_bust_girth", "waist_girth", "high_hip_girth",
		"hip_girth", "belly_girth"}},
	{"Head, neck and shoulders", []string{"head_girth", "neck_girth", "neck_base_girth", "shoulder_length",
		"shoulder_slope"}},
	{"Across", []string{"back_width", "back_width_armpit_level", "chest_width", "bust_point_width"}},
	{"Down the body", []string{"height", "side_neck_to_bust", "front_waist_length", "nape_to_waist", "scye_depth",
		"waist_to_hip", "waist_to_belly", "waist_to_thigh", "waist_to_knee", "waist_to_floor"}},
	{"Arm and hand", []string{"upper_arm_girth", "elbow_girth", "wrist_girth", "hand_girth", "arm_length",
		"shoulder_to_elbow", "nape_to_wrist"}},
	{"Leg and foot", []string{"body_rise", "total_crotch_length", "inside_leg", "outside_leg", "thigh_girth",
		"knee_girth", "calf_girth", "ankle_girth", "foot_girth"}},
}

type measureView struct {
	customers.Customer
	Title    string
	Unit     string
	Version  int // of the latest set; 0 for none
	Groups   []measureGroup
	Findings []findingView
	Faults   service.Faults
	Held     []orderRow // orders that wait for an answer about the former numbers
}

type measureGroup struct {
	Title  string
	Fields []measureField
}

type measureField struct {
	customers.Info
	Value string // as typed or as it was
	Angle bool
}

type findingView struct {
	customers.Finding
	Name        string
	Corrections []correction
}

// correction is one number that would be right.
type correction struct{ Name, Value string }

// groups returns the fields of the form with values.
func groups(values map[string]string) []measureGroup {
	known := map[string]customers.Info{}
	var rest []string
	for _, info := range customers.Known() {
		known[info.Name] = info
		rest = append(rest, info.Name)
	}
	var list []measureGroup
	add := func(title string, names []string) {
		g := measureGroup{Title: title}
		for _, name := range names {
			if info, ok := known[name]; ok {
				g.Fields = append(g.Fields, measureField{Info: info, Value: values[name], Angle: info.Unit == "degree"})
				rest = slices.DeleteFunc(rest, func(n string) bool { return n == name })
			}
		}
		if g.Fields != nil {
			list = append(list, g)
		}
	}
	for _, g := range measureGroups {
		add(g.title, g.names)
	}
	add("From the floor, and others", slices.Clone(rest))
	return list
}

// measureForm returns the form for a customer, filled with the latest measurements.
func (r *Room) measureForm(c echo.Context, s access.Session) (v measureView, latest customers.Set, err error) {
	ctx := c.Request().Context()
	id, err := id(c, "customer")
	if err != nil {
		return v, latest, err
	}
	if v.Customer, err = r.service.Customers.GetUnerased(ctx, s.Caller, id); err != nil {
		return v, latest, err
	}
	v.Title = nameOf(v.Customer)
	sets, _, err := r.service.Customers.Sets(ctx, s.Caller, id, service.Page{Limit: 1})
	if err != nil {
		return v, latest, err
	}
	v.Unit = "cm"
	if len(sets) > 0 {
		latest, v.Unit, v.Version = sets[0], sets[0].Unit, sets[0].Version
	}
	held, _, err := r.service.Orders.List(ctx, s.Caller, orders.Filter{CustomerID: id,
		Statuses: []orders.Status{orders.Held}}, service.Page{Limit: rows})
	for _, o := range held {
		if o.Reason == orders.Implausible || o.Reason == orders.Undraftable {
			v.Held = append(v.Held, orderRow{Order: o})
		}
	}
	return v, latest, err
}

func (r *Room) measurePage(c echo.Context, s access.Session) error {
	v, latest, err := r.measureForm(c, s)
	if err != nil {
		return err
	}
	if unit := c.QueryParam("unit"); unit == "cm" || unit == "inch" {
		v.Unit = unit
	}
	values := map[string]string{}
	for name, value := range latest.In(v.Unit) {
		values[name] = number(value)
	}
	v.Groups = groups(values)
	if v.Version > 0 {
		if v.Findings, err = r.findings(c, s, customers.Measurements{Unit: v.Unit, Values: latest.In(v.Unit)}); err != nil {
			return err
		}
	}
	return r.show(c, http.StatusOK, "measure", &s, v)
}

// findings assesses measurements.
func (r *Room) findings(c echo.Context, s access.Session, m customers.Measurements) ([]findingView, error) {
	a, err := r.service.Customers.Assess(c.Request().Context(), s.Caller, m, customers.Garment{})
	if err != nil {
		return nil, err
	}
	list := []findingView{}
	for _, f := range a.Findings {
		v := findingView{Finding: f, Name: last(f.Field)}
		for _, name := range slices.Sorted(maps.Keys(f.Corrected)) {
			v.Corrections = append(v.Corrections, correction{name, number(f.Corrected[name])})
		}
		list = append(list, v)
	}
	return list, nil
}

// typed reads the numbers of the form.
func typed(form url.Values) (customers.Measurements, error) {
	m := customers.Measurements{Unit: form.Get("unit"), Values: map[string]float64{}}
	if m.Unit != "cm" && m.Unit != "inch" {
		return m, service.Invalid(service.Faults{{Code: "not_a_choice", Field: "unit", Accepted: "cm or inch"}})
	}
	return m, readNumbers(form, m.Values)
}

// assess is the live check of what is typed.
func (r *Room) assess(c echo.Context, s access.Session) error {
	id, err := id(c, "customer")
	if err != nil {
		return err
	}
	if _, err := r.service.Customers.GetUnerased(c.Request().Context(), s.Caller, id); err != nil {
		return err
	}
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	m, err := typed(form)
	v := measureView{Unit: m.Unit, Version: 1}
	if e, ok := errors.AsType[*service.Error](err); ok {
		v.Faults = e.Faults
		return r.showPart(c, "measure", "findings", v)
	}
	if v.Findings, err = r.findings(c, s, m); err != nil {
		return err
	}
	return r.showPart(c, "measure", "findings", v)
}

// measure stores what was typed as the next version, and goes on with the held
// orders that were chosen.
func (r *Room) measure(c echo.Context, s access.Session) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	v, _, err := r.measureForm(c, s)
	if err != nil {
		return err
	}
	m, err := typed(form)
	if err == nil {
		if len(m.Values) == 0 {
			err = service.Invalid(service.Faults{{Code: "missing", Accepted: "give at least one measurement"}})
		} else if form.Get("version") != strconv.Itoa(v.Version) {
			err = service.Invalid(service.Faults{{Code: "contradiction", Accepted: "somebody saved version " +
				strconv.Itoa(v.Version) + " meanwhile: compare it in the customer's page, then save this one again"}})
		}
	}
	var set customers.Set
	if err == nil {
		set, err = r.service.Customers.AddSet(c.Request().Context(), s.Caller, v.ID, m)
	}
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeInvalidInput {
		v.Unit, v.Faults = m.Unit, e.Faults
		values := map[string]string{}
		for name := range form {
			if len(name) > 2 && name[:2] == "m." {
				values[name[2:]] = form.Get(name)
			}
		}
		v.Groups = groups(values)
		return r.show(c, http.StatusUnprocessableEntity, "measure", &s, v)
	}
	if err != nil {
		return err
	}
	for _, o := range v.Held {
		if !slices.Contains(form["order"], o.ID.String()) {
			continue
		}
		if _, err := r.service.Orders.Confirm(c.Request().Context(), s.Caller, o.ID, set.ID, "measured again"); err != nil {
			if e, ok := errors.AsType[*service.Error](err); ok {
				return r.done(c, Root+"/orders/"+o.ID.String(), "Saved as version %d; the order does not go on: %s",
					set.Version, sentence(e.Error()))
			}
			return err
		}
	}
	return r.done(c, Root+"/customers/"+v.ID.String(), "Saved as version %d.", set.Version)
}
