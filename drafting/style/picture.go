package style

import (
	"context"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// A Picture shows what a verb does.
type Picture struct{ Before, After Shapes }

// Shapes are the shapes of one half of a picture.
type Shapes struct {
	Pieces []pattern.Piece
	Paths  []geom.Path
	Points []geom.Point
}

// pictureFigure is the body of the pictures, mm: a standard one of our own.
var pictureFigure = body.Measures{
	"height": 1680, "bust_girth": 920, "waist_girth": 740, "hip_girth": 980, "neck_base_girth": 375,
	"shoulder_length": 126, "back_width": 355, "nape_to_waist": 415, "waist_to_hip": 205, "upper_arm_girth": 285,
	"wrist_girth": 160, "arm_length": 590,
}

// pictureChoices are the choices of the block for the examples that need others.
var pictureChoices = map[string]map[string]block.Value{"two_piece_sleeve": {"elbow": {Word: "upright"}}}

// Picture draws the verb's example.
func (v Verb) Picture(ctx context.Context) (Picture, error) {
	script := `style(slug = "picture", title = "Picture", block = "torso")

def plain(piece):
    for d in piece.darts:
        piece = undart(piece, d)
    return piece

def make(body, ease, choose, block):
    ` + strings.ReplaceAll(v.Example(), "\n", "\n    ") + "\n"
	s, err := Compile([]byte(script))
	if err != nil {
		return Picture{}, err
	}
	spec, _ := block.Find("torso")
	person, faults := body.New(pictureFigure, spec.Requires)
	if faults != nil {
		return Picture{}, faults
	}
	drafted, err := block.Draft(ctx, spec.Name, block.Request{Body: person, Fit: spec.Fits[0].Name,
		Choices: pictureChoices[v.Name()]})
	if err != nil {
		return Picture{}, err
	}
	r := newRun()
	r.drafting = true
	args := s.inputs(block.Request{Body: person, Fit: spec.Fits[0].Name}, spec).args()
	result, err := starlark.Call(r.thread, s.make, append(args, blockRecord(drafted)), nil)
	if err != nil {
		return Picture{}, asError("picture of "+v.Name(), err)
	}
	both, ok := result.(starlark.Tuple)
	if !ok || len(both) != 2 {
		return Picture{}, fmt.Errorf("the example of %s returns %s, want a pair", v.Name(), result.Type())
	}
	var p Picture
	for i, to := range [...]*Shapes{&p.Before, &p.After} {
		if err := to.add(both[i]); err != nil {
			return Picture{}, fmt.Errorf("the example of %s: %w", v.Name(), err)
		}
	}
	return p, nil
}

func (s *Shapes) add(v starlark.Value) error {
	switch v := v.(type) {
	case *piece:
		s.Pieces = append(s.Pieces, v.Piece)
	case path:
		s.Paths = append(s.Paths, v.Path)
	case point:
		s.Points = append(s.Points, geom.Point(v))
	case starlark.Indexable:
		for i := range v.Len() {
			if err := s.add(v.Index(i)); err != nil {
				return err
			}
		}
	default:
		return fmt.Errorf("cannot draw a %s", v.Type())
	}
	return nil
}
