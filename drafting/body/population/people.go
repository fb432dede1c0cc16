package population

import (
	_ "embed"
	"sync"
)

// Command bodymodel fits the model to one half of an open survey and evaluates
// it on the other.
//
//go:generate go run ../../../cmd/bodymodel -survey ../../../../shared/data -out people.json

//go:embed people.json
var people []byte

// People returns the embedded model of bodies. Callers share it and must not
// change it.
var People = sync.OnceValue(func() *Model {
	m, err := Parse(people)
	if err != nil {
		panic(err) // tests parse the same file
	}
	return m
})
