package style

import (
	"fmt"
	"math"

	"go.starlark.net/starlark"
)

var notionVerbs = []declaration{
	{"Notions", `zip_fastener(opening length, kind text="Concealed zip") text`,
		`a zip for {opening}[, {kind}]`,
		`Returns the notion of a zip for an opening of mm: the next length that is sold, and how far it is shortened.`,
		zipFastener},
	{"Notions", `buttons(count, size length) text`,
		`{count} buttons of {size}`,
		`Returns the notion of buttons about size mm across, in the nearest size that is sold: "6 buttons of 11.4 mm ` +
			`(18 ligne)".`,
		buttons},
	{"Notions", `by_length(what text, length) text`,
		`{length} of {what}`,
		`Returns the notion of something sold by length, such as elastic or tape, rounded up to 10 cm.`,
		byLength},
	{"Notions", `elastic(width length, girth length, share share=0.92, lap length=20) text`,
		`elastic {width} wide for a girth of {girth}[, {share} of it long][, lapped by {lap}]`,
		`Returns the notion of elastic for a girth of the body: share of it long, 0.9 to 0.95 is usual (common practice), ` +
			`and lap mm more to join its ends, rounded up to 1 cm. Give a casing 5 mm more than the width.`,
		elastic},
}

// zipLengths are the lengths in mm in which zips for dresses, skirts and
// trousers are sold (from memory; shops differ).
var zipLengths = [...]float64{100, 120, 150, 180, 200, 220, 250, 300, 350, 400, 450, 500, 550, 600, 650, 700, 750, 800,
	900, 1000}

// ligne is the unit of button sizes, mm: a fortieth of an inch (common
// practice).
const ligne = 25.4 / 40

// buttonSizes are the sizes in lignes in which buttons are sold (from memory).
var buttonSizes = [...]float64{14, 16, 18, 20, 22, 24, 28, 30, 32, 34, 36, 40, 44, 54, 60}

func zipFastener(c *call) (starlark.Value, error) {
	var opening float64
	kind := "Concealed zip"
	if err := c.unpack(&opening, &kind); err != nil {
		return nil, err
	}
	if !(opening > 0) {
		return nil, c.errorf("opening=%g; want more than 0 mm", opening)
	}
	if len(kind) > 80 {
		return nil, c.errorf("kind: %d bytes; at most 80", len(kind))
	}
	for _, sold := range zipLengths {
		switch {
		case sold < opening-0.5:
			continue
		case sold < opening+5:
			return starlark.String(fmt.Sprintf("%s of %.0f mm", kind, sold)), nil
		}
		return starlark.String(fmt.Sprintf("%s of %.0f mm, shortened to %.0f mm", kind, sold, opening)), nil
	}
	return starlark.String(fmt.Sprintf("%s sold by length, cut to %.0f mm, with a slider", kind, opening)), nil
}

func buttons(c *call) (starlark.Value, error) {
	var count int
	var size float64
	if err := c.unpack(&count, &size); err != nil {
		return nil, err
	}
	if count < 1 || count > 200 || !(size >= 5 && size <= 50) {
		return nil, c.errorf("count=%d, size=%g; want 1 to 200 buttons of 5 to 50 mm", count, size)
	}
	best := buttonSizes[0]
	for _, s := range buttonSizes {
		if math.Abs(s*ligne-size) < math.Abs(best*ligne-size) {
			best = s
		}
	}
	noun := "buttons"
	if count == 1 {
		noun = "button"
	}
	return starlark.String(fmt.Sprintf("%d %s of %.1f mm (%.0f ligne)", count, noun, best*ligne, best)), nil
}

func elastic(c *call) (starlark.Value, error) {
	var width, girth float64
	share, lap := 0.92, 20.0
	if err := c.unpack(&width, &girth, &share, &lap); err != nil {
		return nil, err
	}
	if !(width >= 3 && width <= 100 && girth > 0 && share >= 0.5 && share <= 1 && lap >= 0 && lap <= 100) {
		return nil, c.errorf("width=%g, girth=%g, share=%g, lap=%g; want 3 to 100 mm, more than 0 mm, 0.5 to 1, and 0 to "+
			"100 mm", width, girth, share, lap)
	}
	long := 10 * math.Ceil((share*girth+lap)/10-1e-9)
	return starlark.String(fmt.Sprintf("Elastic %.0f mm wide, %.0f mm long: try it on before it is cut", width, long)), nil
}

func byLength(c *call) (starlark.Value, error) {
	var what string
	var length float64
	if err := c.unpack(&what, &length); err != nil {
		return nil, err
	}
	if !(length > 0) || len(what) > 80 {
		return nil, c.errorf("length=%g, what of %d bytes; want more than 0 mm, and at most 80 bytes", length, len(what))
	}
	return starlark.String(fmt.Sprintf("%s, %.0f mm", what, 100*math.Ceil(length/100-1e-9))), nil
}
