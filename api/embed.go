package api

import _ "embed"

// Contract is the description of the API, from which gen.go is generated and
// against which every answer is tested. The openapi.yaml at the top of the
// project is a link to it, since embed follows no link and reads no file above
// its package.
//
//go:embed openapi.yaml
var Contract []byte
