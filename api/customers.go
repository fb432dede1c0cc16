package api

import (
	"context"
	"encoding/json"
	"net/http"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	service "tapeline/service/legacy"
)

// CreateCustomer adds a customer.
func (s *Server) CreateCustomer(ctx context.Context, r CreateCustomerRequestObject) (CreateCustomerResponseObject, error) {
	c, err := s.service.CreateCustomer(ctx, callerOf(ctx), customerDetails(*r.Body))
	return CreateCustomer201JSONResponse{Body: customer(c),
		Headers: CreateCustomer201ResponseHeaders{Location: "/v1/customers/" + c.ID.String()}}, err
}

// ListCustomers lists customers.
func (s *Server) ListCustomers(ctx context.Context, r ListCustomersRequestObject) (ListCustomersResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	customers, next, err := s.service.Customers(ctx, callerOf(ctx), r.Params.Reference, page)
	return ListCustomers200JSONResponse{Items: each(customers, customer), NextCursor: cursorOf(next)}, err
}

// GetCustomer reads a customer.
func (s *Server) GetCustomer(ctx context.Context, r GetCustomerRequestObject) (GetCustomerResponseObject, error) {
	c, err := s.service.Customer(ctx, callerOf(ctx), r.CustomerID)
	return GetCustomer200JSONResponse(customer(c)), err
}

// ReplaceCustomer corrects a customer's details.
func (s *Server) ReplaceCustomer(ctx context.Context, r ReplaceCustomerRequestObject) (ReplaceCustomerResponseObject, error) {
	c, err := s.service.ReplaceCustomer(ctx, callerOf(ctx), r.CustomerID, customerDetails(*r.Body))
	return ReplaceCustomer200JSONResponse(customer(c)), err
}

func customerDetails(d CustomerDetails) service.CustomerDetails {
	return service.CustomerDetails{Reference: d.Reference, Name: d.Name}
}

func customer(c service.Customer) Customer {
	return Customer{ID: c.ID, Reference: deref(c.Reference), Name: deref(c.Name), CreatedAt: c.CreatedAt, UpdatedAt: c.UpdatedAt, ErasedAt: deref(c.ErasedAt)}
}

// EraseCustomer erases a customer's personal data.
func (s *Server) EraseCustomer(ctx context.Context, r EraseCustomerRequestObject) (EraseCustomerResponseObject, error) {
	e, err := s.service.EraseCustomer(ctx, callerOf(ctx), r.CustomerID)
	return EraseCustomer200JSONResponse{CustomerID: e.Customer, ErasedAt: e.At, OrdersCancelled: e.OrdersCancelled}, err
}

// ExportCustomer gives everything held about a customer.
func (s *Server) ExportCustomer(ctx context.Context, r ExportCustomerRequestObject) (ExportCustomerResponseObject, error) {
	x, err := s.service.ExportCustomer(ctx, callerOf(ctx), r.CustomerID)
	if err != nil {
		return nil, err
	}
	out := export{ExportedAt: x.At, Customer: customer(x.Customer), MeasurementSets: each(x.Sets, measurementSet),
		Alterations: each(x.Alterations, alterationSet)}
	out.Orders = each(x.Orders, func(o service.ExportedOrder) exportedOrder {
		return exportedOrder{Order: s.order(o.Order), History: each(o.History, orderEvent), Patterns: filledList(o.Patterns), Refits: each(o.Refits, refitOrder)}
	})
	return out, nil
}

// export is the contract's CustomerExport with the geometry as it is stored.
type export struct {
	ExportedAt      any              `json:"exported_at"`
	Customer        Customer         `json:"customer"`
	MeasurementSets []MeasurementSet `json:"measurement_sets"`
	Alterations     []AlterationSet  `json:"alterations"`
	Orders          []exportedOrder  `json:"orders"`
}

type exportedOrder struct {
	Order    Order             `json:"order"`
	History  []OrderEvent      `json:"history"`
	Patterns []json.RawMessage `json:"patterns"`
	Refits   []RefitOrder      `json:"refits"`
}

func filledList(list []json.RawMessage) []json.RawMessage {
	if list == nil {
		return []json.RawMessage{}
	}
	return list
}

func (x export) VisitExportCustomerResponse(w http.ResponseWriter) error {
	data, err := json.Marshal(x)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(data)
	return nil
}

// AddMeasurementSet adds a version of a customer's measurements.
func (s *Server) AddMeasurementSet(ctx context.Context, r AddMeasurementSetRequestObject) (AddMeasurementSetResponseObject, error) {
	set, err := s.service.AddMeasurementSet(ctx, callerOf(ctx), r.CustomerID, service.Measured{Unit: string(r.Body.Unit), Values: r.Body.Measurements})
	if err != nil {
		return nil, err
	}
	return AddMeasurementSet201JSONResponse{Body: measurementSet(set),
		Headers: AddMeasurementSet201ResponseHeaders{Location: "/v1/measurement-sets/" + set.ID.String()}}, nil
}

// ListMeasurementSets lists a customer's measurement sets.
func (s *Server) ListMeasurementSets(ctx context.Context, r ListMeasurementSetsRequestObject) (ListMeasurementSetsResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	sets, next, err := s.service.MeasurementSets(ctx, callerOf(ctx), r.CustomerID, page)
	return ListMeasurementSets200JSONResponse{Items: each(sets, measurementSet), NextCursor: cursorOf(next)}, err
}

