package access

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/service"
)

// MaxRetentionDays is the longest time for which customers can be kept after their
// last order, unless they are kept until they are erased.
const MaxRetentionDays = 3650

// Settings are what a shop decides for itself.
type Settings struct {
	TimeZone      string // a name of the IANA database, which says when the shop's day ends
	RetentionDays int    // days that customers are kept after their last order; 0: until they are erased
	FitEachDraft  bool   // each order's draft is tried on without being asked for
	HoldOnFitting string // the least grave kind of finding with which a fitting holds its order, Any or Off
}

// Settings of HoldOnFitting that are no kind of finding.
const (
	Off = "off" // no fitting holds its order
	Any = "any"
)

// HoldsOnFitting returns the values of HoldOnFitting.
func HoldsOnFitting() []string {
	return []string{Off, string(fitting.NotPutOn), string(fitting.Tight), Any}
}

// SettingsChange changes settings; nil leaves one as it is.
type SettingsChange struct {
	TimeZone      *string
	RetentionDays *int
	FitEachDraft  *bool
	HoldOnFitting *string
}

// Settings returns the settings of the caller's shop.
func (s *Service) Settings(ctx context.Context, caller service.Caller) (Settings, error) {
	return settingsOf(ctx, s.store.Queries, caller.Owner())
}

func settingsOf(ctx context.Context, q db.Queries, shop uuid.UUID) (Settings, error) {
	row, err := q.ShopSettings(ctx, shop)
	return Settings{TimeZone: row.TimeZone, RetentionDays: service.OrZero(row.RetentionDays),
		FitEachDraft: row.FitEachDraft, HoldOnFitting: cmp.Or(service.OrZero(row.HoldOnFitting), Off),
	}, service.OrNotFound(err, "shop")
}

// HoldOnFitting returns that setting of a shop.
func HoldOnFitting(ctx context.Context, q db.Queries, shop uuid.UUID) (string, error) {
	set, err := settingsOf(ctx, q, shop)
	return set.HoldOnFitting, err
}

// ChangeSettings changes settings of the caller's shop. It fails with
// CodeInvalidInput.
func (s *Service) ChangeSettings(
	ctx context.Context, caller service.Caller, c SettingsChange,
) (set Settings, err error) {
	if faults := c.check(); len(faults) > 0 {
		return Settings{}, service.Invalid(faults)
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.LockShop(ctx, caller.Shop); err != nil {
			return err
		}
		if set, err = settingsOf(ctx, tx.Queries, caller.Shop); err != nil {
			return err
		}
		now := s.clock.Now()
		if c.TimeZone != nil && *c.TimeZone != set.TimeZone {
			set.TimeZone = *c.TimeZone
			if err := Record(ctx, tx, caller, Action{Name: "shop.time_zone_set", Subject: caller.Shop, At: now,
				Detail: map[string]any{"time_zone": set.TimeZone}}); err != nil {
				return err
			}
		}
		if c.RetentionDays != nil && *c.RetentionDays != set.RetentionDays {
			set.RetentionDays = *c.RetentionDays
			if err := Record(ctx, tx, caller, Action{Name: "shop.retention_set", Subject: caller.Shop, At: now,
				Detail: map[string]any{"days": service.Optional(set.RetentionDays)}}); err != nil {
				return err
			}
		}
		if c.FitEachDraft != nil && *c.FitEachDraft != set.FitEachDraft {
			set.FitEachDraft = *c.FitEachDraft
			if err := Record(ctx, tx, caller, Action{Name: "shop.fit_each_draft_set", Subject: caller.Shop, At: now,
				Detail: map[string]any{"fit_each_draft": set.FitEachDraft}}); err != nil {
				return err
			}
		}
		if c.HoldOnFitting != nil && *c.HoldOnFitting != set.HoldOnFitting {
			set.HoldOnFitting = *c.HoldOnFitting
			if err := Record(ctx, tx, caller, Action{Name: "shop.hold_on_fitting_set", Subject: caller.Shop, At: now,
				Detail: map[string]any{"hold_on_fitting": set.HoldOnFitting}}); err != nil {
				return err
			}
		}
		return storeSettings(ctx, tx, caller.Shop, set)
	})
	return set, err
}

func storeSettings(ctx context.Context, tx *db.Tx, shop uuid.UUID, set Settings) error {
	p := query.SetShopSettingsParams{ID: shop, TimeZone: set.TimeZone, RetentionDays: service.Optional(set.RetentionDays),
		FitEachDraft: set.FitEachDraft}
	if set.HoldOnFitting != Off {
		p.HoldOnFitting = &set.HoldOnFitting
	}
	_, err := tx.SetShopSettings(ctx, p)
	return err
}

func (c SettingsChange) check() (faults service.Faults) {
	if c.TimeZone != nil {
		if _, err := zone(*c.TimeZone); err != nil {
			faults = append(faults, service.Fault{Code: fault.Choice, Field: "/time_zone", Value: fault.Shorten(*c.TimeZone),
				Accepted: "a name of the IANA time zone database such as Europe/Lisbon"})
		}
	}
	if days := c.RetentionDays; days != nil && (*days < 0 || *days > MaxRetentionDays) {
		faults = append(faults, service.Fault{Code: fault.Range, Field: "/retention_days", Value: strconv.Itoa(*days),
			Accepted: fmt.Sprintf("1 to %d days, or 0 to keep customers until they are erased", MaxRetentionDays)})
	}
	if hold := c.HoldOnFitting; hold != nil {
		faults = append(faults, fault.OneOf("/hold_on_fitting", *hold, HoldsOnFitting()...)...)
	}
	return faults
}

// zone returns a time zone by its name. The machine's own is none: it differs from
// one machine to another.
func zone(name string) (*time.Location, error) {
	if name == "" || name == "Local" || len(name) > 60 {
		return nil, fmt.Errorf("no time zone: %q", name)
	}
	return time.LoadLocation(name)
}

// Location returns the time zone of a shop, UTC if this machine does not know it.
func Location(ctx context.Context, q db.Queries, shop uuid.UUID) (*time.Location, error) {
	set, err := settingsOf(ctx, q, shop)
	if err != nil {
		return nil, err
	}
	if found, err := zone(set.TimeZone); err == nil {
		return found, nil
	}
	return time.UTC, nil
}

// Location returns the time zone of the caller's shop.
func (s *Service) Location(ctx context.Context, caller service.Caller) (*time.Location, error) {
	return Location(ctx, s.store.Queries, caller.Owner())
}

// Day returns the day of a time in a time zone, as midnight in UTC.
func Day(t time.Time, in *time.Location) time.Time {
	year, month, day := t.In(in).Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}
