package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// AuditEntry says who did what. It names its subject by id and must hold no
// names, measurements, keys or links: it can be neither changed nor erased.
type AuditEntry struct {
	ID          int64 // given by the database
	ShopID      uuid.UUID
	Actor       *uuid.UUID // the key; nil: the operator at the command line, or the service itself
	Action      string
	SubjectType string
	SubjectID   *uuid.UUID
	RequestID   *string // joins it to the log
	Detail      json.RawMessage
	At          time.Time
}

func (q Queries) AppendAudit(ctx context.Context, e AuditEntry) error {
	_, err := exec(ctx, q.db, `
		INSERT INTO audit_entries (shop_id, actor, action, subject_type, subject_id, request_id, detail, at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		e.ShopID, e.Actor, e.Action, e.SubjectType, e.SubjectID, e.RequestID, e.Detail, e.At)
	return err
}

// AuditFilter chooses entries; a zero field chooses all.
type AuditFilter struct {
	Action    string
	SubjectID uuid.UUID
}

// AuditEntries lists a shop's, newest first.
func (q Queries) AuditEntries(ctx context.Context, shop uuid.UUID, f AuditFilter, page EntryPage) ([]AuditEntry, error) {
	where := ``
	if page.After > 0 {
		where += ` AND id < @after`
	}
	if f.Action != "" {
		where += ` AND action = @action`
	}
	if f.SubjectID != uuid.Nil {
		where += ` AND subject_id = @subject`
	}
	return many[AuditEntry](ctx, q.db, `
		SELECT id, shop_id, actor, action, subject_type, subject_id, request_id, detail, at
		FROM audit_entries WHERE shop_id = @shop`+where+`
		ORDER BY id DESC LIMIT @limit`,
		pgx.NamedArgs{"shop": shop, "after": page.After, "limit": page.Limit, "action": f.Action, "subject": f.SubjectID})
}
