package render

import (
	"encoding/json"
	"io"

	"tapeline/drafting/cloth"
	"tapeline/drafting/document"
)

// layPlanJSON is a lay plan as published; lengths are mm.
type layPlanJSON struct {
	document.Label
	Style  string      `json:"style"`
	Cloths []clothJSON `json:"cloths"`
}

type clothJSON struct {
	Name       string        `json:"name"`
	Cloth      cloth.Cloth   `json:"cloth"`
	Sections   []sectionJSON `json:"sections"`
	Length     float64       `json:"length"`
	BottomLeft float64       `json:"bottom_left"`
	Used       float64       `json:"used"`
}

type sectionJSON struct {
	Folded bool       `json:"folded"`
	Width  float64    `json:"width"`
	Length float64    `json:"length"`
	Pieces []laidJSON `json:"pieces"`
}

type laidJSON struct {
	Name     string            `json:"piece"`
	Title    string            `json:"title"`
	Number   int               `json:"number"`
	Layers   int               `json:"layers"`
	OnFold   bool              `json:"on_fold"`
	FaceDown bool              `json:"face_down"`
	Turned   bool              `json:"turned"`
	CutPath  document.Path     `json:"cut_path"`
	Grain    [2]document.Point `json:"grain"`
}

// LayPlanJSON writes a lay plan with the position of every piece, mm.
func LayPlanJSON(w io.Writer, p cloth.Plan) error {
	doc := layPlanJSON{Label: document.Label(p.Label), Style: p.Style, Cloths: []clothJSON{}}
	for _, l := range p.Cloths {
		c := clothJSON{l.Name, l.Cloth, []sectionJSON{}, document.Round(l.Length), document.Round(l.BottomLeft),
			document.Round(l.Used)}
		for _, s := range l.Sections {
			section := sectionJSON{s.Folded, document.Round(s.Width), document.Round(s.Length), []laidJSON{}}
			for _, q := range s.Pieces {
				section.Pieces = append(section.Pieces, laidJSON{q.Name, q.Title, q.Number, q.Layers, q.OnFold, q.FaceDown,
					q.Turned,
					document.NewPath(q.CutLine), [2]document.Point{document.NewPoint(q.Grain.P0), document.NewPoint(q.Grain.P3)}})
			}
			c.Sections = append(c.Sections, section)
		}
		doc.Cloths = append(doc.Cloths, c)
	}
	data, err := json.MarshalIndent(doc, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(data, '\n'))
	return err
}
