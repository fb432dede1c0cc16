package api

import (
	"context"
	"encoding/json"

	service "tapeline/service/legacy"
)

// CreateAPIKey makes a key.
func (s *Server) CreateAPIKey(ctx context.Context, r CreateAPIKeyRequestObject) (CreateAPIKeyResponseObject, error) {
	k, secret, err := s.service.CreateAPIKey(ctx, callerOf(ctx), service.NewAPIKey{
		Name: r.Body.Name, Role: service.Role(r.Body.Role), ExpiresAt: pointer(r.Body.ExpiresAt)})
	return CreateAPIKey201JSONResponse{APIKey: apiKey(k), Secret: secret}, err
}

// ListAPIKeys lists keys.
func (s *Server) ListAPIKeys(ctx context.Context, _ ListAPIKeysRequestObject) (ListAPIKeysResponseObject, error) {
	keys, err := s.service.APIKeys(ctx, callerOf(ctx))
	return ListAPIKeys200JSONResponse{Items: each(keys, apiKey)}, err
}

// RevokeAPIKey ends a key.
func (s *Server) RevokeAPIKey(ctx context.Context, r RevokeAPIKeyRequestObject) (RevokeAPIKeyResponseObject, error) {
	return RevokeAPIKey204Response{}, s.service.RevokeAPIKey(ctx, callerOf(ctx), r.KeyID)
}

func apiKey(k service.APIKey) APIKey {
	return APIKey{ID: k.ID, Name: k.Name, Role: Role(k.Role), Prefix: k.Prefix, CreatedAt: k.CreatedAt,
		ExpiresAt: deref(k.ExpiresAt), LastUsedAt: deref(k.LastUsedAt), RevokedAt: deref(k.RevokedAt)}
}

// ListAudit lists the audit trail.
func (s *Server) ListAudit(ctx context.Context, r ListAuditRequestObject) (ListAuditResponseObject, error) {
	after, err := entryPageOf(r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	entries, next, err := s.service.Audit(ctx, callerOf(ctx), service.AuditFilter{Action: r.Params.Action, SubjectID: r.Params.SubjectID}, after, r.Params.Limit)
	return ListAudit200JSONResponse{Items: each(entries, auditEntry), NextCursor: entryCursorOf(next)}, err
}

func auditEntry(e service.AuditEntry) AuditEntry {
	w := AuditEntry{At: e.At, By: deref(e.Actor), Action: e.Action, SubjectType: e.SubjectType, SubjectID: deref(e.SubjectID), RequestID: deref(e.RequestID)}
	_ = json.Unmarshal(e.Detail, &w.Detail) // an object that we wrote, or nothing
	return w
}
