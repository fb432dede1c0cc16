package api

import (
	"context"

	"tapeline/service/orders"
)

// GetEstimates lists the measurements that were estimated for a draft.
func (s *Server) GetEstimates(ctx context.Context, r GetEstimatesRequestObject) (GetEstimatesResponseObject, error) {
	list, err := s.service.Orders.Estimates(ctx, callerOf(ctx), r.OrderID, r.Params.Revision)
	return GetEstimates200JSONResponse{Items: each(list, estimate)}, err
}

func estimate(e orders.Estimate) Estimate {
	return Estimate{Name: e.Name, Value: e.Value, Spread: e.Spread, Unit: EstimateUnit(e.Unit), Source: e.Source,
		Move: e.Move, Piece: e.Piece, Undraftable: each(e.Undraftable, same)}
}
