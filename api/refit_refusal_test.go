package api_test

import (
	"net/http"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

func TestRefitRefusals(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	other := b.ready("LL-2")
	fit := roomier(9)["fit"].(object)
	for _, tt := range [...]struct {
		name    string
		change  object
		scope   object
		pointer string
	}{
		{"unknown block", object{"fit": fit.with("block", "toroso")}, nil, "#/change/fit/block"},
		{"unknown fit", object{"fit": fit.with("from", "regulr")}, nil, "#/change/fit/from"},
		{"unknown fit to go to", object{"fit": fit.with("to", "regulr")}, nil, "#/change/fit/to"},
		{"unknown ease", object{"fit": fit.with("ease", object{"bust_grith": 10})}, nil, "#/change/fit/ease/bust_grith"},
		{"too much ease", object{"fit": fit.with("ease", object{"bust_girth": 90})}, nil, "#/change/fit/ease/bust_girth"},
		{"ease without unit", object{"fit": fit.with("unit", nil)}, nil, "#/change/fit/unit"},
		{"block and style", object{"fit": fit.with("style", "shift-dress")}, nil, "#/change/fit/style"},
		{"unknown set", object{"measurements": object{"customer_id": o.CustomerID, "to": uuid.NewString()}}, nil,
			"#/change/measurements/to"},
		{"another customer's set", object{"measurements": object{"customer_id": o.CustomerID, "to": other.MeasurementSetID}},
			nil, "#/change/measurements/to"},
		{"unknown style", object{"style": object{"style": "shirt-dress-x"}}, nil, "#/change/style/style"},
		{"unknown revision", object{"style": object{"style": "shift-dress", "to": 7}}, nil, "#/change/style/to"},
		{"unknown former revision", object{"style": object{"style": "shift-dress", "from": 3}}, nil, "#/change/style/from"},
		{"unknown order", roomier(9), object{"orders": []string{o.ID.String(), uuid.NewString()}}, "#/scope/orders/1"},
	} {
		p := b.post("/v1/refits", newRefit(tt.change, tt.scope)).problem(http.StatusUnprocessableEntity,
			api.ProblemCodeInvalidInput)
		if len(p.Errors) != 1 || p.Errors[0].Pointer != tt.pointer || p.Errors[0].Detail == "" {
			t.Errorf("%s: %+v", tt.name, p.Errors)
		}
	}
	for name, scope := range map[string]object{
		"nobody's":  {"customer_id": uuid.NewString()},
		"the past":  {"created_before": "2020-01-01T00:00:00Z"},
		"held ones": {"statuses": []string{"held"}},
	} {
		p := b.post("/v1/refits", object{"change": roomier(9), "scope": scope,
			"reason": "x"}).problem(http.StatusUnprocessableEntity, api.ProblemCodeScopeEmpty)
		if p.Detail == "" {
			t.Errorf("%s: no detail", name)
		}
	}
	for _, body := range []object{
		{"change": object{}, "reason": "x"}, {"change": roomier(9)},
		{"change": object{"engine": object{}, "fit": fit}, "reason": "x"},
	} {
		b.post("/v1/refits", body).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	}
	b.as(service.RoleShop, "POST", "/v1/refits", object{"change": roomier(9), "reason": "x"}).problem(http.StatusForbidden,
		api.ProblemCodeForbidden)
	r := b.refit(roomier(9), nil)
	p := b.post("/v1/refits/"+r.ID.String()+"/decide", object{"apply": "some",
		"orders": []string{uuid.NewString()}}).problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/orders/0" {
		t.Errorf("unknown order: %+v", p.Errors)
	}
	nobody := "/v1/refits/" + uuid.NewString()
	b.get(nobody).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.get(nobody+"/orders").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.post(nobody+"/decide", object{"apply": "all"}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.post(nobody+"/stop", nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	var list api.RefitList
	b.get("/v1/refits?limit=1").want(http.StatusOK, &list)
	if len(list.Items) != 1 || list.Items[0].ID != r.ID {
		t.Errorf("list: %+v", list)
	}
}
