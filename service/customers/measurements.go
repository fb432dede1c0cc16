package customers

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/service"
)

// Measurements are measurements as the shop gave them.
type Measurements struct {
	Unit   string             // cm or inch
	Values map[string]float64 // by name; angles in degrees
}

// MM returns the measurements in mm, angles in degrees.
func (m Measurements) MM() body.Measures { return body.Unit(m.Unit).Measures(m.Values) }

// In returns the values in another unit.
func (m Measurements) In(unit string) map[string]float64 {
	if m.Unit == unit {
		return m.Values
	}
	return body.Unit(unit).Values(m.MM())
}

// Set is a customer's measurements as taken at one time. It is immutable; other
// measurements are another version.
type Set struct {
	ID         uuid.UUID
	CustomerID uuid.UUID
	Version    int // 1, 2, ... for each customer
	Measurements
	Assessment Assessment // when the set was stored
	CreatedAt  time.Time
}

// AddSet stores the next version of a customer's measurements. It fails with
// CodeInvalidInput if the assessment refuses them, and with CodeErased.
func (s *Service) AddSet(
	ctx context.Context, caller service.Caller, customer uuid.UUID, m Measurements,
) (Set, error) {
	if _, err := s.GetUnerased(ctx, caller, customer); err != nil {
		return Set{}, err
	}
	return s.addSet(ctx, s.store.Queries, caller, customer, m)
}

func (s *Service) addSet(
	ctx context.Context, q db.Queries, caller service.Caller, customer uuid.UUID, m Measurements,
) (Set, error) {
	levels, err := ShopLevels(ctx, q, caller.Shop)
	if err != nil {
		return Set{}, err
	}
	a := Assess(levels, m, Needs{})
	if !a.Acceptable() {
		return Set{}, service.Invalid(a.Faults(Refuse))
	}
	row := NewSetRow(caller, m, a, s.clock.NewID(), s.clock.Now())
	row.CustomerID = customer
	return InsertSet(ctx, q, row)
}

// CorrectSet stores the next version of a customer's measurements: the latest with
// some of its numbers replaced, or others added, in the unit of the latest. It fails as
// AddSet does, and with CodeWrongState if the customer has no measurements.
func (s *Service) CorrectSet(
	ctx context.Context, caller service.Caller, customer uuid.UUID, m Measurements,
) (set Set, err error) {
	if _, err := s.GetUnerased(ctx, caller, customer); err != nil {
		return Set{}, err
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		// Of two corrections at once the second builds on the first.
		if err := tx.LockCustomer(ctx, customer); err != nil {
			return err
		}
		row, err := tx.LatestMeasurementSet(ctx, query.LatestMeasurementSetParams{ShopID: caller.Shop, CustomerID: customer})
		if errors.Is(err, db.ErrNotFound) {
			return service.Refuse(service.CodeWrongState, "the customer has no measurements to correct: add a set first")
		}
		if err != nil {
			return err
		}
		latest, err := SetFromRow(row)
		if err != nil {
			return err
		}
		maps.Copy(latest.Values, m.In(latest.Unit))
		set, err = s.addSet(ctx, tx.Queries, caller, customer, latest.Measurements)
		return err
	})
	return set, err
}

// InsertSet stores the next version of a customer's measurements. It fails with
// CodeErased.
func InsertSet(ctx context.Context, q db.Queries, row query.MeasurementSet) (set Set, err error) {
	row.Version, err = q.InsertMeasurementSet(ctx, query.InsertMeasurementSetParams{
		ID: row.ID, ShopID: row.ShopID, CustomerID: row.CustomerID, Unit: row.Unit, Given: row.Given, Report: row.Report,
		CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt,
	})
	if err != nil {
		return Set{}, orErased(err)
	}
	return SetFromRow(row)
}

// NewSetRow returns the row of a new set, without its customer.
func NewSetRow(
	caller service.Caller, m Measurements, a Assessment, id uuid.UUID, now time.Time,
) query.MeasurementSet {
	return query.MeasurementSet{
		ID: id, ShopID: caller.Shop, Unit: m.Unit, Given: encode(m.Values), Report: encode(a),
		CreatedBy: caller.Actor(), CreatedAt: now,
	}
}

