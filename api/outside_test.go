package api_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tapeline/service"
)

// outside is the folder of npm packages that the project is checked against
// (testdata/outside, `npm ci` in it).
func outside(t *testing.T) string {
	t.Helper()
	reader(t, "node")
	dir := filepath.Join("..", "testdata", "outside")
	installed(t, dir)
	return dir
}

// installed skips a test where the npm packages of a folder are not installed, or
// fails it if TAPELINE_READERS=required.
func installed(t *testing.T, dir string) {
	t.Helper()
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "standardwebhooks")); err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("run `npm ci` in %s: %v", dir, err)
		}
		t.Skipf("the packages of %s are not installed (npm ci)", dir)
	}
}

// npx runs an installed package's program.
func npx(t *testing.T, dir string, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), filepath.Join("node_modules", ".bin", args[0]), args[1:]...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out)
}

// The contract passes a linter that is not ours (npm package @redocly/cli).
func TestContractByLinter(t *testing.T) {
	t.Parallel()
	npx(t, outside(t), "redocly", "lint", "--config", "redocly.yaml", "../../openapi.yaml")
}

// A client that another independent generator makes from the contract with its
// default flags (npm package @hey-api/openapi-ts) passes the compiler's strict
// checks.
func TestClientByOtherGenerator(t *testing.T) {
	t.Parallel()
	dir := outside(t)
	npx(t, dir, "openapi-ts", "-i", "../../openapi.yaml", "-o", "client")
	npx(t, dir, "tsc", "-p", "client.tsconfig.json")
}

// build is done once: tests in parallel share the folder.
var build sync.Once

// A client generated from the contract by an independent generator (npm
// packages openapi-typescript and openapi-fetch, checked by typescript) drives
// the main flow.
func TestMainFlowByGeneratedClient(t *testing.T) {
	t.Parallel()
	dir := outside(t)
	build.Do(func() {
		npx(t, dir, "openapi-typescript", "../../openapi.yaml", "-o", "schema.d.ts")
		npx(t, dir, "tsc", "-p", ".")
	})
	b := setup(t)
	cmd := exec.CommandContext(t.Context(), "node", "build/main-flow.js")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "TAPELINE_URL="+b.URL, "TAPELINE_KEY="+b.keys[service.RoleShop])
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var got struct {
		Status, Head string
		Bytes        int
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if got.Status != "ready" || got.Head != "%PDF-" || got.Bytes < 10_000 {
		t.Errorf("the generated client got %+v", got)
	}
}
