package legacy

import (
	"context"
	"strings"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

// AuditEntry says who did what.
type AuditEntry = query.AuditEntry

// AuditFilter chooses entries; a zero field chooses all.
type AuditFilter struct {
	Action    string
	SubjectID uuid.UUID
}

// audit notes in tx what the caller did to a subject; action is written
// subject_type.done. detail must hold no personal data: it cannot be erased.
func (s *Service) audit(ctx context.Context, tx *db.Tx, caller Caller, action string, subject uuid.UUID, detail map[string]any) error {
	kind, _, _ := strings.Cut(action, ".")
	e := query.AppendAuditParams{ShopID: caller.Shop, Actor: actor(caller), Action: action, SubjectType: kind, SubjectID: &subject,
		RequestID: optional(caller.RequestID), At: s.now()}
	if detail != nil {
		e.Detail = encode(detail)
	}
	return tx.AppendAudit(ctx, e)
}

// Audit lists the shop's audit trail, newest first; next is 0 on the last page.
func (s *Service) Audit(ctx context.Context, caller Caller, f AuditFilter, after int64, limit int) (entries []AuditEntry, next int64, err error) {
	entries, err = s.store.ListAudit(ctx, query.ListAuditParams{ShopID: caller.Shop, Before: optional(after), Action: optional(f.Action), SubjectID: optional(f.SubjectID), Limit: limit + 1})
	if len(entries) > limit {
		entries = entries[:limit]
		next = entries[limit-1].ID
	}
	return entries, next, err
}
