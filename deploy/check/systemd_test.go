package check

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// systemd's own checker reads the units. The programs that they start are not where
// it runs, so that /bin/true stands in for them.
func TestSystemdUnits(t *testing.T) {
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	files, err := filepath.Glob("../systemd/*")
	if err != nil || len(files) != 3 {
		t.Fatalf("%d units, %v", len(files), err)
	}
	dir := t.TempDir()
	args := []string{"verify", "--man=no"}
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		text := strings.ReplaceAll(string(b), "/usr/local/bin/tapeline", "/bin/true")
		unit := filepath.Join(dir, filepath.Base(file))
		if err := os.WriteFile(unit, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, unit)
	}
	out, err := exec.CommandContext(t.Context(), analyze, args...).CombinedOutput()
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, "tapeline") {
			t.Errorf("%s", line)
		}
	}
	if err != nil {
		t.Errorf("%v: %s", err, out)
	}
}

// Every setting of the unit is one that the program reads.
func TestSystemdSettings(t *testing.T) {
	b, err := os.ReadFile("../systemd/tapeline.service")
	if err != nil {
		t.Fatal(err)
	}
	file, err := programOnce()
	if err != nil {
		t.Fatal(err)
	}
	help, _ := exec.CommandContext(t.Context(), file, "serve", "-h").CombinedOutput()
	found := regexp.MustCompile(`\b(TAPELINE_[A-Z_]+|DATABASE_URL)=`).FindAllStringSubmatch(string(b), -1)
	if len(found) < 4 {
		t.Errorf("%d settings", len(found))
	}
	for _, setting := range found {
		if !strings.Contains(string(help), setting[1]) {
			t.Errorf("the program does not know the setting %s", setting[1])
		}
	}
}
