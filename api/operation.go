package api

import (
	"bytes"
	"context"
	"net/http"

	"tapeline/service"
)

// GetHealth reports that the process is alive.
func (s *Server) GetHealth(context.Context, GetHealthRequestObject) (GetHealthResponseObject, error) {
	return GetHealth200JSONResponse{Status: HealthStatusOk, Version: s.version}, nil
}

// GetReadiness reports whether the process takes requests.
func (s *Server) GetReadiness(ctx context.Context, _ GetReadinessRequestObject) (GetReadinessResponseObject, error) {
	if s.stopping.Load() {
		return nil, &service.Error{Code: service.CodeUnavailable, Detail: "shutting down"}
	}
	if err := s.service.Ready(ctx); err != nil {
		s.log.WarnContext(ctx, "not ready", "error", err)
		return nil, &service.Error{Code: service.CodeUnavailable, Detail: "the database is not ready"}
	}
	return GetReadiness200JSONResponse{Status: HealthStatusOk, Version: s.version}, nil
}

// Stopping makes /readyz fail, so that load balancers stop sending requests.
func (s *Server) Stopping() { s.stopping.Store(true) }

// GetMetrics returns the metrics.
func (s *Server) GetMetrics(context.Context, GetMetricsRequestObject) (GetMetricsResponseObject, error) {
	if s.metrics == nil {
		return nil, &service.Error{Code: service.CodeNotFound, Detail: "the metrics are at another address"}
	}
	return metricsAnswer{s.metrics}, nil
}

type metricsAnswer struct{ http.Handler }

func (m metricsAnswer) VisitGetMetricsResponse(w http.ResponseWriter) error {
	m.ServeHTTP(w, &http.Request{Method: http.MethodGet, Header: http.Header{}})
	return nil
}

// GetContract returns openapi.yaml without the generator's instructions.
func (s *Server) GetContract(context.Context, GetContractRequestObject) (GetContractResponseObject, error) {
	return GetContract200ApplicationYamlResponse{Body: bytes.NewReader(published),
		ContentLength: int64(len(published))}, nil
}

// GetDocs returns the contract as a web page.
func (s *Server) GetDocs(context.Context, GetDocsRequestObject) (GetDocsResponseObject, error) {
	return docsAnswer(s.docs), nil
}

type docsAnswer []byte

func (d docsAnswer) VisitGetDocsResponse(w http.ResponseWriter) error {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", docsPolicy)
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(d)
	return nil
}
