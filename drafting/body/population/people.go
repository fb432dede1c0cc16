package population

import (
	_ "embed"
	"sync"
)

// The model is fitted to half of an open survey; the command says on which
// people, and judges it on the other half.
//
//go:generate go run ../../../cmd/bodymodel -survey ../../../../shared/data -out people.json

//go:embed people.json
var people []byte

// People is the model of bodies that Tapeline carries. It is shared and must
// not be changed.
var People = sync.OnceValue(func() *Model {
	m, err := Parse(people)
	if err != nil {
		panic(err) // the file in the program is no model: tests would not have passed
	}
	return m
})
