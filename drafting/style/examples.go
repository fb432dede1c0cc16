package style

import (
	_ "embed"
	"regexp"
	"strings"
	"sync"
)

//go:embed examples.star
var exampleScript string

// examples returns the bodies of the example functions by verb.
var examples = sync.OnceValue(func() map[string]string {
	byVerb := map[string]string{}
	function := regexp.MustCompile(`(?m)^def (\w+)\(block\):\n((?:    .*\n)+)`)
	for _, m := range function.FindAllStringSubmatch(exampleScript, -1) {
		body := strings.TrimPrefix(strings.ReplaceAll("\n"+m[2], "\n    ", "\n"), "\n")
		byVerb[m[1]] = strings.TrimSuffix(body, "\n")
	}
	return byVerb
})

// Example returns the lines of script that the verb's picture shows, "" if it
// has none.
func (v Verb) Example() string { return examples()[v.Name()] }
