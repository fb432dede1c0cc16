package cloth

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// setting is a property of a cloth that options set.
type setting struct {
	accepted string
	set      func(c *Cloth, value string, unit body.Unit) bool
}

var settings = map[string]setting{
	"cloth_width": {"a width in the order's unit, such as 140", func(c *Cloth, value string, unit body.Unit) bool {
		return readLength(&c.Width, value, unit)
	}},
	"selvedge": {"a width in the order's unit, such as 1", func(c *Cloth, value string, unit body.Unit) bool {
		return readLength(&c.Selvedge, value, unit)
	}},
	"shrinkage": {"percent along and across, such as 3/1.5", func(c *Cloth, value string, _ body.Unit) bool {
		warp, weft, _ := strings.Cut(value, "/")
		var errs [2]error
		c.ShrinkageWarp, errs[0] = strconv.ParseFloat(warp, 64)
		c.ShrinkageWeft, errs[1] = strconv.ParseFloat(weft, 64)
		return errs[0] == nil && errs[1] == nil
	}},
	"nap": {"one-way or two-way", func(c *Cloth, value string, _ body.Unit) bool {
		c.Nap = Nap(value)
		return c.Nap == OneWay || c.Nap == TwoWay
	}},
	"spread": {"single or fold", func(c *Cloth, value string, _ body.Unit) bool {
		c.Spread = Spread(value)
		return c.Spread == Single || c.Spread == Fold
	}},
}

// readLength reads a length in a unit and reports whether it is a number.
func readLength(mm *float64, value string, unit body.Unit) bool {
	v, err := strconv.ParseFloat(value, 64)
	*mm = unit.MM(v)
	return err == nil
}

// ParseOptions reads the settings of cloths by name: cloth_width (required),
// selvedge, shrinkage, nap and spread. A value is for all cloths ("140") or for
// one cloth, after its name ("lining=150"). Lengths are in the unit. The error is
// a fault.List.
func ParseOptions(values map[string][]string, unit body.Unit) (Options, error) {
	o := On(0)
	var faults fault.List
	read := func(c *Cloth, name, value string) {
		if s := settings[name]; !s.set(c, value, unit) {
			faults = append(faults, fault.Fault{Code: fault.Format, Field: fault.Pointer(name),
				Value: fault.Shorten(value), Accepted: s.accepted + "; for one cloth, after its name: lining="})
		}
	}
	// The values for all cloths come first: each cloth's own values replace them.
	for _, own := range []bool{false, true} {
		for _, name := range slices.Sorted(maps.Keys(settings)) {
			for _, value := range values[name] {
				cloth, of, named := strings.Cut(value, "=")
				switch {
				case named != own:
				case !named:
					read(&o.Cloth, name, value)
				default:
					c := o.of(cloth)
					read(&c, name, of)
					if o.Cloths == nil {
						o.Cloths = map[string]Cloth{}
					}
					o.Cloths[cloth] = c
				}
			}
		}
	}
	if len(values["cloth_width"]) == 0 {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: "/cloth_width",
			Accepted: settings["cloth_width"].accepted})
	}
	return o, faults.Err()
}
