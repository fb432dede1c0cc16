package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"regexp/syntax"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/uuid"
)

// generator makes random values of the contract's schemas, at the edges of
// what they permit, and breaks them.
type generator struct {
	*rand.Rand
	ids func() string // an ID for a field that takes one
}

// value returns a value that the schema permits.
func (g *generator) value(s *openapi3.Schema) any {
	switch {
	case len(s.Enum) > 0:
		return s.Enum[g.IntN(len(s.Enum))]
	case len(s.AllOf) > 0:
		return g.all(s.AllOf)
	case len(s.OneOf) > 0:
		return g.value(s.OneOf[g.IntN(len(s.OneOf))].Value)
	case len(s.AnyOf) > 0:
		return g.value(s.AnyOf[g.IntN(len(s.AnyOf))].Value)
	case s.Type.Is(openapi3.TypeObject):
		return g.object(s)
	case s.Type.Is(openapi3.TypeArray):
		return g.list(s)
	case s.Type.Is(openapi3.TypeBoolean):
		return g.IntN(2) == 0
	case s.Type.Is(openapi3.TypeInteger), s.Type.Is(openapi3.TypeNumber):
		return g.number(s)
	case s.Type.Is(openapi3.TypeString):
		return g.text(s)
	}
	return "word" // any type
}

// all returns a value of every schema in the list.
func (g *generator) all(parts openapi3.SchemaRefs) any {
	merged := map[string]any{}
	for _, part := range parts {
		v := g.value(part.Value)
		m, ok := v.(map[string]any)
		if !ok {
			return v
		}
		maps.Copy(merged, m)
	}
	return merged
}

func (g *generator) object(s *openapi3.Schema) any {
	m := map[string]any{}
	names := slices.Sorted(maps.Keys(s.Properties))
	g.Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	for _, name := range names {
		p := s.Properties[name].Value
		full := s.MaxProps != nil && len(m) == int(*s.MaxProps)
		if !p.ReadOnly && (slices.Contains(s.Required, name) || !full && (len(m) < int(s.MinProps) || g.IntN(3) == 0)) {
			m[name] = g.value(p)
		}
	}
	if values := s.AdditionalProperties.Schema; values != nil {
		most := 4
		if s.MaxProps != nil {
			most = min(most, int(*s.MaxProps))
		}
		names := []string{"bust_girth", "waist_girth", "hip_girth", "length", "sleeve", "default", "hem", "front", "x"}
		for range max(int(s.MinProps), g.IntN(most+1)) {
			m[names[g.IntN(len(names))]] = g.value(values.Value)
		}
	}
	return m
}

func (g *generator) list(s *openapi3.Schema) any {
	n := int(s.MinItems) + g.IntN(3)
	if s.MaxItems != nil {
		n = min(n, int(*s.MaxItems))
		if *s.MaxItems <= 300 && g.IntN(20) == 0 {
			n = int(*s.MaxItems)
		}
	}
	list := []any{}
	for range n {
		v := g.value(s.Items.Value)
		if s.UniqueItems && slices.ContainsFunc(list, func(old any) bool { return fmt.Sprint(old) == fmt.Sprint(v) }) {
			continue
		}
		list = append(list, v)
	}
	return list
}

// number returns a limit, a number next to one, or one between them.
func (g *generator) number(s *openapi3.Schema) any {
	low, high := -1e6, 1e6
	if s.Min != nil {
		low = *s.Min
	}
	if s.Max != nil {
		high = *s.Max
	}
	if s.Type.Is(openapi3.TypeInteger) {
		low, high = math.Ceil(low), math.Floor(high)
		return []float64{low, high, low + math.Floor(g.Float64()*(high-low))}[g.IntN(3)]
	}
	inside := low + g.Float64()*(high-low)
	near := []float64{low, high, math.Nextafter(low, high), math.Nextafter(high, low), inside, math.Round(inside)}
	v := near[g.IntN(len(near))]
	if v <= low && s.ExclusiveMin.IsTrue() || v >= high && s.ExclusiveMax.IsTrue() || v < low || v > high {
		return inside
	}
	return v
}

