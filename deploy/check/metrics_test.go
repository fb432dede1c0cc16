package check

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
	"github.com/prometheus/prometheus/model/labels"
	"github.com/prometheus/prometheus/model/rulefmt"
	promparser "github.com/prometheus/prometheus/promql/parser"
)

// Metrics of others that the alerts use: of kube-state-metrics, the kubelet and the
// node exporter, and of Prometheus itself.
var others = []string{"up", "kube_cronjob_status_last_successful_time", "kubelet_volume_stats_available_bytes",
	"kubelet_volume_stats_capacity_bytes", "node_systemd_timer_last_trigger_seconds", "node_systemd_unit_state",
	"node_filesystem_avail_bytes", "node_filesystem_size_bytes"}

// Labels that Prometheus adds to every series it scrapes.
var scraped = []string{"job", "instance"}

// metrics are the families that a server has after an order, and their labels.
type metrics struct {
	labels map[string][]string
	code   []byte // of the program
}

func gathered(t *testing.T) metrics {
	t.Helper()
	response, err := http.Get(demo(t, filepath.Join(folder(t), "data")) + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	parser := expfmt.NewTextParser(model.UTF8Validation)
	families, err := parser.TextToMetricFamilies(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	m := metrics{labels: map[string][]string{}, code: source(t)}
	for name, family := range families {
		names := slices.Clone(scraped)
		for _, label := range family.Metric[0].Label {
			names = append(names, label.GetName())
		}
		m.labels[name] = names
		if family.GetType() == dto.MetricType_HISTOGRAM {
			m.labels[name+"_bucket"] = append(slices.Clone(names), "le")
			m.labels[name+"_count"], m.labels[name+"_sum"] = names, names
		}
	}
	return m
}

// source returns the code of the packages that have metrics.
func source(t *testing.T) (code []byte) {
	t.Helper()
	for _, dir := range []string{"../../api", "../../service"} {
		err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
			if err != nil || filepath.Ext(path) != ".go" {
				return err
			}
			b, err := os.ReadFile(path)
			code = append(code, b...)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return code
}

// check parses an expression and checks that its metrics exist and have the labels
// that it names. A metric of what seldom happens has no series yet: then its name is
// in the code.
func (m metrics) check(t *testing.T, where, expr string) {
	t.Helper()
	parsed, err := promparser.NewParser(promparser.Options{}).ParseExpr(expr)
	if err != nil {
		t.Errorf("%s: %v", where, err)
		return
	}
	for _, selector := range promparser.ExtractSelectors(parsed) {
		name := ""
		for _, matcher := range selector {
			if matcher.Name == labels.MetricName {
				name = matcher.Value
			}
		}
		names, known := m.labels[name]
		switch {
		case slices.Contains(others, name):
			continue
		case !known && bytes.Contains(m.code, []byte(`"`+name+`"`)):
			continue
		case !known:
			t.Errorf("%s: the program lacks the metric %q", where, name)
			continue
		}
		for _, matcher := range selector {
			if matcher.Name != labels.MetricName && !slices.Contains(names, matcher.Name) {
				t.Errorf("%s: %s has no label %s", where, name, matcher.Name)
			}
		}
		promparser.Inspect(parsed, func(node promparser.Node, _ []promparser.Node) error {
			if sum, ok := node.(*promparser.AggregateExpr); ok && len(promparser.ExtractSelectors(sum.Expr)) == 1 &&
				slices.ContainsFunc(promparser.ExtractSelectors(sum.Expr)[0], func(l *labels.Matcher) bool {
					return l.Name == labels.MetricName && l.Value == name
				}) {
				for _, by := range sum.Grouping {
					if !slices.Contains(names, by) {
						t.Errorf("%s: by %s, which %s has not", where, by, name)
					}
				}
			}
			return nil
		})
	}
}

// Prometheus's parser reads the alerts and the dashboard. Every metric and label in
// them is one that a server has after an order, and every alert names a section of
// the runbook.
func TestAlertsAndDashboard(t *testing.T) {
	b, err := os.ReadFile("../alerts.yaml")
	if err != nil {
		t.Fatal(err)
	}
	groups, errs := rulefmt.Parse(b, false, model.UTF8Validation, promparser.NewParser(promparser.Options{}),
		slog.New(slog.DiscardHandler))
	for _, err := range errs {
		t.Error(err)
	}
	runbook, err := os.ReadFile("../RUNBOOK.md")
	if err != nil {
		t.Fatal(err)
	}
	m := gathered(t)
	for _, g := range groups.Groups {
		for _, r := range g.Rules {
			m.check(t, r.Alert, r.Expr)
			_, section, _ := strings.Cut(r.Annotations["runbook"], ": ")
			if section == "" || !bytes.Contains(runbook, []byte("\n## "+section+"\n")) {
				t.Errorf("%s: the runbook has no section %q", r.Alert, section)
			}
		}
	}
	b, err = os.ReadFile("../dashboard.json")
	if err != nil {
		t.Fatal(err)
	}
	var dashboard struct {
		Panels []struct {
			Title   string
			Targets []struct{ Expr string }
		}
	}
	if err := json.Unmarshal(b, &dashboard); err != nil {
		t.Fatal(err)
	}
	shown := 0
	for _, panel := range dashboard.Panels {
		for _, target := range panel.Targets {
			m.check(t, panel.Title, strings.ReplaceAll(target.Expr, "$__rate_interval", "5m"))
			shown++
		}
	}
	if shown < 15 {
		t.Errorf("the dashboard has %d queries", shown)
	}
	// What the program measures and an operator never sees is measured for nobody.
	all := string(b)
	for name := range m.labels {
		base := strings.TrimSuffix(strings.TrimSuffix(strings.TrimSuffix(name, "_bucket"), "_count"), "_sum")
		if strings.HasPrefix(name, "tapeline_") && !strings.Contains(all, base) {
			t.Errorf("the dashboard does not show %s", base)
		}
	}
}
