package api

import _ "embed"

// Contract is openapi.yaml, the description of the API from which this package
// is generated and against which it is tested. The file lies at the top of the
// project, out of embed's reach: go generate copies it, and a test fails where
// the two differ.
//
//go:generate cp ../openapi.yaml contract.gen.yaml
//go:embed contract.gen.yaml
var Contract []byte
