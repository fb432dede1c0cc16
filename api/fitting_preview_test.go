package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// draftedDress is a shift dress to preview.
func draftedDress() object {
	return object{"unit": "cm", "measurements": figure().with("height", 168).with("under_bust_girth", 79),
		"style": "shift-dress"}
}

func TestFittingIsPreviewed(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var r api.FittingReport
	b.post("/v1/drafts/fitting?level=quick", draftedDress()).want(http.StatusOK, &r)
	if !r.Settled || len(r.Levels) < 4 || len(r.Form.Measures) < 8 || len(r.Openings) == 0 ||
		r.Levels[0].BodyGirthMm < 919 {
		t.Errorf("report: %+v", r)
	}
	for format, begins := range map[string]string{"svg": "<?xml", "png": "\x89PNG", "pdf": "%PDF"} {
		got := b.post("/v1/drafts/fitting?level=quick&cloth=denim&format="+format, draftedDress()).want(http.StatusOK, nil)
		if !strings.HasPrefix(string(got.body), begins) || len(got.body) < 50_000 {
			t.Errorf("%s: %d bytes: %.60q", format, len(got.body), got.body)
		}
	}
	if found := b.dump("worn_girth_mm"); len(found) > 0 {
		t.Errorf("stored: %v", found)
	}
}

// A shop has one at a time, and one whose caller has gone makes room at once.
func TestFittingPreviewsAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	replies := make([]reply, 6)
	var wait sync.WaitGroup
	for i := range replies {
		wait.Go(func() { replies[i] = b.post("/v1/drafts/fitting?level=quick", draftedDress()) })
	}
	wait.Wait()
	tried, refused := 0, 0
	for _, r := range replies {
		if r.status == http.StatusOK {
			tried++
			continue
		}
		refused++
		r.problem(http.StatusTooManyRequests, api.ProblemCodeTooManyAtOnce)
	}
	if tried == 0 || refused == 0 {
		t.Errorf("%d tried on, %d refused", tried, refused)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	body, err := json.Marshal(draftedDress())
	b.must(err)
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, b.URL+"/v1/drafts/fitting", bytes.NewReader(body))
	b.must(err)
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+b.keys[service.RoleShop])
	if res, err := http.DefaultClient.Do(r); err == nil {
		_ = res.Body.Close()
		t.Skipf("a whole fitting took less than 300 ms: %s", res.Status)
	}
	left := time.Now()
	b.eventually("the fitting of a caller who has gone to end", func() bool {
		return b.post("/v1/drafts/fitting?level=quick", draftedDress()).status == http.StatusOK
	})
	t.Logf("another was made %s after the caller had gone", time.Since(left).Round(time.Millisecond))
}

// What cannot be tried on is one clear fault each.
func TestFittingPreviewsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for name, value := range map[string]string{"cloth": "tarpaulin", "level": "exact", "format": "dxf"} {
		if p := b.post("/v1/drafts/fitting?"+name+"="+value, draftedDress()).problem(http.StatusBadRequest,
			api.ProblemCodeInvalidRequest); len(p.Errors) != 1 || p.Errors[0].Parameter != name {
			t.Errorf("%s: %+v", name, p.Errors)
		}
	}
	measured := func(name string, value float64) object {
		return draftedDress().with("measurements", draftedDress()["measurements"].(object).with(name, value))
	}
	for name, tt := range map[string]struct {
		body    object
		pointer string
	}{
		"a girth of 3 m":     {measured("bust_girth", 300), "#/measurements/bust_girth"},
		"a waist of a wrist": {measured("waist_girth", 16), "#/measurements/waist_girth"},
		"an arm for a doll":  {measured("arm_length", 5), "#/measurements/arm_length"},
		"no number":          {measured("hip_girth", 0), "#/measurements/hip_girth"},
		"no such style":      {draftedDress().with("style", "dolman-jackets"), "#/style"},
		"no such fit":        {draftedDress().with("fit", "snug"), "#/fit"},
		"no such set": {draftedDress().with("measurements", nil).with("measurement_set_id", uuid.NewString()),
			"#/measurement_set_id"},
		"a waist below the hip": {measured("waist_to_hip", 60), "#/measurements/waist_to_hip"},
	} {
		got := b.post("/v1/drafts/fitting?level=quick", tt.body)
		if got.status == http.StatusBadRequest { // out of the contract's own limits
			p := got.problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
			if len(p.Errors) != 1 || p.Errors[0].Pointer != tt.pointer {
				t.Errorf("%s: %+v", name, p.Errors)
			}
			continue
		}
		p := got.problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
		t.Logf("%s: %+v", name, p.Errors)
		if len(p.Errors) != 1 || p.Errors[0].Pointer != tt.pointer || p.Errors[0].Detail == "" {
			t.Errorf("%s: %+v", name, p.Errors)
		}
	}
	// Each number within its limits, and no body: a clear refusal, or a fitting of it.
	for name, odd := range map[string]object{
		"an hourglass": {"bust_girth": 199, "waist_girth": 46, "hip_girth": 199},
		"a barrel":     {"bust_girth": 61, "waist_girth": 199, "hip_girth": 61},
		"a pole":       {"height": 209, "bust_girth": 61, "waist_girth": 46, "hip_girth": 61},
		"a dwarf":      {"height": 131, "bust_girth": 199, "waist_girth": 199, "hip_girth": 199},
	} {
		body := draftedDress()
		for measure, value := range odd {
			body["measurements"] = body["measurements"].(object).with(measure, value)
		}
		got := b.post("/v1/drafts/fitting?level=quick", body)
		if got.status == http.StatusOK {
			t.Logf("%s is tried on", name)
			continue
		}
		p := got.problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
		t.Logf("%s: %+v", name, p.Errors)
		for _, e := range p.Errors {
			if e.Pointer == "" || e.Detail == "" {
				t.Errorf("%s: %+v", name, e)
			}
		}
	}
	b.do(call{method: "POST", path: "/v1/drafts/fitting", key: b.otherShop(service.RoleStaff), body: draftedDress().
		with("measurements", nil).with("measurement_set_id", b.ready("LL-1").MeasurementSetID)}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
}
