// Package tapeline holds the contract of the HTTP API, from which package api
// is generated and against which it is tested.
package tapeline

import _ "embed"

// Contract is openapi.yaml, the OpenAPI 3.0.3 description of the API.
//
//go:embed openapi.yaml
var Contract []byte
