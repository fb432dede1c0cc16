package fitting_test

import (
	"testing"

	"tapeline/drafting/fitting"
)

func TestChanges(t *testing.T) {
	t.Parallel()
	tight := func(place string, v float64) fitting.Reading {
		return fitting.Reading{Kind: fitting.Tight, Place: place, Value: v, Unit: "%", Limit: 1.5}
	}
	hem := func(v float64) fitting.Reading {
		return fitting.Reading{Kind: fitting.Hangs, Place: "hem", Value: v, Unit: "mm", Limit: 10}
	}
	neck := func(v float64) fitting.Reading {
		return fitting.Reading{Kind: fitting.NotPutOn, Place: "neckline", Value: v, Unit: "mm", Limit: 560}
	}
	type readings = []fitting.Reading
	type effects = []fitting.Effect
	for name, tt := range map[string]struct {
		before, after readings
		want          effects // worst first
	}{
		"nothing found":        {readings{tight("bust", 1)}, readings{tight("bust", 1.4)}, nil},
		"at the limit":         {readings{tight("bust", 1.5)}, readings{tight("bust", 1.5)}, nil},
		"new":                  {readings{tight("bust", 0)}, readings{tight("bust", 3)}, effects{"new"}},
		"new place":            {nil, readings{tight("bust", 3)}, effects{"new"}},
		"gone":                 {readings{tight("bust", 3)}, readings{tight("bust", 1)}, effects{"gone"}},
		"gone with its place":  {readings{tight("bust", 3)}, nil, effects{"gone"}},
		"tighter":              {readings{tight("bust", 2)}, readings{tight("bust", 4)}, effects{"tighter"}},
		"looser":               {readings{tight("bust", 4)}, readings{tight("bust", 2)}, effects{"looser"}},
		"no cutter feels it":   {readings{tight("bust", 4)}, readings{tight("bust", 4.05)}, effects{"same"}},
		"no cutter sees it":    {readings{hem(20)}, readings{hem(20.9)}, effects{"same"}},
		"worse":                {readings{hem(20)}, readings{hem(22)}, effects{"worse"}},
		"better":               {readings{hem(22)}, readings{hem(20)}, effects{"better"}},
		"neckline shut":        {readings{neck(600)}, readings{neck(550)}, effects{"new"}},
		"neckline smaller yet": {readings{neck(550)}, readings{neck(500)}, effects{"tighter"}},
		"neckline opened":      {readings{neck(550)}, readings{neck(570)}, effects{"gone"}},
		"the worst of a place counts": {readings{hem(5), hem(20)}, readings{hem(30), hem(5)},
			effects{"worse"}},
		"worst first": {readings{hem(20), tight("waist", 4), tight("bust", 2)},
			readings{hem(20), tight("waist", 2), tight("bust", 4)}, effects{"tighter", "same", "looser"}},
	} {
		var got effects
		for _, c := range fitting.Changes(fitting.Report{Readings: tt.before}, fitting.Report{Readings: tt.after}) {
			got = append(got, c.Effect)
			if (c.Before == nil) != (tt.before == nil) || (c.After == nil) != (tt.after == nil) || c.Unit == "" || c.Limit == 0 {
				t.Errorf("%s: %+v", name, c)
			}
		}
		if len(got) != len(tt.want) {
			t.Errorf("%s: %v, want %v", name, got, tt.want)
			continue
		}
		for i := range got {
			if got[i] != tt.want[i] {
				t.Errorf("%s: %v, want %v", name, got, tt.want)
			}
		}
	}
}
