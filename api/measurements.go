package api

import (
	"context"

	"tapeline/service/blocks"
	"tapeline/service/customers"
)

// AddMeasurementSet adds a version of a customer's measurements.
func (s *Server) AddMeasurementSet(
	ctx context.Context, r AddMeasurementSetRequestObject,
) (AddMeasurementSetResponseObject, error) {
	m := customers.Measurements{Unit: string(r.Body.Unit), Values: r.Body.Measurements}
	set, err := s.service.Customers.AddSet(ctx, callerOf(ctx), r.CustomerID, m)
	return AddMeasurementSet201JSONResponse{
		Body:    measurementSet(set),
		Headers: AddMeasurementSet201ResponseHeaders{Location: "/v1/measurement-sets/" + set.ID.String()},
	}, err
}

// CorrectMeasurements adds a version of a customer's measurements in which some numbers
// differ from the latest.
func (s *Server) CorrectMeasurements(
	ctx context.Context, r CorrectMeasurementsRequestObject,
) (CorrectMeasurementsResponseObject, error) {
	m := customers.Measurements{Unit: string(r.Body.Unit), Values: r.Body.Measurements}
	set, err := s.service.Customers.CorrectSet(ctx, callerOf(ctx), r.CustomerID, m)
	return CorrectMeasurements201JSONResponse{
		Body:    measurementSet(set),
		Headers: CorrectMeasurements201ResponseHeaders{Location: "/v1/measurement-sets/" + set.ID.String()},
	}, err
}

// ListMeasurementSets lists a customer's measurement sets.
func (s *Server) ListMeasurementSets(
	ctx context.Context, r ListMeasurementSetsRequestObject,
) (ListMeasurementSetsResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	sets, next, err := s.service.Customers.Sets(ctx, callerOf(ctx), r.CustomerID, page)
	return ListMeasurementSets200JSONResponse{Items: each(sets, measurementSet), NextCursor: cursorOf(next)}, err
}

// GetMeasurementSet returns a measurement set.
func (s *Server) GetMeasurementSet(
	ctx context.Context, r GetMeasurementSetRequestObject,
) (GetMeasurementSetResponseObject, error) {
	set, err := s.service.Customers.Set(ctx, callerOf(ctx), r.MeasurementSetID)
	return GetMeasurementSet200JSONResponse(measurementSet(set)), err
}

func measurementSet(m customers.Set) MeasurementSet {
	return MeasurementSet{
		ID: m.ID, CustomerID: m.CustomerID, Version: m.Version, Unit: Unit(m.Unit), Measurements: m.Values,
		Report: measurementReport(m.Assessment), CreatedAt: m.CreatedAt,
	}
}

// AssessMeasurements assesses measurements without storing them.
func (s *Server) AssessMeasurements(
	ctx context.Context, r AssessMeasurementsRequestObject,
) (AssessMeasurementsResponseObject, error) {
	b := *r.Body
	if err := checkTogether(b); err != nil {
		return nil, err
	}
	a, err := s.service.Customers.Assess(ctx, callerOf(ctx),
		customers.Measurements{Unit: string(b.Unit), Values: b.Measurements},
		customers.Garment{Block: b.Block, Style: b.Style, StyleRevision: b.StyleRevision,
			Choices: b.Choices})
	return AssessMeasurements200JSONResponse(measurementReport(a)), err
}

func measurementReport(a customers.Assessment) MeasurementReport {
	return MeasurementReport{
		Acceptable: a.Acceptable(),
		Findings:   each(a.Findings, finding),
		Measurements: each(a.Measures, func(m customers.Measure) ReportedMeasurement {
			return ReportedMeasurement{
				Name: m.Name, Value: m.Value, Unit: ReportedMeasurementUnit(m.Unit),
				Estimated: m.Estimated, Spread: m.Spread, Source: m.Source,
			}
		}),
	}
}

func finding(f customers.Finding) Finding {
	w := Finding{
		Level: FindingLevel(f.Level), Code: FieldErrorCode(f.Code), Pointer: fragment(f.Field), Value: f.Value,
		Detail: f.Accepted, Related: each(f.Related, fragment),
		Explanation: Explanation(f.Explanation), Chance: f.Chance, Corrected: f.Corrected,
	}
	if e := f.Expected; e != nil {
		w.Expected = ExpectedMeasurement{
			Value: e.Value, Min: e.Low, Max: e.High, Unit: ExpectedMeasurementUnit(e.Unit),
		}
	}
	return w
}

