package cloth

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
)

// setting is what can be said of a cloth, and how a value is read.
type setting struct {
	accepted string
	set      func(c *Cloth, value string, unit body.Unit) bool
}

var settings = map[string]setting{
	"fabric_width": {"a width in the order's unit, such as 140", func(c *Cloth, value string, unit body.Unit) bool {
		return readLength(&c.Width, value, unit)
	}},
	"selvedge": {"a width in the order's unit, such as 1", func(c *Cloth, value string, unit body.Unit) bool {
		return readLength(&c.Selvedge, value, unit)
	}},
	"shrinkage": {"percent in length and in width, such as 3/1.5", func(c *Cloth, value string, _ body.Unit) bool {
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
	"fabric": {"single or fold", func(c *Cloth, value string, _ body.Unit) bool {
		c.Spread = Spread(value)
		return c.Spread == Single || c.Spread == Fold
	}},
}

func readLength(mm *float64, value string, unit body.Unit) bool {
	v, err := strconv.ParseFloat(value, 64)
	*mm = unit.MM(v)
	return err == nil
}

// ParseOptions reads what is said of cloths: of each setting (fabric_width,
// selvedge, shrinkage, nap, fabric) values for all cloths, or for one, with its
// name before: "140", "lining=150". Lengths are in the unit. The error is a
// fault.List.
func ParseOptions(said map[string][]string, unit body.Unit) (Options, error) {
	o := On(0)
	var faults fault.List
	read := func(c *Cloth, name, value string) {
		if s := settings[name]; !s.set(c, value, unit) {
			faults = append(faults, fault.Fault{Code: fault.Format, Field: fault.Pointer(name), Value: fault.Shorten(value),
				Accepted: s.accepted + ", for one cloth with its name before: lining="})
		}
	}
	// First what is for all, so that each cloth's own goes before it.
	for _, own := range []bool{false, true} {
		for _, name := range slices.Sorted(maps.Keys(settings)) {
			for _, value := range said[name] {
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
	if len(said["fabric_width"]) == 0 {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: "/fabric_width", Accepted: settings["fabric_width"].accepted})
	}
	return o, faults.Err()
}
