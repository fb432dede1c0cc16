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

// builtins compiles the garments once, when one is first asked for.
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

// Builtins are the garments that come with tapeline, by slug. The error is that
// of a garment that does not compile, which a test rules out.
func Builtins() ([]*Style, error) { return builtins() }

// Builtin is the garment of that slug.
func Builtin(slug string) (*Style, bool) {
	all, _ := builtins()
	for _, s := range all {
		if s.Head.Slug == slug {
			return s, true
		}
	}
	return nil, false
}