// text returns a string of a format or pattern, as short or as long as permitted.
func (g *generator) text(s *openapi3.Schema) any {
	switch s.Format {
	case "uuid":
		return g.ids()
	case "date":
		return []string{"0001-01-01", "1900-02-28", "2024-02-29", "2026-11-28", "9999-12-31"}[g.IntN(5)]
	case "date-time":
		at := time.Date(1+g.IntN(9998), 2, 28, 23, 59, 59, g.IntN(1e9), time.FixedZone("", (g.IntN(27)-13)*3600))
		return at.Format(time.RFC3339Nano)
	}
	most := 40
	if s.MaxLength != nil {
		most = int(*s.MaxLength)
	}
	if s.Example != nil && g.IntN(2) == 0 {
		return s.Example
	}
	if s.Pattern != "" {
		if v, ok := g.matching(s.Pattern, int(s.MinLength), most); ok {
			return v
		}
		return s.Example
	}
	n := []int{int(s.MinLength), most, int(s.MinLength) + g.IntN(most-int(s.MinLength)+1)}[g.IntN(3)]
	letters := []rune("aZ0 _-é한🧵\u0301'\"<&\\%/")
	text := make([]rune, min(n, 20_000))
	for i := range text {
		text[i] = letters[g.IntN(len(letters))]
	}
	return string(text)
}

// matching returns a string that matches a pattern and is long enough.
func (g *generator) matching(pattern string, least, most int) (string, bool) {
	parsed, err := syntax.Parse(pattern, syntax.Perl)
	if err != nil {
		return "", false
	}
	for range 100 {
		var b strings.Builder
		g.write(&b, parsed.Simplify(), min(most, []int{1, 8, most}[g.IntN(3)]))
		if n := len([]rune(b.String())); n >= least && n <= most {
			return b.String(), true
		}
	}
	return "", false
}

func (g *generator) write(b *strings.Builder, re *syntax.Regexp, most int) {
	switch re.Op {
	case syntax.OpLiteral:
		b.WriteString(string(re.Rune))
	case syntax.OpCharClass:
		pair := 2 * g.IntN(len(re.Rune)/2)
		low, high := re.Rune[pair], re.Rune[pair+1]
		for {
			c := low + rune(g.IntN(int(high-low)+1))
			if c < 0xD800 || c > 0xDFFF { // surrogates are no characters
				b.WriteRune(c)
				return
			}
		}
	case syntax.OpConcat, syntax.OpCapture:
		for _, sub := range re.Sub {
			g.write(b, sub, most)
		}
	case syntax.OpAlternate:
		g.write(b, re.Sub[g.IntN(len(re.Sub))], most)
	case syntax.OpQuest:
		if g.IntN(2) == 0 {
			g.write(b, re.Sub[0], most)
		}
	case syntax.OpStar, syntax.OpPlus:
		n := g.IntN(most + 1)
		if re.Op == syntax.OpPlus {
			n = max(1, n)
		}
		for range n {
			g.write(b, re.Sub[0], most)
		}
	}
}

// raw is a token that encoding/json would not write.
type raw string

func (r raw) MarshalJSON() ([]byte, error) { return []byte(r), nil }