// GetMeasurementSet reads a measurement set.
func (s *Server) GetMeasurementSet(ctx context.Context, r GetMeasurementSetRequestObject) (GetMeasurementSetResponseObject, error) {
	set, err := s.service.MeasurementSet(ctx, callerOf(ctx), r.MeasurementSetID)
	return GetMeasurementSet200JSONResponse(measurementSet(set)), err
}

func measurementSet(m service.MeasurementSet) MeasurementSet {
	return MeasurementSet{ID: m.ID, CustomerID: m.CustomerID, Version: m.Version, Unit: Unit(m.Unit), Measurements: m.Values,
		Report: measurementReport(m.Report), CreatedAt: m.CreatedAt}
}

// AssessMeasurements assesses measurements without storing them.
func (s *Server) AssessMeasurements(ctx context.Context, r AssessMeasurementsRequestObject) (AssessMeasurementsResponseObject, error) {
	b := *r.Body
	if err := checkTogether(b); err != nil {
		return nil, err
	}
	report, err := s.service.CheckMeasurements(ctx, callerOf(ctx), service.Measured{Unit: string(b.Unit), Values: b.Measurements},
		service.Spec{Block: b.Block, Style: b.Style, StyleRevision: b.StyleRevision})
	return AssessMeasurements200JSONResponse(measurementReport(report)), err
}

func measurementReport(r service.Report) MeasurementReport {
	return MeasurementReport{
		Acceptable: r.Acceptable(),
		Findings:   each(r.Findings, finding),
		Measurements: each(r.Measures, func(m service.CheckedSize) ReportedMeasurement {
			return ReportedMeasurement{Name: m.Name, Value: m.Value, Unit: ReportedMeasurementUnit(m.Unit), Estimated: m.Estimated, Spread: m.Spread, Source: m.Source}
		}),
	}
}

func finding(f service.Finding) Finding {
	w := Finding{Level: FindingLevel(f.Level), Code: FieldErrorCode(f.Code), Pointer: fragment(f.Field), Value: f.Value,
		Detail: f.Accepted, Related: each(f.Related, fragment),
		Explanation: Explanation(f.Explanation), Chance: f.Chance, Corrected: f.Corrected}
	if e := f.Expected; e != nil {
		w.Expected = ExpectedMeasurement{Value: e.Value, Min: e.Low, Max: e.High, Unit: ExpectedMeasurementUnit(e.Unit)}
	}
	return w
}

// GetAssessmentLevels reads when the shop is asked about a number.
func (s *Server) GetAssessmentLevels(ctx context.Context, _ GetAssessmentLevelsRequestObject) (GetAssessmentLevelsResponseObject, error) {
	l, err := s.service.CheckLevels(ctx, callerOf(ctx))
	return GetAssessmentLevels200JSONResponse(assessmentLevels(l)), err
}

// SetAssessmentLevels changes when the shop is asked about a number.
func (s *Server) SetAssessmentLevels(ctx context.Context, r SetAssessmentLevelsRequestObject) (SetAssessmentLevelsResponseObject, error) {
	l, err := s.service.SetCheckLevels(ctx, callerOf(ctx), service.CheckLevels{Note: r.Body.Note, Confirm: r.Body.Confirm, Refuse: r.Body.Refuse})
	return SetAssessmentLevels200JSONResponse(assessmentLevels(l)), err
}

func assessmentLevels(l service.CheckLevels) AssessmentLevels {
	return AssessmentLevels{Note: l.Note, Confirm: l.Confirm, Refuse: l.Refuse}
}

// ListMeasurements lists the measurements that are known.
func (s *Server) ListMeasurements(context.Context, ListMeasurementsRequestObject) (ListMeasurementsResponseObject, error) {
	return ListMeasurements200JSONResponse{Items: each(s.service.Measurements(), func(m service.MeasurementInfo) MeasurementInfo {
		return MeasurementInfo{Name: string(m.Name), Title: m.Title, How: m.How, Unit: MeasurementInfoUnit(m.Unit), Min: m.Min, Max: m.Max, RequiredBy: m.RequiredBy}
	})}, nil
}

// ListBlocks lists the blocks.
func (s *Server) ListBlocks(context.Context, ListBlocksRequestObject) (ListBlocksResponseObject, error) {
	return ListBlocks200JSONResponse{Items: each(s.service.Blocks(), blockSpec)}, nil
}

// GetBlock reads a block.
func (s *Server) GetBlock(_ context.Context, r GetBlockRequestObject) (GetBlockResponseObject, error) {
	spec, err := s.service.Block(r.Block)
	return GetBlock200JSONResponse(blockSpec(spec)), err
}

func blockSpec(spec block.Spec) Block {
	name := func(n body.Name) Word { return string(n) }
	return Block{
		Name: spec.Name, Title: spec.Title, Requires: each(spec.Requires, name), Uses: each(spec.Uses, name),
		Fits: each(spec.Fits, func(f block.Fit) Fit {
			return Fit{Name: f.Name, Ease: each(f.Ease, func(e block.Ease) FitEase {
				return FitEase{Name: e.Name, Value: e.Value, Min: e.Min, Max: e.Max}
			})}
		}),
		Choices: each(spec.Choices, func(c block.Choice) Choice {
			w := Choice{Name: c.Name, Kind: ChoiceKind(c.Kind), Default: any(c.Default.Number), Options: c.Options, Min: c.Min, Max: c.Max, Help: c.Help}
			if c.Default.Word != "" {
				w.Default = c.Default.Word
			}
			return w
		}),
		Alterations: each(spec.Alterations, func(a block.Alteration) Alteration {
			return Alteration{Name: a.Name, Min: a.Min, Max: a.Max, Sided: a.Sided, Help: a.Help}
		}),
	}
}