// GetAssessmentLevels returns the levels at which a number is questioned.
func (s *Server) GetAssessmentLevels(
	ctx context.Context, _ GetAssessmentLevelsRequestObject,
) (GetAssessmentLevelsResponseObject, error) {
	l, err := s.service.Customers.Levels(ctx, callerOf(ctx))
	return GetAssessmentLevels200JSONResponse(assessmentLevels(l)), err
}

// SetAssessmentLevels changes the levels at which a number is questioned.
func (s *Server) SetAssessmentLevels(
	ctx context.Context, r SetAssessmentLevelsRequestObject,
) (SetAssessmentLevelsResponseObject, error) {
	l, err := s.service.Customers.SetLevels(ctx, callerOf(ctx), customers.Levels{
		Note: r.Body.Note, Confirm: r.Body.Confirm, Refuse: r.Body.Refuse,
	})
	return SetAssessmentLevels200JSONResponse(assessmentLevels(l)), err
}

func assessmentLevels(l customers.Levels) AssessmentLevels {
	return AssessmentLevels{Note: l.Note, Confirm: l.Confirm, Refuse: l.Refuse}
}

// ListMeasurements lists the known measurements.
func (s *Server) ListMeasurements(
	context.Context, ListMeasurementsRequestObject,
) (ListMeasurementsResponseObject, error) {
	return ListMeasurements200JSONResponse{Items: each(customers.Known(), func(m customers.Info) MeasurementInfo {
		return MeasurementInfo{
			Name: m.Name, Title: m.Title, How: m.How, Unit: MeasurementInfoUnit(m.Unit), Min: m.Min, Max: m.Max,
			RequiredBy: m.RequiredBy,
		}
	})}, nil
}

// ListBlocks lists the blocks.
func (s *Server) ListBlocks(context.Context, ListBlocksRequestObject) (ListBlocksResponseObject, error) {
	return ListBlocks200JSONResponse{Items: each(blocks.List(), blockSpec)}, nil
}

// GetBlock returns a block.
func (s *Server) GetBlock(_ context.Context, r GetBlockRequestObject) (GetBlockResponseObject, error) {
	b, err := blocks.Get(r.Block)
	return GetBlock200JSONResponse(blockSpec(b)), err
}

// GetBlockForm returns the JSON Schema of an order for a block.
func (s *Server) GetBlockForm(_ context.Context, r GetBlockFormRequestObject) (GetBlockFormResponseObject, error) {
	form, err := blocks.Form(r.Block, blocks.Unit(r.Params.Unit))
	return GetBlockForm200JSONResponse(form), err
}

func blockSpec(b blocks.Block) Block {
	word := func(s string) Word { return s }
	return Block{
		Name: b.Name, Title: b.Title, Requires: each(b.Requires, word), Uses: each(b.Uses, word),
		Fits: each(b.Fits, func(f blocks.Fit) Fit {
			return Fit{Name: f.Name, Ease: each(f.Ease, func(e blocks.Ease) FitEase {
				return FitEase{Name: e.Name, Value: e.Value, Min: e.Min, Max: e.Max}
			})}
		}),
		Choices: each(b.Choices, func(c blocks.Choice) Choice {
			return Choice{
				Name: c.Name, Kind: ChoiceKind(c.Kind), Default: c.Default, Options: c.Options, Min: c.Min, Max: c.Max,
				Help: c.Help, Spares: namesByWord(c.Spares), FollowsBody: c.FollowsBody,
			}
		}),
		Excludes: each(b.Excludes, func(e blocks.Exclusion) Exclusion {
			return Exclusion{Choice: e.Choice, Option: e.Option, Beside: e.Beside, Chosen: e.Chosen}
		}),
		Alterations: each(b.Alterations, func(a blocks.Alteration) Alteration {
			return Alteration{Name: a.Name, Min: a.Min, Max: a.Max, Sided: a.Sided, Help: a.Help}
		}),
	}
}
