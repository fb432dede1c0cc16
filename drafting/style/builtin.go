package style

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"
)

//go:embed garments/*.star
var garments embed.FS

// builtins compiles the built-in garments on its first call.
var builtins = sync.OnceValues(func() ([]*Style, error) {
	files, err := fs.Glob(garments, "garments/*.star")
	if err != nil {
		return nil, err
	}
	var all []*Style
	for _, name := range files {
		source, err := garments.ReadFile(name)
		if err != nil {
			return nil, err
		}
		s, err := Compile(source)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b *Style) int { return strings.Compare(a.Head.Slug, b.Head.Slug) })
	return all, nil
})

// Builtins returns the built-in garments, ordered by slug. The error is that of
// a garment that does not compile; the tests make sure that all do.
func Builtins() ([]*Style, error) { return builtins() }

// Builtin returns the built-in garment with that slug.
func Builtin(slug string) (*Style, bool) {
	all, _ := builtins()
	for _, s := range all {
		if s.Head.Slug == slug {
			return s, true
		}
	}
	return nil, false
}
