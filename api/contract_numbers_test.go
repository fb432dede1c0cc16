package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// Every query parameter of the contract that takes a number refuses what is not
// finite, and names itself.
func TestNumbersAreFinite(t *testing.T) {
	t.Parallel()
	b := setup(t)
	doc, err := openapi3.NewLoader().LoadFromData(api.Contract)
	b.must(err)
	tried := 0
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			for _, p := range op.Parameters {
				if p.Value.In != openapi3.ParameterInQuery || !p.Value.Schema.Value.Type.Is(openapi3.TypeNumber) {
					continue
				}
				address := path
				for _, parameter := range append(item.Parameters, op.Parameters...) {
					address = strings.ReplaceAll(address, "{"+parameter.Value.Name+"}", uuid.NewString())
				}
				for _, value := range []string{"NaN", "nan", "Inf", "-Inf", "Infinity", "1e999"} {
					var body any // nil: none
					if op.RequestBody != nil {
						body = sampleOrder("LL-1")
					}
					r := b.as(service.RoleAdmin, method, address+"?"+p.Value.Name+"="+value, body)
					var problem api.Problem
					if r.status != http.StatusBadRequest {
						t.Errorf("%s %s?%s=%s: status %d", method, path, p.Value.Name, value, r.status)
						continue
					}
					r.want(http.StatusBadRequest, &problem)
					named := false
					for _, e := range problem.Errors {
						named = named || e.Parameter == p.Value.Name
					}
					if !named {
						t.Errorf("%s %s?%s=%s: %s", method, path, p.Value.Name, value, r.body)
					}
					tried++
				}
			}
		}
	}
	if tried < 40 {
		t.Errorf("tried %d, the contract has more", tried)
	}
}
