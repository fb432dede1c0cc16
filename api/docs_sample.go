package api

import (
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"
)

// Curl returns the operation as a curl command. $API is the server's address, $KEY an
// API key, and an ID in the path a variable.
func (d docsOperation) Curl() string {
	var b strings.Builder
	b.WriteString("curl -sS")
	if d.Method != http.MethodGet {
		b.WriteString(" -X " + d.Method)
	}
	fmt.Fprintf(&b, ` "$API%s"`, d.samplePath(func(name string) string { return "$" + strings.ToUpper(name) }))
	for _, h := range d.sampleHeaders() {
		if h.name == echo.HeaderAuthorization {
			fmt.Fprintf(&b, " \\\n  -H \"%s: %s$KEY\"", h.name, h.value)
			continue
		}
		fmt.Fprintf(&b, " \\\n  -H '%s: %s'", h.name, h.value)
	}
	if media, value := d.sampleBody(); media == echo.MIMEApplicationJSON {
		fmt.Fprintf(&b, " \\\n  -d @- <<'BODY'\n%s\nBODY", example(value))
	}
	return b.String()
}

// TypeScript returns the operation as a call of fetch, with the constants api and key.
func (d docsOperation) TypeScript() string {
	var b strings.Builder
	fmt.Fprintf(&b, "const answer = await fetch(`${api}%s`, {\n  method: '%s',\n",
		d.samplePath(func(name string) string { return "${" + camel(name) + "}" }), d.Method)
	if headers := d.sampleHeaders(); len(headers) > 0 {
		b.WriteString("  headers: {\n")
		for _, h := range headers {
			if h.name == echo.HeaderAuthorization {
				fmt.Fprintf(&b, "    '%s': `%s${key}`,\n", h.name, h.value)
				continue
			}
			fmt.Fprintf(&b, "    '%s': '%s',\n", h.name, h.value)
		}
		b.WriteString("  },\n")
	}
	if media, value := d.sampleBody(); media == echo.MIMEApplicationJSON {
		fmt.Fprintf(&b, "  body: JSON.stringify(%s),\n", strings.ReplaceAll(example(value), "\n", "\n  "))
	}
	b.WriteString("});\nif (!answer.ok) throw new Error(await answer.text());")
	return b.String()
}

var snake = regexp.MustCompile(`_[a-z]`)

// camel spells a name of the contract as TypeScript does: orderId for order_id.
func camel(name string) string {
	return snake.ReplaceAllStringFunc(name, func(s string) string { return strings.ToUpper(s[1:]) })
}

// samplePath returns the path with its required parameters: IDs as variables, other
// values as samples.
func (d docsOperation) samplePath(variable func(name string) string) string {
	path := d.Path
	separator := "?"
	for _, p := range d.Parameters {
		switch value := fmt.Sprint(sample(p.Schema)); {
		case p.In == openapi3.ParameterInPath && p.Schema.Value.Format == "uuid":
			path = strings.ReplaceAll(path, "{"+p.Name+"}", variable(p.Name))
		case p.In == openapi3.ParameterInPath:
			path = strings.ReplaceAll(path, "{"+p.Name+"}", value)
		case p.In == openapi3.ParameterInQuery && p.Required:
			path += separator + p.Name + "=" + value
			separator = "&"
		}
	}
	return path
}

type sampleHeader struct{ name, value string }

func (d docsOperation) sampleHeaders() []sampleHeader {
	var list []sampleHeader
	if len(d.Roles) > 0 {
		list = append(list, sampleHeader{echo.HeaderAuthorization, "Bearer "})
	}
	for _, p := range d.Parameters {
		if p.In == openapi3.ParameterInHeader && p.Required {
			list = append(list, sampleHeader{p.Name, fmt.Sprint(sample(p.Schema))})
		}
	}
	if media, _ := d.sampleBody(); media == echo.MIMEApplicationJSON {
		list = append(list, sampleHeader{echo.HeaderContentType, media})
	}
	return list
}

// sampleBody returns the first media type of the body and an example, "" without a body.
func (d docsOperation) sampleBody() (media string, value any) {
	if d.RequestBody == nil {
		return "", nil
	}
	content := d.RequestBody.Value.Content
	media = slices.Sorted(maps.Keys(content))[0]
	if m := content[media]; m.Example != nil {
		return media, m.Example
	}
	return media, sample(content[media].Schema)
}

// sample returns a value that a schema accepts: its example, or one made of the examples
// of its required fields.
func sample(ref *openapi3.SchemaRef) any {
	s := ref.Value
	switch {
	case s.Example != nil:
		return s.Example
	case s.Default != nil:
		return s.Default
	case len(s.Enum) > 0:
		return s.Enum[0]
	case len(s.AllOf) > 0:
		return sample(s.AllOf[0])
	case len(s.OneOf) > 0:
		return sample(s.OneOf[0])
	case s.Type.Is(openapi3.TypeObject):
		fields := map[string]any{}
		for _, name := range s.Required {
			fields[name] = sample(s.Properties[name])
		}
		return fields
	case s.Type.Is(openapi3.TypeArray):
		return []any{sample(s.Items)}
	case s.Type.Is(openapi3.TypeBoolean):
		return true
	case s.Type.Is(openapi3.TypeString):
		return sampleText(s.Format)
	default:
		if s.Min != nil {
			return *s.Min
		}
		return 1.0
	}
}

func sampleText(format string) string {
	switch format {
	case "date":
		return "2026-01-31"
	case "date-time":
		return "2026-01-31T09:30:00Z"
	default:
		return "..."
	}
}
