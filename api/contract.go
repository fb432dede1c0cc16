package api

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/routers"
	"github.com/labstack/echo/v4"

	"tapeline/service"
)

// operation is an operation of the contract.
type operation struct {
	id     string
	roles  []service.Role // who may call it with a key
	public bool           // called without a key
	live   bool           // not for test keys
	route  *routers.Route
	query  []string // names of the query parameters
	media  []string // media types of the body
	most   int64    // bytes of the body
}

// contract is openapi.yaml, prepared for validating requests.
type contract struct {
	doc        *openapi3.T
	operations map[string]*operation // by method and path, as echo spells the path
}

var pathParameter = regexp.MustCompile(`\{([^}]+)\}`)

// echoPath converts a path of the contract to the form of echo: /orders/:order_id.
func echoPath(path string) string { return pathParameter.ReplaceAllString(path, ":$1") }

// loadContract reads the embedded document. Every operation must have an operationId
// and x-roles.
func loadContract() (*contract, error) {
	loader := openapi3.NewLoader()
	doc, err := loader.LoadFromData(Contract)
	if err != nil {
		return nil, fmt.Errorf("read openapi.yaml: %w", err)
	}
	if err := doc.Validate(loader.Context, openapi3.EnableSchemaFormatValidation()); err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	c := &contract{doc: doc, operations: map[string]*operation{}}
	for path, item := range doc.Paths.Map() {
		for method, o := range item.Operations() {
			op, err := newOperation(doc, path, method, item, o)
			if err != nil {
				return nil, fmt.Errorf("openapi.yaml: %s %s: %w", method, path, err)
			}
			c.operations[method+" "+echoPath(path)] = op
		}
	}
	return c, nil
}

func newOperation(doc *openapi3.T, path, method string, item *openapi3.PathItem,
	o *openapi3.Operation) (op *operation, err error) {
	if o.OperationID == "" {
		return nil, fmt.Errorf("no operationId")
	}
	op = &operation{
		id:    o.OperationID,
		route: &routers.Route{Spec: doc, Path: path, PathItem: item, Method: method, Operation: o},
	}
	listed, ok := o.Extensions["x-roles"].([]any)
	if !ok {
		return nil, fmt.Errorf("no x-roles")
	}
	for _, r := range listed {
		role := service.Role(fmt.Sprint(r))
		if !slices.Contains(service.Roles(), role) {
			return nil, fmt.Errorf("x-roles: unknown role %q", role)
		}
		op.roles = append(op.roles, role)
	}
	op.public = len(op.roles) == 0
	op.live = o.Extensions["x-test-keys"] == false
	if keyed := needsKey(doc, o); keyed == op.public {
		return nil, fmt.Errorf("x-roles %v and security disagree", op.roles)
	}
	if op.most, err = bodyLimit(o); err != nil {
		return nil, err
	}
	if o.RequestBody != nil {
		op.media = slices.Sorted(maps.Keys(o.RequestBody.Value.Content))
	}
	for _, ps := range []openapi3.Parameters{item.Parameters, o.Parameters} {
		for _, p := range ps {
			if p.Value.In == openapi3.ParameterInQuery {
				op.query = append(op.query, p.Value.Name)
			}
		}
	}
	return op, nil
}

// bodyLimit returns the limit of the operation's body in bytes: x-max-body, or the
// default.
func bodyLimit(o *openapi3.Operation) (int64, error) {
	switch most := o.Extensions["x-max-body"].(type) {
	case nil:
		return maxBody, nil
	case float64:
		return int64(most), nil
	default:
		return 0, fmt.Errorf("x-max-body is %T, want a number", most)
	}
}

// needsKey reports whether the operation requires an API key.
func needsKey(doc *openapi3.T, o *openapi3.Operation) bool {
	security := doc.Security
	if o.Security != nil {
		security = *o.Security
	}
	return slices.ContainsFunc(security, func(s openapi3.SecurityRequirement) bool {
		_, ok := s["apiKey"]
		return ok
	})
}

// method returns the HTTP method.
func (o *operation) method() string { return o.route.Method }

// find returns the operation that echo routed the request to.
func (c *contract) find(ec echo.Context) (*operation, bool) {
	op, ok := c.operations[ec.Request().Method+" "+ec.Path()]
	return op, ok
}

const operationKey = "operation"

// unrouted is the operation of requests without one.
var unrouted = &operation{id: "none"}

// operationOf returns the operation of a request, or unrouted.
func operationOf(ec echo.Context) *operation {
	if op, ok := ec.Get(operationKey).(*operation); ok {
		return op
	}
	return unrouted
}

// allowed lists the permitted roles.
func (o *operation) allowed() string {
	names := make([]string, len(o.roles))
	for i, r := range o.roles {
		names[i] = string(r)
	}
	return strings.Join(names, ", ")
}

// The validator's own pattern of a time accepts leap seconds and dates that do not
// exist, which the handlers cannot read.
func init() {
	openapi3.DefineStringFormatValidator("date-time", openapi3.NewCallbackValidator(func(text string) error {
		_, err := time.Parse(time.RFC3339, text)
		return err
	}))
	openapi3.DefineStringFormatValidator("date", openapi3.NewCallbackValidator(func(text string) error {
		_, err := time.Parse(time.DateOnly, text)
		return err
	}))
}
