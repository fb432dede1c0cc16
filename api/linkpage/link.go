package linkpage

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"tapeline/service"
	"tapeline/service/patterns"
)

// linkView holds the data of the page of a download link.
type linkView struct {
	patterns.Handout
	Title string
	Left  int    // downloads
	File  string // address of the file, to which a paper can be added
	Sizes []paperView
	Kind  string // what the file is, unless it is a PDF of sheets
}

type paperView struct {
	Title, For string
	Pages      int
	File       string
	First      bool // what the shop chose
}

// home are the papers of printers at home; the others are those of copy shops.
var home = map[string]string{"a4": "A4", "letter": "US Letter", "a3": "A3", "legal": "US Legal", "tabloid": "Tabloid"}

// copyShop are the papers that copy shops print on. The rest of the sizes are left
// out: nobody needs to choose among eleven.
var copyShop = map[string]string{"a0": "A0", "a1": "A1", "ansi-e": "ANSI E"}

// kinds says what the files other than a PDF of sheets are.
var kinds = map[string]string{
	"svg": "a drawing (SVG) for a cutting machine or a drawing program", "png": "a picture (PNG) for a screen",
	"dxf":  "a drawing (DXF) for a plotter, a cutting machine or a drawing program",
	"json": "data (JSON) for a program", patterns.MakingSheet: "the making sheet (PDF): how the garment is cut and sewn",
}

// link shows what a download link hands out.
func (p *Pages) link(c echo.Context) error {
	h, err := p.service.Patterns.Handout(c.Request().Context(), address(c))
	if e, ok := errors.AsType[*service.Error](err); ok {
		if m, status := noLink(e.Code, h.Shop); status != 0 {
			return p.show(c, status, "message", m)
		}
	}
	if err != nil {
		return err
	}
	query := url.Values{"expires": {c.QueryParam("expires")}, "signature": {c.QueryParam("signature")},
		"download": {"true"}}
	v := linkView{Handout: h, Title: "Pattern " + h.Reference, Left: h.MaxUses - h.Uses, Kind: kinds[h.Format],
		File: "/v1/links/" + c.Param("id") + "?" + query.Encode()}
	v.Garment = words(h.Garment)
	chosen := h.Options.Paper
	for _, count := range h.Papers {
		title, use := home[count.Paper], "at home"
		if title == "" {
			title, use = copyShop[count.Paper], "at a copy shop"
		}
		first := count.Paper == chosen
		if title == "" && first {
			title = strings.ToUpper(count.Paper)
		}
		if title != "" {
			v.Sizes = append(v.Sizes, paperView{title, use, count.Pages, v.File + "&paper=" + count.Paper, first})
		}
	}
	return p.show(c, http.StatusOK, "link", v)
}

// noLink says why a link does not work, and what to do about it.
func noLink(code service.Code, shop string) (message, int) {
	m := message{Shop: shop, Next: fmt.Sprintf("Ask %s for a new link.", shop)}
	switch code {
	case service.CodeSignatureInvalid:
		m.Title, m.Detail = "This address is not complete", "A part of the address is missing or was changed."
		m.Next = "Open the link in the shop's message again, or copy all of it."
		return m, http.StatusUnauthorized
	case service.CodeLinkExpired:
		m.Title, m.Detail = "This link has expired", "It worked for a limited time, which is over."
	case service.CodeLinkUsedUp:
		m.Title, m.Detail = "This link is used up", "The pattern was downloaded as often as the link permits."
	case service.CodeLinkRevoked:
		m.Title, m.Detail = "This link no longer works", "The shop has withdrawn it."
	case service.CodeOrderCancelled:
		m.Title, m.Detail = "This order was cancelled", "Its pattern is no longer handed out."
		m.Next = fmt.Sprintf("If you did not expect this, ask %s.", shop)
	case service.CodeErased:
		m.Title, m.Detail = "This pattern was deleted", "The data that it was drafted from was erased."
		m.Next = fmt.Sprintf("If you did not expect this, ask %s.", shop)
	case service.CodePatternNotReady:
		m.Title, m.Detail = "This pattern is on hold", fmt.Sprintf("%s is looking at the order once more.", shop)
		m.Next = fmt.Sprintf("Open this link again later, or ask %s.", shop)
		return m, http.StatusConflict
	default:
		return m, 0
	}
	return m, http.StatusGone
}
