package check

import (
	"errors"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// blocks returns the indented blocks of a Markdown file.
func blocks(text string) (list []string) {
	inside := false
	for line := range strings.Lines(text) {
		code, indented := strings.CutPrefix(line, "    ")
		switch {
		case indented && inside:
			list[len(list)-1] += code
		case indented:
			list = append(list, code)
		}
		inside = indented
	}
	return list
}

// operator runs the runbook's commands.
type operator struct {
	*testing.T
	dir string
	env []string
}

func (o *operator) sh(text string) (string, error) {
	cmd := exec.CommandContext(o.Context(), "bash", "-euo", "pipefail", "-c", text)
	cmd.Dir, cmd.Env = o.dir, append(os.Environ(), o.env...)
	out, err := cmd.CombinedOutput()
	return string(out), err
}

func (o *operator) must(text string) string {
	o.Helper()
	out, err := o.sh(text)
	if err != nil {
		o.Errorf("%s: %v\n%s", text, err, out)
	}
	return strings.TrimSpace(out)
}

// address returns the URL of a data folder's PostgreSQL, with another database.
func address(t *testing.T, data, database string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(data, "postgres.url"))
	if err != nil {
		t.Fatal(err)
	}
	u, err := url.Parse(strings.TrimSpace(string(b)))
	if err != nil {
		t.Fatal(err)
	}
	if database != "" {
		u.Path = "/" + database
	}
	return u.String()
}

// notHere says why the commands of other programs are not run by the test: there is
// no cluster, and no container engine.
var notHere = map[string]string{"kubectl": "no cluster", "docker": "no container engine"}

// The commands of the runbook run as written, against private PostgreSQL servers,
// except those of kubectl and docker. A restored database has the orders of the one
// that was dumped.
func TestRunbook(t *testing.T) {
	if _, err := exec.LookPath("pg_dump"); err != nil {
		t.Skip(err)
	}
	b, err := os.ReadFile("../RUNBOOK.md")
	if err != nil {
		t.Fatal(err)
	}
	file, err := programOnce()
	if err != nil {
		t.Fatal(err)
	}
	dir := folder(t)
	before, after := filepath.Join(dir, "OLD"), filepath.Join(dir, "NEW")
	api := demo(t, before)
	run(t, "serve", "-addr", "127.0.0.1:0", "-data", after)
	o := &operator{t, dir, []string{"PATH=" + filepath.Dir(file) + ":" + os.Getenv("PATH"),
		"DATABASE_URL=" + address(t, before, ""), "MAINTENANCE_URL=" + address(t, before, "postgres"),
		"RESTORED_URL=" + address(t, before, "tapeline_restored"), "TAPELINE_API=" + api}}
	ran := 0
	for _, block := range blocks(string(b)) {
		word, _, _ := strings.Cut(block, " ")
		switch reason := notHere[word]; {
		case reason != "":
			t.Logf("not run (%s): %.50s", reason, block)
		case word == "SELECT" || word == "UPDATE":
			o.must(`psql -v ON_ERROR_STOP=1 "$DATABASE_URL" -c "` + strings.ReplaceAll(block, "…", "0") + `"`)
			ran++
		default:
			o.must(block)
			ran++
		}
	}
	if ran != 5 {
		t.Errorf("%d blocks ran, want 5", ran)
	}
	count := func(database string) string {
		return o.must(`psql -At "` + database + `" -c "SELECT count(*) FROM orders WHERE status = 'ready'"`)
	}
	for _, restored := range []string{"$RESTORED_URL", "$(cat NEW/postgres.url)"} {
		if n := count(restored); n != count("$DATABASE_URL") || n == "0" {
			t.Errorf("%s has %s ready orders, the dumped database %s", restored, n, count("$DATABASE_URL"))
		}
	}
	o.commands(string(b))
}

// commands runs the commands of the program that the text names. One without flags
// stands for the command itself, and is asked for its help.
func (o *operator) commands(runbook string) {
	key := o.must("tapeline keys add -shop thimble-row -role admin | tail -1")
	o.env = append(o.env, "TAPELINE_API_KEY="+key)
	stands := strings.NewReplacer("SLUG", "thimble-row", " N", " 730", " ID", " 0197a3c1-5b7e-7c0a-9d0e-0d6ad3f1f3a1")
	found := regexp.MustCompile("`(tapeline [^`]+)`").FindAllStringSubmatch(runbook, -1)
	if len(found) < 6 {
		o.Errorf("%d commands", len(found))
	}
	for _, f := range found {
		command := stands.Replace(f[1])
		if command == f[1] && !strings.Contains(command, " -") {
			command += " -h"
		}
		out, err := o.sh(command)
		exit, failed := errors.AsType[*exec.ExitError](err)
		if failed && exit.ExitCode() == 1 && strings.Contains(out, "not_found") {
			continue // an unknown ID is no fault of the command
		}
		if err != nil {
			o.Errorf("%s: %v\n%s", command, err, out)
		}
	}
}
