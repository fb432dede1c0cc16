package block

import (
	"slices"

	"tapeline/drafting/body"
)

// Spared are the measurements of a Spec that a draft with one word of a choice
// does not require.
type Spared struct {
	Estimated []body.Name // still used, and estimated where not given
	Unused    []body.Name
}

// Needs returns the measurements that a draft with those choices requires, and
// those that it uses and that are estimated where not given.
func (s Spec) Needs(choices map[string]Value) (requires, uses []body.Name) {
	requires, uses = slices.Clone(s.Requires), slices.Clone(s.Uses)
	for _, c := range s.Choices {
		v, ok := choices[c.Name]
		if !ok {
			v = c.Default
		}
		spared := c.Spares[v.Word]
		requires = Without(requires, spared.Estimated, spared.Unused)
		uses = append(Without(uses, spared.Unused), spared.Estimated...)
	}
	return requires, uses
}

// Without returns the names that are in none of the lists.
func Without(names []body.Name, lists ...[]body.Name) []body.Name {
	return slices.DeleteFunc(slices.Clone(names), func(n body.Name) bool {
		return slices.ContainsFunc(lists, func(list []body.Name) bool { return slices.Contains(list, n) })
	})
}
