package api

import (
	"context"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// GetEstimates tells what a draft took for granted.
func (s *Server) GetEstimates(ctx context.Context, r GetEstimatesRequestObject) (GetEstimatesResponseObject, error) {
	list, err := s.service.OrderEstimates(ctx, callerOf(ctx), r.OrderID, r.Params.Revision)
	return GetEstimates200JSONResponse{Items: each(list, estimate)}, err
}

func estimate(e drafting.Estimate) Estimate {
	unit := EstimateUnitMm
	if info, _ := body.Lookup(e.Name); info.Unit == body.Degree {
		unit = EstimateUnitDegree
	}
	return Estimate{Name: string(e.Name), Value: e.Value, Spread: e.Spread, Unit: unit, Source: e.Source, Move: e.Move,
		Piece:       e.Piece,
		Undraftable: each(e.Refused, func(f fault.Fault) string { return f.Accepted })}
}
