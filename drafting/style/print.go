package style

import (
	"errors"
	"strings"

	"go.starlark.net/starlark"
)

// Printing returns the style with a function that receives what its script
// prints in a draft, and the line that prints it. Other styles print nothing.
func (s *Style) Printing(to func(line int, text string)) *Style {
	printing := *s
	printing.print = to
	return &printing
}

// printValues is the language's print. It writes its arguments separated by
// spaces.
func printValues(t *starlark.Thread, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	r := runOf(t)
	switch {
	case len(kwargs) > 0:
		return nil, errors.New("print: takes no named arguments")
	case !r.drafting:
		return nil, errors.New("print: nothing is drafted at the top of the script; want it in a function")
	}
	if err := r.weigh(args); err != nil {
		return nil, err
	}
	if err := r.takeValue(writtenSize(args)); err != nil {
		return nil, err
	}
	if r.print == nil {
		return starlark.None, nil
	}
	words := make([]string, len(args))
	for i, v := range args {
		text, ok := starlark.AsString(v)
		if !ok {
			text = v.String()
		}
		words[i] = text
	}
	r.print(r.line(), strings.Join(words, " "))
	return starlark.None, nil
}
