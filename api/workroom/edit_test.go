package workroom

import (
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"tapeline/service/styles"
)

// read reads a script in cm.
func read(t *testing.T, script string, unit styles.Unit) *styles.Sentences {
	t.Helper()
	s, p := styles.ReadSentences(script, unit)
	if p != nil {
		t.Fatal(p.Reason)
	}
	return s
}

// at returns the place of a text in a script.
func at(t *testing.T, script, text string) (start, end string) {
	t.Helper()
	i := strings.Index(script, text)
	if i < 0 {
		t.Fatalf("the script has no %s", text)
	}
	return strconv.Itoa(i), strconv.Itoa(i + len(text))
}

// A form with a value fills in a blank: lengths in the unit of the page, everything else
// as it is.
func TestReadEdit(t *testing.T) {
	t.Parallel()
	script := styles.Template()
	for name, c := range map[string]struct {
		unit styles.Unit
		form string
		want styles.Value
	}{
		"centimetres":  {"cm", "form=number&number=4,1", styles.Value{Form: "number", Number: 41}},
		"inches":       {"inch", "form=number&number=1+1/2", styles.Value{Form: "number", Number: 38.1}},
		"a minus sign": {"cm", "form=number&number=−2", styles.Value{Form: "number", Number: -20}},
		"an edge": {"cm", "form=edge_length&word=back/side&plus=0.3",
			styles.Value{Form: "edge_length", Piece: "back", Word: "side", Plus: 3}},
		"a measurement": {"cm", "form=measurement&measurement.word=waist_girth&measurement.times=1/4&word=x",
			styles.Value{Form: "measurement", Word: "waist_girth", Times: 0.25}},
		"a choice": {"cm", "form=chosen&word=neck_depth", styles.Value{Form: "chosen", Word: "neck_depth"}},
		"by hand":  {"cm", "form=by_hand&script=2+*+20", styles.Value{Form: "by_hand", Script: "2 * 20"}},
		"a place": {"cm", "form=position&word=side&number=3",
			styles.Value{Form: "by_hand", Script: `("side", 30)`}},
		"limits":  {"cm", "form=range&min=1&max=2.5", styles.Value{Form: "by_hand", Script: "(10, 25)"}},
		"lengths": {"cm", "form=numbers&number=1%3B+2.5", styles.Value{Form: "by_hand", Script: "[10, 25]"}},
		"pieces": {"cm", "form=list&word=front&word=back",
			styles.Value{Form: "by_hand", Script: "[front, back]"}},
		"texts": {"cm", "form=words&word=one%0A+two+%0A",
			styles.Value{Form: "words", Words: []string{"one", "two"}}},
		"the number as it was": {"inch", "form=number&number=1+9/16", styles.Value{Form: "number", Number: 40, Script: "40"}},
	} {
		start, end := at(t, script, "40")
		form, err := url.ParseQuery(c.form + "&act=set_blank&start=" + start + "&end=" + end)
		if err != nil {
			t.Fatal(err)
		}
		e, faults := readEdit(form, read(t, script, c.unit), c.unit)
		if len(faults) > 0 || !reflect.DeepEqual(e.Value, c.want) {
			t.Errorf("%s: got %+v, faults %v, want %+v", name, e.Value, faults, c.want)
		}
	}
}

// What a form lacks is said by field, all at once.
func TestReadEditFaults(t *testing.T) {
	t.Parallel()
	script := styles.Template()
	start, end := at(t, script, "40")
	blank := "act=set_blank&start=" + start + "&end=" + end
	for form, fields := range map[string]string{
		"act=sew&start=0&end=1":                                                "act",
		"act=set_blank&start=x":                                                "start end start",
		blank + "&form=number&number=four":                                     "number",
		blank + "&form=number&number=1e999":                                    "number",
		blank + "&form=number&number=0x10":                                     "number",
		blank + "&form=number&number=1/0":                                      "number",
		blank + "&form=measurement&word=waist_girth&times=a&plus=b":            "plus times",
		blank + "&form=colour":                                                 "form",
		blank + "&form=by_hand&script=":                                        "script",
		strings.Replace(blank, "set_blank", "offer_choice", 1) + "&min=a&max=": "min max name help",
		"act=add_sentence&start=0&end=1&verb=sing":                             "verb",
		"act=add_sentence&start=0&end=1&verb=flare&arg.0.param=by&arg.0.form=number&arg.0.number=x&" +
			"arg.1.param=z&arg.1.form=word": "arg.0.number arg.1.param",
		"act=set_argument&start=0&end=1&param=by": "param",
	} {
		values, err := url.ParseQuery(form)
		if err != nil {
			t.Fatal(err)
		}
		_, faults := readEdit(values, read(t, script, "cm"), "cm")
		var got []string
		for _, f := range faults {
			got = append(got, f.Field)
			if f.Accepted == "" {
				t.Errorf("%s: %s does not say what is accepted", form, f.Field)
			}
		}
		if strings.Join(got, " ") != fields {
			t.Errorf("%s: faults in %q, want %q", form, strings.Join(got, " "), fields)
		}
	}
}
