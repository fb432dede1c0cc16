// Package check tests the deployment files: the programs that use the manifests,
// the compose file, the Dockerfile and the alerts can read them, and the flags,
// settings, addresses and metrics in them exist in tapeline.
//
// It is a separate module because the parsers of those programs are large. Run
// "go test ./..." in this folder.
package check
