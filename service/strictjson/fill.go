package strictjson

import (
	"encoding"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/fault"
)

// Decode parses data and fills the value that into points to, see Parse and
// Fill.
func Decode(data []byte, into any) fault.List {
	value, _, faults := Parse(data)
	if value == nil && len(faults) > 0 {
		return faults
	}
	return Merge(faults, Fill(value, into))
}

// Fill writes a value that Parse returned into the Go value that into points
// to, by the names in its json tags. Every value of the wrong type and every
// unknown field is a fault; the rest is filled. A null is a value of the wrong
// type everywhere but in an interface.
func Fill(value, into any) fault.List {
	var f filler
	f.fill(value, reflect.ValueOf(into).Elem(), nil)
	return f.faults
}

// Merge appends faults found later to those found first, leaving out those at
// a field, or inside one, that could not be read: a value of the wrong type is
// not also missing. After a fault of syntax or size nothing was read.
func Merge(first, later fault.List) fault.List {
	unread := map[string]bool{}
	for _, f := range first {
		if f.Code == fault.Syntax || f.Code == fault.Size {
			return first
		}
		if f.Code != fault.Duplicate && f.Code != fault.Unknown {
			unread[f.Field] = true
		}
	}
	for _, f := range later {
		parent := f.Field[:max(0, strings.LastIndexByte(f.Field, '/'))]
		if !unread[f.Field] && !unread[parent] && !unread[""] {
			first = append(first, f)
		}
	}
	return first
}

type filler struct{ faults fault.List }

func (f *filler) wrongType(value any, path []string, accepted string) {
	f.faults = append(f.faults, fault.Fault{Code: fault.Type, Field: fault.Pointer(path...), Value: show(value),
		Accepted: accepted})
}

func (f *filler) fill(value any, to reflect.Value, path []string) {
	if to.Kind() == reflect.Pointer && value != nil {
		to.Set(reflect.New(to.Type().Elem()))
		f.fill(value, to.Elem(), path)
		return
	}
	if t, ok := to.Addr().Interface().(encoding.TextUnmarshaler); ok {
		f.fillText(value, t, path)
		return
	}
	switch to.Kind() {
	case reflect.Interface:
		if value != nil {
			to.Set(reflect.ValueOf(value))
		}
	case reflect.String:
		if s, ok := value.(string); ok {
			to.SetString(s)
		} else {
			f.wrongType(value, path, "a string")
		}
	case reflect.Bool:
		if b, ok := value.(bool); ok {
			to.SetBool(b)
		} else {
			f.wrongType(value, path, "true or false")
		}
	case reflect.Struct, reflect.Map:
		f.fillObject(value, to, path)
	case reflect.Slice:
		f.fillSlice(value, to, path)
	default:
		f.fillNumber(value, to, path)
	}
}

func (f *filler) fillText(value any, to encoding.TextUnmarshaler, path []string) {
	s, ok := value.(string)
	if !ok {
		f.wrongType(value, path, "a string")
	} else if err := to.UnmarshalText([]byte(s)); err != nil {
		f.faults = append(f.faults, fault.Fault{Code: fault.Format, Field: fault.Pointer(path...),
			Value: fault.Shorten(s), Accepted: "the form that the field has: " + err.Error()})
	}
}

func (f *filler) fillNumber(value any, to reflect.Value, path []string) {
	v, ok := value.(float64)
	switch {
	case !ok:
		accepted := "a number"
		if s, isString := value.(string); isString {
			if _, err := strconv.ParseFloat(s, 64); err == nil {
				accepted = "a number, without quotes"
			}
		}
		f.wrongType(value, path, accepted)
	case to.CanFloat():
		to.SetFloat(v)
	case v != math.Trunc(v) || math.Abs(v) > 1<<53 || to.OverflowInt(int64(v)):
		f.wrongType(value, path, "a whole number")
	default:
		to.SetInt(int64(v))
	}
}

func (f *filler) fillSlice(value any, to reflect.Value, path []string) {
	list, ok := value.([]any)
	if !ok {
		f.wrongType(value, path, "an array [...]")
		return
	}
	to.Set(reflect.MakeSlice(to.Type(), len(list), len(list)))
	for i, v := range list {
		f.fill(v, to.Index(i), inside(path, strconv.Itoa(i)))
	}
}

// fillObject fills a struct or a map, in the order of the keys.
func (f *filler) fillObject(value any, to reflect.Value, path []string) {
	members, ok := value.(map[string]any)
	if !ok {
		f.wrongType(value, path, "an object {...}")
		return
	}
	if to.Kind() == reflect.Map {
		to.Set(reflect.MakeMapWithSize(to.Type(), len(members)))
		for _, name := range slices.Sorted(maps.Keys(members)) {
			v := reflect.New(to.Type().Elem()).Elem()
			before := len(f.faults)
			if f.fill(members[name], v, inside(path, name)); len(f.faults) == before {
				to.SetMapIndex(reflect.ValueOf(name).Convert(to.Type().Key()), v)
			}
		}
		return
	}
	names, fields := fieldsOf(to.Type())
	for _, name := range slices.Sorted(maps.Keys(members)) {
		at := inside(path, name)
		i := slices.Index(names, name)
		if i < 0 {
			f.faults = append(f.faults, fault.UnknownName(fault.Pointer(at...), name, "field", names))
			continue
		}
		f.fill(members[name], to.FieldByIndex(fields[i]), at)
	}
}

// fieldsOf lists the fields of a struct and of those embedded in it by the
// names in their json tags.
func fieldsOf(t reflect.Type) (names []string, fields [][]int) {
	for _, field := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		if name != "" && name != "-" {
			names, fields = append(names, name), append(fields, field.Index)
		}
	}
	return names, fields
}

func inside(path []string, name string) []string { return append(slices.Clip(path), name) }

// show writes a value as a fault quotes it.
func show(value any) string {
	switch v := value.(type) {
	case nil:
		return "null"
	case bool:
		return strconv.FormatBool(v)
	case float64:
		return shorten(strconv.FormatFloat(v, 'g', -1, 64))
	case string:
		return fault.Shorten(v)
	case []any:
		return "[…]"
	default:
		return "{…}"
	}
}

func shorten(number string) string { return strings.Trim(fault.Shorten(number), `"`) }
