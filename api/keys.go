package api

import (
	"context"

	"tapeline/service"
	"tapeline/service/access"
)

// CreateAPIKey creates a key.
func (s *Server) CreateAPIKey(ctx context.Context, r CreateAPIKeyRequestObject) (CreateAPIKeyResponseObject, error) {
	k, secret, err := s.service.Access.CreateKey(ctx, callerOf(ctx), access.NewKey{
		Name: r.Body.Name, Role: service.Role(r.Body.Role), Test: r.Body.Test, Origins: r.Body.Origins,
		ExpiresAt: service.Optional(r.Body.ExpiresAt)})
	return CreateAPIKey201JSONResponse{APIKey: apiKey(k), Secret: secret}, err
}

// ListAPIKeys lists keys.
func (s *Server) ListAPIKeys(ctx context.Context, _ ListAPIKeysRequestObject) (ListAPIKeysResponseObject, error) {
	keys, err := s.service.Access.Keys(ctx, callerOf(ctx))
	return ListAPIKeys200JSONResponse{Items: each(keys, apiKey)}, err
}

// RevokeAPIKey ends a key.
func (s *Server) RevokeAPIKey(ctx context.Context, r RevokeAPIKeyRequestObject) (RevokeAPIKeyResponseObject, error) {
	return RevokeAPIKey204Response{}, s.service.Access.RevokeKey(ctx, callerOf(ctx), r.KeyID)
}

func apiKey(k access.Key) APIKey {
	return APIKey{ID: k.ID, Name: k.Name, Role: Role(k.Role), Test: k.Test, Origins: k.Origins, Prefix: k.Prefix,
		CreatedAt: k.CreatedAt,
		ExpiresAt: deref(k.ExpiresAt), LastUsedAt: deref(k.LastUsedAt), RevokedAt: deref(k.RevokedAt)}
}

// ListAudit lists the audit trail.
func (s *Server) ListAudit(ctx context.Context, r ListAuditRequestObject) (ListAuditResponseObject, error) {
	after, err := entryPageOf(r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	filter := access.Filter{Action: r.Params.Action, SubjectID: r.Params.SubjectID}
	entries, next, err := s.service.Access.Audit(ctx, callerOf(ctx), filter, after, r.Params.Limit)
	return ListAudit200JSONResponse{Items: each(entries, auditEntry), NextCursor: entryCursorOf(next)}, err
}

func auditEntry(e access.Entry) AuditEntry {
	return AuditEntry{At: e.At, By: deref(e.Actor), Action: e.Action, SubjectType: e.SubjectType,
		SubjectID: deref(e.SubjectID),
		RequestID: deref(e.RequestID), Detail: e.Detail}
}
