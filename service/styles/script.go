package styles

import (
	_ "embed" // the template

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// Word is a word that a script can use.
type Word struct {
	Name     string `json:"name"`
	Group    string `json:"group"`
	Use      string `json:"use"`                // how it is called
	Sentence string `json:"sentence,omitempty"` // how a call reads, with {blanks}
	Doc      string `json:"doc"`
	Acts     bool   `json:"-"` // it is an instruction, not a value
}

// Verbs describes the verbs of scripts, in the order of their reference.
func Verbs() []Word {
	var list []Word
	for _, v := range style.Verbs() {
		list = append(list, Word{v.Name(), v.Group, v.Use(), v.Sentence, v.Doc, v.Acts()})
	}
	return list
}

// Measures describes the measurements that a script reads from its body.
func Measures() []Word {
	var list []Word
	for _, m := range body.All() {
		list = append(list, Word{string(m.Name), "Measurements", "body." + string(m.Name), "",
			m.Title + ": " + m.How + ".", false})
	}
	return list
}

//go:embed template.star
var template string

// Template returns the script of a small style to start from.
func Template() string { return template }
