package workroom

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/styles"
)

func (r *Room) registerPicking(g *echo.Group) {
	g.POST("/try/guess", r.signedIn(r.tryGuess))
	g.POST("/try/handle", r.signedIn(r.tryHandle))
	g.POST("/try/compare", r.signedIn(r.tryCompare))
}

// tryGuess answers with the pieces that an edit would change, or why it cannot be made.
func (r *Room) tryGuess(c echo.Context, s access.Session) error {
	t := trial(c, scriptOf(c))
	read, p := styles.ReadSentences(t.Script, t.Unit)
	if p != nil {
		return c.JSON(http.StatusOK, guessAnswer{Reason: reasonOf(p)})
	}
	e, faults := readEdit(c.Request().Form, read, t.Unit)
	if faults != nil {
		return c.JSON(http.StatusOK, guessAnswer{Reason: reasonOf(&styles.Problem{Faults: faults})})
	}
	guessed, err := r.service.Styles.Guess(c.Request().Context(), s.Caller, t, e)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, guessAnswer{guessed.Pieces, reasonOf(guessed.Problem)})
}

type guessAnswer struct {
	Pieces []styles.GuessedPiece `json:"pieces"`
	Reason string                `json:"reason"` // why there are none, "" if it can be made
}

// reasonOf says why nothing is drafted, "" if something is.
func reasonOf(p *styles.Problem) string {
	if p == nil {
		return ""
	}
	var texts []string
	if p.Reason != "" {
		texts = append(texts, sentence(p.Reason))
	}
	for _, f := range p.Faults {
		text := f.Accepted
		if f.Value != "" {
			text = fmt.Sprintf("“%s”: want %s", f.Value, text)
		}
		texts = append(texts, sentence(text))
	}
	return strings.Join(texts, " ")
}

// handleAnswer is the point that moves with a length, in the coordinates of its piece,
// and how far for each mm.
type handleAnswer struct {
	Piece string  `json:"piece"`
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
	DX    float64 `json:"dx"`
	DY    float64 `json:"dy"`
	MM    float64 `json:"mm"`
}

// tryHandle answers with the point that moves with a blank's length, null if there is
// none.
func (r *Room) tryHandle(c echo.Context, s access.Session) error {
	start, err1 := strconv.Atoi(c.FormValue("start"))
	end, err2 := strconv.Atoi(c.FormValue("end"))
	if err1 != nil || err2 != nil {
		return service.Invalid(service.Faults{{Field: "start", Accepted: "a place in the script, with its end"}})
	}
	h, _, err := r.service.Styles.Handle(c.Request().Context(), s.Caller, trial(c, scriptOf(c)),
		styles.Span{Start: start, End: end})
	if err != nil {
		return err
	}
	if h == nil {
		return c.JSON(http.StatusOK, nil)
	}
	return c.JSON(http.StatusOK, handleAnswer{h.Piece, h.At.X, h.At.Y, h.Per.X, h.Per.Y, h.Length})
}

// comparison compares two edges for the page.
type comparison struct {
	styles.Comparison
	Unit styles.Unit
	Ways []wayView
}

type wayView struct {
	styles.Way
	Fields string // of the edit, as a query
}

// Length says a length to a tenth of a millimetre.
func (v comparison) Length(mm float64) string { return fmt.Sprintf("%.2f %s", v.Unit.From(mm), v.Unit) }

// Off says by how much the longer edge is longer.
func (v comparison) Off() string { return v.Length(max(v.Difference(), -v.Difference())) }

// Longer returns the longer edge.
func (v comparison) Longer() styles.EdgeName {
	if v.Difference() > 0 {
		return v.A
	}
	return v.B
}

// Reason says why nothing is compared.
func (v comparison) Reason() string { return reasonOf(v.Problem) }

// tryCompare is the part of the page that compares two edges.
func (r *Room) tryCompare(c echo.Context, s access.Session) error {
	t := trial(c, scriptOf(c))
	a := styles.EdgeName{Piece: c.FormValue("a_piece"), Edge: c.FormValue("a_name")}
	b := styles.EdgeName{Piece: c.FormValue("b_piece"), Edge: c.FormValue("b_name")}
	found, err := r.service.Styles.Compare(c.Request().Context(), s.Caller, t, a, b)
	if err != nil {
		return err
	}
	v := comparison{Comparison: found, Unit: t.Unit}
	for _, w := range found.Ways {
		v.Ways = append(v.Ways, wayView{w, editFields(w.Edit, t.Unit).Encode()})
	}
	return r.showPart(c, "write", "compared", v)
}

// editFields returns the form that readEdit reads as an edit of a blank or an argument.
func editFields(e styles.Edit, u styles.Unit) url.Values {
	form := url.Values{"act": {string(e.Act)}, "start": {strconv.Itoa(e.At.Start)}, "end": {strconv.Itoa(e.At.End)},
		"form": {string(e.Value.Form)}}
	if e.Param != "" {
		form.Set("param", e.Param)
	}
	switch e.Value.Form {
	case "number":
		form.Set("number", written(u.From(e.Value.Number)))
	case "by_hand":
		form.Set("script", e.Value.Script)
	default:
		form.Set("piece", e.Value.Piece)
		form.Set("word", e.Value.Word)
	}
	return form
}
