package api_test

import (
	"bytes"
	"net/http"
	"strings"
	"testing"

	"tapeline/api"
	"tapeline/service"
)

// A style is drafted over standard tables and one of the shop's own, in every format.
func TestSizeRun(t *testing.T) {
	t.Parallel()
	b := setup(t)
	path := "/v1/styles/shift-dress/sizes."
	var run api.SizeRun
	r := b.as(service.RoleStaff, "GET", path+"json?size=84,88", nil)
	r.want(http.StatusOK, &run)
	if r.header.Get("Content-Disposition") != `inline; filename="shift-dress-sizes.json"` {
		t.Errorf("headers %v", r.header)
	}
	if strings.Join(run.Sizes, " ") != "84 88" || run.Garment != "Shift dress, regular fit" {
		t.Errorf("run of %s in %v", run.Garment, run.Sizes)
	}
	for _, m := range run.Finished {
		if m.Name == "block: bust_girth" && (m.Adds["88"] < 39.5 || m.Adds["88"] > 40.5 || len(m.Adds) != 1) {
			t.Errorf("bust: %+v", m)
		}
	}
	for format, begins := range map[string]string{"pdf": "%PDF-", "svg": "<svg", "dxf": "0\r\nSECTION"} {
		file := b.as(service.RoleStaff, "GET", path+format+"?size=92,96&fit=close", nil).want(http.StatusOK, nil)
		if !bytes.Contains(file.body[:min(400, len(file.body))], []byte(begins)) {
			t.Errorf("%s begins with %.20q", format, file.body)
		}
	}
	// A table of the shop's own, with a choice in inches.
	csv := "size,bust_girth,waist_girth,hip_girth,height,neck_base_girth,shoulder_length,back_width,nape_to_waist," +
		"upper_arm_girth,wrist_girth,arm_length\nsmall,84,68,92,164,35.5,12.2,33.5,40.5,27,15.5,57\n" +
		"large,100,84,108,168,38,12.8,37,42,31,16.5,59\n"
	b.as(service.RoleStaff, "POST", path+"json", object{"csv": csv, "unit": "inch", "choices": object{"sleeve": "short"}}).
		want(http.StatusOK, &run)
	if strings.Join(run.Sizes, " ") != "small large" {
		t.Errorf("sizes %v", run.Sizes)
	}

	// What is wrong is named.
	p := b.as(service.RoleStaff, "POST", path+"json", object{"csv": "size,shade\nS,x\n"}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Pointer != "#/csv" {
		t.Errorf("a table without measurements: %+v", p.Errors)
	}
	p = b.as(service.RoleStaff, "POST", path+"json", object{"csv": csv, "table": "en13402"}).
		problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	if len(p.Errors) != 1 {
		t.Errorf("two tables: %+v", p.Errors)
	}
	p = b.as(service.RoleStaff, "POST", path+"json", object{"sizes": []string{"84", "85"},
		"choices": object{"sleeve": "winged"}}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Pointer != "#/choices/sleeve" {
		t.Errorf("no such choice: %+v", p.Errors)
	}
	b.as(service.RoleStaff, "GET", path+"json?size=85", nil).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	b.as(service.RoleStaff, "GET", path+"svg?paper=a4", nil).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	b.as(service.RoleStaff, "GET", path+"png", nil).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	b.as(service.RoleStaff, "GET", "/v1/styles/none/sizes.pdf", nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.as(service.RoleShop, "GET", path+"pdf", nil).problem(http.StatusForbidden, api.ProblemCodeForbidden)
}
