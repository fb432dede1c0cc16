// Package tapeline embeds the description of the API. It lies at the top of
// the module because embed cannot reach a file above its package.
package tapeline

import _ "embed"

// Contract is openapi.yaml, the description of the API from which package api
// is generated and against which it is tested.
//
//go:embed openapi.yaml
var Contract []byte
