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
	for name, tt := range map[string]struct {
		before, after []fitting.Reading
		want          []fitting.Effect // worst first
	}{
		"nothing found":        {[]fitting.Reading{tight("bust", 1)}, []fitting.Reading{tight("bust", 1.4)}, nil},
		"at the limit":         {[]fitting.Reading{tight("bust", 1.5)}, []fitting.Reading{tight("bust", 1.5)}, nil},
		"new":                  {[]fitting.Reading{tight("bust", 0)}, []fitting.Reading{tight("bust", 3)}, []fitting.Effect{"new"}},
		"new place":            {nil, []fitting.Reading{tight("bust", 3)}, []fitting.Effect{"new"}},
		"gone":                 {[]fitting.Reading{tight("bust", 3)}, []fitting.Reading{tight("bust", 1)}, []fitting.Effect{"gone"}},
		"gone with its place":  {[]fitting.Reading{tight("bust", 3)}, nil, []fitting.Effect{"gone"}},
		"tighter":              {[]fitting.Reading{tight("bust", 2)}, []fitting.Reading{tight("bust", 4)}, []fitting.Effect{"tighter"}},
		"looser":               {[]fitting.Reading{tight("bust", 4)}, []fitting.Reading{tight("bust", 2)}, []fitting.Effect{"looser"}},
		"no cutter feels it":   {[]fitting.Reading{tight("bust", 4)}, []fitting.Reading{tight("bust", 4.05)}, []fitting.Effect{"same"}},
		"no cutter sees it":    {[]fitting.Reading{hem(20)}, []fitting.Reading{hem(20.9)}, []fitting.Effect{"same"}},
		"worse":                {[]fitting.Reading{hem(20)}, []fitting.Reading{hem(22)}, []fitting.Effect{"worse"}},
		"better":               {[]fitting.Reading{hem(22)}, []fitting.Reading{hem(20)}, []fitting.Effect{"better"}},
		"neckline shut":        {[]fitting.Reading{neck(600)}, []fitting.Reading{neck(550)}, []fitting.Effect{"new"}},
		"neckline smaller yet": {[]fitting.Reading{neck(550)}, []fitting.Reading{neck(500)}, []fitting.Effect{"tighter"}},
		"neckline opened":      {[]fitting.Reading{neck(550)}, []fitting.Reading{neck(570)}, []fitting.Effect{"gone"}},
		"the worst of a place counts": {[]fitting.Reading{hem(5), hem(20)}, []fitting.Reading{hem(30), hem(5)},
			[]fitting.Effect{"worse"}},
		"worst first": {[]fitting.Reading{hem(20), tight("waist", 4), tight("bust", 2)},
			[]fitting.Reading{hem(20), tight("waist", 2), tight("bust", 4)}, []fitting.Effect{"tighter", "same", "looser"}},
	} {
		var got []fitting.Effect
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
