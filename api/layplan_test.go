package api_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"tapeline/api"
	"tapeline/service"
)

func TestLayPlan(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	path := "/v1/orders/" + o.ID.String() + "/lay-plan."

	var plan, folded api.LayPlan
	first := b.get(path+"json?cloth_width=140").want(http.StatusOK, &plan)
	if first.header.Get("Content-Disposition") != `inline; filename="LL-1-lay-plan.json"` {
		t.Errorf("headers %v", first.header)
	}
	if len(plan.Cloths) != 1 || plan.Cloths[0].Name != "shell" || plan.Cloths[0].Cloth.Width != 1400 ||
		plan.Cloths[0].Length < 600 ||
		plan.Cloths[0].Length > plan.Cloths[0].BottomLeft || len(plan.Cloths[0].Sections[0].Pieces) < 3 {
		t.Errorf("plan %+v", plan)
	}
	again := b.get(path+"json?cloth_width=shell%3D140,140&selvedge=1&nap=two-way&revision=1").want(http.StatusOK, nil)
	if !bytes.Equal(first.body, again.body) {
		t.Error("the same cloth, described at length, gives another plan")
	}
	b.get(path+"json?cloth_width=140&spread=fold&shrinkage=5/0").want(http.StatusOK, &folded)
	if c := folded.Cloths[0]; c.Cloth.Spread != "fold" || c.Cloth.ShrinkageWarp != 5 || !c.Sections[0].Folded {
		t.Errorf("folded %+v", c)
	}

	tag := first.header.Get("ETag")
	r := b.do(call{method: "GET", path: path + "json?cloth_width=140", key: b.keys[service.RoleShop],
		header: map[string]string{"If-None-Match": tag}})
	if r.status != http.StatusNotModified || len(r.body) > 0 {
		t.Errorf("If-None-Match gave %d", r.status)
	}
	svg := b.get(path+"svg?cloth_width=140&nap=one-way").want(http.StatusOK, nil)
	if svg.header.Get("ETag") == tag || svg.header.Get("Content-Type") != "image/svg+xml" {
		t.Errorf("svg %v", svg.header)
	}
	for d := xml.NewDecoder(bytes.NewReader(svg.body)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if pdf := b.get(path+"pdf?cloth_width=140").want(http.StatusOK, nil); !bytes.HasPrefix(pdf.body, []byte("%PDF-")) {
		t.Errorf("pdf %.10q", pdf.body)
	}

	// Pieces that the cloth is too narrow for are named; so is what is wrong.
	p := b.get(path+"json?cloth_width=30").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Parameter != "cloth_width" || !strings.Contains(string(b.get(path+"json?cloth_width=30").body),
		"piece 1, back, needs cloth at least") {
		t.Errorf("too narrow cloth: %+v", p.Errors)
	}
	p = b.get(path+"json?cloth_width=140&nap=up,shell%3Dtwo-way").problem(http.StatusUnprocessableEntity,
		api.ProblemCodeInvalidInput)
	if p.Errors[0].Parameter != "nap" {
		t.Errorf("no such nap: %+v", p.Errors)
	}
	b.get(path+"json").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	b.get(path+"json?cloth_width=140&revision=2").problem(http.StatusNotFound, api.ProblemCodeNotFound)
}
