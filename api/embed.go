package api

import (
	_ "embed"
	"regexp"
)

// Contract is the description of the API, from which gen.go is generated and
// against which every answer is tested. The openapi.yaml at the top of the
// project is a link to it, since embed follows no link and reads no file above
// its package.
//
//go:embed openapi.yaml
var Contract []byte

var generatorLine = regexp.MustCompile(`(?m)^\s+x-(go|oapi)-[^\n]*\n|, x-(go|oapi)-[a-z-]+: [a-z]+`)

// published is the contract as served: without the instructions to the generator of
// gen.go.
var published = generatorLine.ReplaceAll(Contract, nil)
