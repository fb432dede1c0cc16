package api

import (
	"context"

	service "tapeline/service/legacy"
)

// KeepAlterations keeps what a fitting found for a customer.
func (s *Server) KeepAlterations(ctx context.Context, r KeepAlterationsRequestObject) (KeepAlterationsResponseObject, error) {
	a, err := s.service.KeepAlterations(ctx, callerOf(ctx), r.CustomerID,
		service.Altered{Unit: string(r.Body.Unit), Values: r.Body.Alterations}, r.Body.Note)
	if err != nil {
		return nil, err
	}
	return KeepAlterations201JSONResponse{Body: keptAlterations(a),
		Headers: KeepAlterations201ResponseHeaders{Location: "/v1/alterations/" + a.ID.String()}}, nil
}

// ListAlterations lists the versions of a customer's alterations.
func (s *Server) ListAlterations(ctx context.Context, r ListAlterationsRequestObject) (ListAlterationsResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	list, next, err := s.service.CustomerAlterations(ctx, callerOf(ctx), r.CustomerID, page)
	return ListAlterations200JSONResponse{Items: each(list, keptAlterations), NextCursor: cursorOf(next)}, err
}

// GetAlterations reads a version of a customer's alterations.
func (s *Server) GetAlterations(ctx context.Context, r GetAlterationsRequestObject) (GetAlterationsResponseObject, error) {
	a, err := s.service.Alterations(ctx, callerOf(ctx), r.AlterationsID)
	return GetAlterations200JSONResponse(keptAlterations(a)), err
}

func keptAlterations(a service.Alterations) KeptAlterations {
	return KeptAlterations{ID: a.ID, CustomerID: a.CustomerID, Version: a.Version, Unit: Unit(a.Unit), Alterations: a.Values,
		Note: a.Note, By: deref(a.By), CreatedAt: a.CreatedAt}
}
