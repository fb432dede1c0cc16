package main

import (
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// Packages import one way: cmd, api, service, then drafting and db, which know
// nothing of each other nor of those above.
func TestImportsGoOneWay(t *testing.T) {
	t.Parallel()
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "tapeline/...").CombinedOutput()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, out)
	}
	may := map[string][]string{
		"cmd":      {"cmd", "api", "service", "drafting", "db"},
		"api":      {"api", "service", "drafting"},
		"service":  {"service", "drafting", "db"},
		"drafting": {"drafting"},
		"db":       {"db"},
	}
	layer := func(path string) string {
		rest, ok := strings.CutPrefix(path, "tapeline/")
		if !ok {
			return ""
		}
		top, _, _ := strings.Cut(rest, "/")
		return top
	}
	for line := range strings.Lines(string(out)) {
		fields := strings.Fields(line)
		from := layer(fields[0])
		for _, imported := range fields[1:] {
			if to := layer(imported); to != "" && !slices.Contains(may[from], to) {
				t.Errorf("%s imports %s", fields[0], imported)
			}
		}
	}
}
