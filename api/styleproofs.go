package api

import (
	"context"

	"tapeline/drafting/proof"
	service "tapeline/service/legacy"
)

// StartProof has a revision proved.
func (s *Server) StartProof(ctx context.Context, r StartProofRequestObject) (StartProofResponseObject, error) {
	b := r.Body
	if file := b.Bodies == ProofBodiesFile; file != (b.CSV != "") {
		f := FieldError{Code: FieldErrorCodeExcluded, Pointer: "#/csv", Detail: "only where bodies is file"}
		if file {
			f.Code, f.Detail = FieldErrorCodeMissing, "required where bodies is file"
		}
		return nil, &refusal{code: codeInvalidRequest, errors: []FieldError{f}}
	}
	p, err := s.service.StartProof(ctx, callerOf(ctx), r.Style, r.Number, service.ProofRequest{Bodies: string(b.Bodies), CSV: b.CSV})
	if err != nil {
		return nil, err
	}
	return StartProof202JSONResponse{Body: styleProof(p), Headers: StartProof202ResponseHeaders{Location: "/v1/style-proofs/" + p.ID.String()}}, nil
}

// ListProofs lists the proofs of a revision.
func (s *Server) ListProofs(ctx context.Context, r ListProofsRequestObject) (ListProofsResponseObject, error) {
	proofs, err := s.service.Proofs(ctx, callerOf(ctx), r.Style, r.Number)
	return ListProofs200JSONResponse{Items: each(proofs, styleProof)}, err
}

// GetProof reads a proof.
func (s *Server) GetProof(ctx context.Context, r GetProofRequestObject) (GetProofResponseObject, error) {
	p, err := s.service.Proof(ctx, callerOf(ctx), r.ProofID)
	return GetProof200JSONResponse(styleProof(p)), err
}

// GetProofPicture draws an extreme of a proof.
func (s *Server) GetProofPicture(ctx context.Context, r GetProofPictureRequestObject) (GetProofPictureResponseObject, error) {
	f, err := s.service.ProofPicture(ctx, callerOf(ctx), r.ProofID, string(r.Params.Of))
	return preview{f}, err
}

// CancelProof stops a proof.
func (s *Server) CancelProof(ctx context.Context, r CancelProofRequestObject) (CancelProofResponseObject, error) {
	p, err := s.service.CancelProof(ctx, callerOf(ctx), r.ProofID)
	return CancelProof200JSONResponse(styleProof(p)), err
}

func styleProof(p service.Proof) Proof {
	w := Proof{ID: p.ID, Style: p.Slug, Revision: p.Number, Bodies: ProofBodies(p.Bodies), Status: ProofStatus(p.Status), Done: p.Done, Total: p.Total,
		Rate: p.Rate, CreatedBy: deref(p.CreatedBy), CreatedAt: p.CreatedAt, StartedAt: deref(p.StartedAt), FinishedAt: deref(p.FinishedAt), Reason: p.Stopped, Engine: p.Engine}
	if p.Report != nil {
		report := proofReport(*p.Report)
		w.Report = &report
	}
	return w
}

func proofReport(r proof.Report) ProofReport {
	return ProofReport{
		Counts: proofCounts(r.Counts),
		Variants: each(r.Variants, func(v proof.VariantReport) ProofVariant {
			return ProofVariant{Name: v.Name, Counts: proofCounts(v.Counts)}
		}),
		Refusals: proofReasons(r.Refusals), Failures: proofReasons(r.Failures), Warnings: proofReasons(r.Warnings),
		Checks: each(r.Checks, func(c proof.CheckReport) ProofCheck {
			return ProofCheck{Name: c.Name, Difference: c.Difference, Tolerance: c.Tolerance, Draft: ProofDraft(c.Where)}
		}),
		Cloth: proofSpread(r.Cloth), Sheets: proofSpread(r.Sheets),
	}
}

func proofCounts(c proof.Counts) ProofCounts {
	return ProofCounts{Drafted: c.Drafted, Refused: c.Refused, Failed: c.Failed}
}

func proofReasons(list []proof.ReasonReport) ProofReasons {
	return each(list, func(r proof.ReasonReport) ProofReason {
		return ProofReason{Count: r.Count, Reason: r.Reason, Drafts: each(append([]proof.Where{r.Where}, r.More...), func(w proof.Where) ProofDraft { return ProofDraft(w) })}
	})
}

func proofSpread(s *proof.SpreadReport) *ProofRange {
	if s == nil {
		return nil
	}
	extreme := func(e proof.ExtremeReport) ProofExtreme {
		return ProofExtreme{Value: e.Value, Draft: ProofDraft(e.Where)}
	}
	return &ProofRange{Mean: s.Mean, Min: extreme(s.Least), Max: extreme(s.Most)}
}
