package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"regexp"
	"strings"
	"testing"
)

// Every function that DEVELOPERS.md names as file:function exists, and its walks
// are short: at most 20 steps for an order, at most 8 for a measurement.
func TestDevelopersWalks(t *testing.T) {
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	step := regexp.MustCompile("(?m)^\\d+\\. `([^`:]+\\.go):(\\w+)`")
	for title, most := range map[string]int{"## One order, from HTTP to PDF": 20, "## One measurement, `bust_girth`": 8} {
		_, section, _ := strings.Cut(string(text), title)
		section, _, _ = strings.Cut(section, "\n## ")
		steps := step.FindAllStringSubmatch(section, -1)
		if len(steps) < most/2 || len(steps) > most {
			t.Errorf("%s has %d steps, want at most %d", title, len(steps), most)
		}
		for _, s := range steps {
			if !declares(t, "../../"+s[1], s[2]) {
				t.Errorf("%s: %s has no function %s", title, s[1], s[2])
			}
		}
	}
}

// Every test that SECURITY.md names as file:function exists.
func TestSecurityNamesTests(t *testing.T) {
	text, err := os.ReadFile("../../deploy/SECURITY.md")
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile("`([^`:]+_test\\.go):(Test\\w+)`").FindAllStringSubmatch(string(text), -1)
	if len(named) < 15 {
		t.Errorf("it names %d tests", len(named))
	}
	for _, n := range named {
		if !declares(t, "../../"+n[1], n[2]) {
			t.Errorf("%s has no function %s", n[1], n[2])
		}
	}
}

// declares reports whether a file has a function or method with the name.
func declares(t *testing.T, file, name string) bool {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Error(err)
		return true
	}
	for _, d := range f.Decls {
		if fn, ok := d.(*ast.FuncDecl); ok && fn.Name.Name == name {
			return true
		}
	}
	return false
}
