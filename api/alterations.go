package api

import (
	"context"

	"tapeline/service/customers"
)

// AddAlterationSet adds a version of a customer's alterations.
func (s *Server) AddAlterationSet(
	ctx context.Context, r AddAlterationSetRequestObject,
) (AddAlterationSetResponseObject, error) {
	given := customers.Alterations{Unit: string(r.Body.Unit), Values: r.Body.Alterations}
	a, err := s.service.Customers.AddAlterations(ctx, callerOf(ctx), r.CustomerID, given, r.Body.Reason)
	return AddAlterationSet201JSONResponse{
		Body:    alterationSet(a),
		Headers: AddAlterationSet201ResponseHeaders{Location: "/v1/alteration-sets/" + a.ID.String()},
	}, err
}

// ListAlterationSets lists the versions of a customer's alterations.
func (s *Server) ListAlterationSets(
	ctx context.Context, r ListAlterationSetsRequestObject,
) (ListAlterationSetsResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	list, next, err := s.service.Customers.AlterationSets(ctx, callerOf(ctx), r.CustomerID, page)
	return ListAlterationSets200JSONResponse{Items: each(list, alterationSet), NextCursor: cursorOf(next)}, err
}

// GetAlterationSet returns a version of a customer's alterations.
func (s *Server) GetAlterationSet(
	ctx context.Context, r GetAlterationSetRequestObject,
) (GetAlterationSetResponseObject, error) {
	a, err := s.service.Customers.AlterationSet(ctx, callerOf(ctx), r.AlterationSetID)
	return GetAlterationSet200JSONResponse(alterationSet(a)), err
}

func alterationSet(a customers.AlterationSet) AlterationSet {
	return AlterationSet{
		ID: a.ID, CustomerID: a.CustomerID, Version: a.Version, Unit: Unit(a.Unit), Alterations: a.Values,
		Reason: a.Reason, CreatedBy: deref(a.CreatedBy), CreatedAt: a.CreatedAt,
	}
}
