package main

import (
	"os"
	"strings"
	"testing"

	"golang.org/x/tools/go/packages"
)

// TestOtherSystems checks the types of the program's own packages for the other systems
// that it runs on. Building them would compile the standard library again, which takes
// minutes.
func TestOtherSystems(t *testing.T) {
	t.Parallel()
	for _, system := range []string{"windows", "darwin"} {
		load := func(mode packages.LoadMode, names ...string) []*packages.Package {
			all, err := packages.Load(&packages.Config{Context: t.Context(), Mode: mode | packages.NeedName |
				packages.NeedImports | packages.NeedDeps, Env: append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")}, names...)
			if err != nil {
				t.Fatal(err)
			}
			return all
		}
		var own []string // the bodies of functions are checked in the packages that are named
		packages.Visit(load(0, "."), nil, func(p *packages.Package) {
			if strings.HasPrefix(p.PkgPath, "tapeline/") {
				own = append(own, p.PkgPath)
			}
		})
		all := load(packages.NeedFiles|packages.NeedCompiledGoFiles|packages.NeedSyntax|packages.NeedTypes, own...)
		packages.Visit(all, nil, func(p *packages.Package) {
			for _, e := range p.Errors {
				t.Errorf("%s: %s: %v", system, p.PkgPath, e)
			}
		})
	}
}