// hostileValue returns a value that breaks careless programs. Some are not JSON.
func (g *generator) hostileValue() any {
	switch g.IntN(5) {
	case 0:
		numbers := []raw{"0", "-0", "-1", "1e308", "-1e308", "5e-324", "1e-400", "9007199254740993", "1e400", "0.1e1",
			"2147483648", "-9223372036854775809", "18446744073709551616", "1.0", "00"}
		return numbers[g.IntN(len(numbers))]
	case 1:
		wrong := []raw{"NaN", "Infinity", "-Infinity", "nan", "+1", "0x10", "1_000", ".5", "'a'", "undefined", ""}
		return json.RawMessage(wrong[g.IntN(len(wrong))])
	case 2:
		texts := []string{"NaN", "Infinity", "1e999", "0", "true", "null", " ", "\t", "../../etc/passwd", "${jndi:x}",
			"=1+1", "<script>", "\u202e", "\x00", "\ufeff", "\uffff", "é", "e\u0301", "👩‍👩‍👧", "ﷺ", strings.Repeat("ﷺ", 400),
			strings.Repeat("9", 400), strings.Repeat("a", 60_000), "0001-01-01", "2026-02-30", "2026-01-01T00:00:60Z",
			"2026-01-01T24:00:00Z", "00000000-0000-0000-0000-000000000000", "{00000000-0000-0000-0000-000000000000}"}
		return texts[g.IntN(len(texts))]
	case 3:
		return copyOf(hostile[g.IntN(len(hostile))])
	default:
		list := make([]any, []int{1, 2, 50, 1001}[g.IntN(4)])
		for i := range list {
			list[i] = float64(i)
		}
		return list
	}
}

// breakBody changes one to three places of a body for the worse, or adds a field.
func (g *generator) breakBody(body any) (any, []string) {
	var did []string
	for range 1 + g.IntN(3) {
		places := fields(body, "")
		if len(places) == 0 {
			return g.hostileValue(), append(did, " is another value")
		}
		f := places[g.IntN(len(places))]
		switch {
		case g.IntN(4) == 0 && f.drop != nil:
			f.drop()
			did = append(did, f.pointer+" absent")
		case g.IntN(6) == 0:
			if m, ok := f.value.(map[string]any); ok {
				m["extra\"~/field"] = g.hostileValue()
				did = append(did, f.pointer+" with an extra field")
			}
		default:
			v := g.hostileValue()
			f.set(v)
			did = append(did, fmt.Sprintf("%s = %.40v", f.pointer, v))
		}
	}
	return body, did
}

// encode writes a body that may hold tokens that are not JSON.
func encode(v any) string {
	switch v := v.(type) {
	case map[string]any:
		var members []string
		for _, name := range slices.Sorted(maps.Keys(v)) {
			key, _ := json.Marshal(name)
			members = append(members, string(key)+":"+encode(v[name]))
		}
		return "{" + strings.Join(members, ",") + "}"
	case []any:
		items := make([]string, len(v))
		for i := range v {
			items[i] = encode(v[i])
		}
		return "[" + strings.Join(items, ",") + "]"
	case json.RawMessage:
		return string(v)
	case raw:
		return string(v)
	}
	data, _ := json.Marshal(v)
	return string(data)
}

// The validator accepts what the generator makes of every schema of a request,
// and the broken bodies are wrong more often than not.
func TestGenerator(t *testing.T) {
	t.Parallel()
	g := &generator{Rand: rand.New(rand.NewPCG(3, 4)), ids: uuid.NewString}
	broken, refused := 0, 0
	for _, op := range operations(t) {
		for _, p := range op.params {
			for range 50 {
				if v := g.value(p.Value.Schema.Value); p.Value.Schema.Value.VisitJSON(v) != nil {
					t.Errorf("%s %s: %.60v: %v", op.OperationID, p.Value.Name, v, p.Value.Schema.Value.VisitJSON(v))
				}
			}
		}
		schema := requestSchema(op)
		for range 100 {
			if schema == nil {
				break
			}
			v := copyOf(g.value(schema))
			if err := schema.VisitJSON(v, openapi3.VisitAsRequest()); err != nil {
				t.Errorf("%s: %.300v: %v", op.OperationID, v, err)
			}
			bad, _ := g.breakBody(v)
			var decoded any
			broken++
			if err := json.Unmarshal([]byte(encode(bad)), &decoded); err != nil ||
				schema.VisitJSON(decoded, openapi3.VisitAsRequest()) != nil {
				refused++
			}
		}
	}
	if t.Logf("%d of %d broken bodies are wrong", refused, broken); refused < broken/2 {
		t.Errorf("%d of %d broken bodies are wrong, want half", refused, broken)
	}
}
