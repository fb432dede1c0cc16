package api

import (
	"context"

	service "tapeline/service/legacy"
)

// AddAlterationSet stores what a fitting found as the next version of a customer's alterations.
func (s *Server) AddAlterationSet(ctx context.Context, r AddAlterationSetRequestObject) (AddAlterationSetResponseObject, error) {
	a, err := s.service.KeepAlterations(ctx, callerOf(ctx), r.CustomerID,
		service.Altered{Unit: string(r.Body.Unit), Values: r.Body.Alterations}, r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return AddAlterationSet201JSONResponse{Body: alterationSet(a),
		Headers: AddAlterationSet201ResponseHeaders{Location: "/v1/alteration-sets/" + a.ID.String()}}, nil
}

// ListAlterationSets lists the versions of a customer's alterations.
func (s *Server) ListAlterationSets(ctx context.Context, r ListAlterationSetsRequestObject) (ListAlterationSetsResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	list, next, err := s.service.CustomerAlterations(ctx, callerOf(ctx), r.CustomerID, page)
	return ListAlterationSets200JSONResponse{Items: each(list, alterationSet), NextCursor: cursorOf(next)}, err
}

// GetAlterationSet reads a version of a customer's alterations.
func (s *Server) GetAlterationSet(ctx context.Context, r GetAlterationSetRequestObject) (GetAlterationSetResponseObject, error) {
	a, err := s.service.Alterations(ctx, callerOf(ctx), r.AlterationSetID)
	return GetAlterationSet200JSONResponse(alterationSet(a)), err
}

func alterationSet(a service.Alterations) AlterationSet {
	return AlterationSet{ID: a.ID, CustomerID: a.CustomerID, Version: a.Version, Unit: Unit(a.Unit), Alterations: a.Values,
		Reason: a.Note, CreatedBy: deref(a.By), CreatedAt: a.CreatedAt}
}
