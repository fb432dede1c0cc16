package access

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
)

// Action is something done that the audit trail records.
type Action struct {
	Name    string // the type of the subject and what was done: api_key.revoked
	Subject uuid.UUID
	Detail  map[string]any // no personal data: it cannot be erased
	At      time.Time
}

// Record adds an action of the caller to the shop's audit trail, in the
// transaction of the action.
func Record(ctx context.Context, tx *db.Tx, caller service.Caller, a Action) error {
	kind, _, _ := strings.Cut(a.Name, ".")
	e := query.AppendAuditParams{ShopID: caller.Shop, Actor: caller.Actor(), Action: a.Name, SubjectType: kind,
		SubjectID: &a.Subject, At: a.At}
	if caller.RequestID != "" {
		e.RequestID = &caller.RequestID
	}
	if a.Detail != nil {
		detail, err := json.Marshal(a.Detail)
		if err != nil {
			return fmt.Errorf("detail of %s: %w", a.Name, err)
		}
		e.Detail = detail
	}
	return tx.AppendAudit(ctx, e)
}

// Entry is an entry of the audit trail.
type Entry struct {
	ID          int64
	Actor       *uuid.UUID // the key; nil: the service itself or the operator
	Action      string
	SubjectType string
	SubjectID   *uuid.UUID
	RequestID   *string
	Detail      map[string]any
	At          time.Time
}

// Filter selects entries of the audit trail; a zero field selects all.
type Filter struct {
	Action    string
	SubjectID uuid.UUID
}

// Audit lists the shop's audit trail, newest first, from the entry before the
// ID before, 0 for the newest. next is the ID to continue before, 0 on the last
// page.
func (s *Service) Audit(
	ctx context.Context, caller service.Caller, f Filter, before int64, limit int,
) (entries []Entry, next int64, err error) {
	list := query.ListAuditParams{ShopID: caller.Shop, Limit: limit + 1}
	if before > 0 {
		list.Before = &before
	}
	if f.Action != "" {
		list.Action = &f.Action
	}
	if f.SubjectID != uuid.Nil {
		list.SubjectID = &f.SubjectID
	}
	rows, err := s.store.ListAudit(ctx, list)
	if len(rows) > limit {
		rows = rows[:limit]
		next = rows[limit-1].ID
	}
	entries = make([]Entry, len(rows))
	for i, r := range rows {
		entries[i] = Entry{ID: r.ID, Actor: r.Actor, Action: r.Action, SubjectType: r.SubjectType, SubjectID: r.SubjectID,
			RequestID: r.RequestID, At: r.At}
		if r.Detail == nil {
			continue
		}
		if err := json.Unmarshal(r.Detail, &entries[i].Detail); err != nil {
			return nil, 0, fmt.Errorf("detail of audit entry %d: %w", r.ID, err)
		}
	}
	return entries, next, err
}

// AuditActions lists the actions that the shop's audit trail has entries of, by name.
func (s *Service) AuditActions(ctx context.Context, caller service.Caller) ([]string, error) {
	return s.store.AuditActions(ctx, caller.Shop)
}