// SetFromRow decodes a stored set. It fails with CodeErased.
func SetFromRow(row query.MeasurementSet) (Set, error) {
	if row.ErasedAt != nil {
		return Set{}, Erased()
	}
	set := Set{
		ID: row.ID, CustomerID: row.CustomerID, Version: row.Version,
		Measurements: Measurements{Unit: row.Unit}, CreatedAt: row.CreatedAt,
	}
	if err := json.Unmarshal(row.Given, &set.Values); err != nil {
		return Set{}, fmt.Errorf("stored measurement set %s: %w", row.ID, err)
	}
	if err := json.Unmarshal(row.Report, &set.Assessment); err != nil {
		return Set{}, fmt.Errorf("stored assessment of measurement set %s: %w", row.ID, err)
	}
	return set, nil
}

// Set returns a measurement set. It fails with CodeNotFound and CodeErased.
func (s *Service) Set(ctx context.Context, caller service.Caller, id uuid.UUID) (Set, error) {
	row, err := s.store.MeasurementSet(ctx, query.MeasurementSetParams{ShopID: caller.Shop, ID: id})
	if err != nil {
		return Set{}, service.OrNotFound(err, "measurement set")
	}
	return SetFromRow(row)
}

// SetOf returns a measurement set that a request names and that must belong to
// a customer, or to any customer of the shop if customer is uuid.Nil. Otherwise
// it fails with CodeInvalidInput.
func SetOf(ctx context.Context, q db.Queries, caller service.Caller, customer, id uuid.UUID) (Set, error) {
	row, err := q.MeasurementSet(ctx, query.MeasurementSetParams{ShopID: caller.Shop, ID: id})
	if errors.Is(err, db.ErrNotFound) || err == nil && !usable(row, customer) {
		return Set{}, service.Invalid(service.Faults{{
			Code: "not_a_choice", Field: "/measurement_set_id",
			Accepted: "the ID of a measurement set of the customer that was not erased",
		}})
	}
	if err != nil {
		return Set{}, err
	}
	return SetFromRow(row)
}

// usable reports whether an order of a customer can use a set.
func usable(row query.MeasurementSet, customer uuid.UUID) bool {
	return row.ErasedAt == nil && (customer == uuid.Nil || row.CustomerID == customer)
}

// Sets lists a customer's measurement sets that are not erased, newest first.
func (s *Service) Sets(
	ctx context.Context, caller service.Caller, customer uuid.UUID, page service.Page,
) (list []Set, next uuid.UUID, err error) {
	if _, err := s.Get(ctx, caller, customer); err != nil {
		return nil, uuid.Nil, err
	}
	rows, err := s.store.MeasurementSets(ctx, query.MeasurementSetsParams{
		ShopID: caller.Shop, CustomerID: customer, Below: page.Below(), Limit: int(page.Rows()),
	})
	if err != nil {
		return nil, uuid.Nil, err
	}
	rows, next = service.Cut(rows, page, func(r query.MeasurementSet) uuid.UUID { return r.ID })
	list = make([]Set, len(rows))
	for i, row := range rows {
		if list[i], err = SetFromRow(row); err != nil {
			return nil, uuid.Nil, err
		}
	}
	return list, next, nil
}

// Info describes a measurement.
type Info struct {
	Name       string
	Title      string  // as printed
	How        string  // how to take it, in one line
	Unit       string  // mm or degree: of Min and Max
	Min        float64 // hard limits
	Max        float64
	RequiredBy []string // blocks
}

// Known lists the measurements that can be given.
func Known() []Info {
	var list []Info
	for _, m := range body.All() {
		info := Info{
			Name: string(m.Name), Title: m.Title, How: m.How, Unit: string(m.Unit), Min: m.Min, Max: m.Max,
			RequiredBy: []string{},
		}
		for _, spec := range block.Specs() {
			if slices.Contains(spec.Requires, m.Name) {
				info.RequiredBy = append(info.RequiredBy, spec.Name)
			}
		}
		list = append(list, info)
	}
	return list
}

// encode encodes plain data, which cannot fail.
func encode(v any) json.RawMessage {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return data
}
