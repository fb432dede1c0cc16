// Package check holds no code, only tests of what is deployed: that manifests,
// compose file, Dockerfile and alerts are what their own programs read, and
// that they name flags, settings, addresses and metrics that tapeline has.
//
// It is a module apart because those programs' parsers are large. From this
// folder: go test ./...
package check
