package api_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os/exec"
	"strings"
	"testing"
)

// The numbers are those that another program finds in the two JSON geometries:
// it flattens the seam lines itself and measures with GEOS (shapely).
func TestComparisonByAnotherProgram(t *testing.T) {
	t.Parallel()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import shapely").Run(); err != nil {
		reader(t, "python3 with shapely")
	}
	b := setup(t)
	o := b.ready("LL-1")
	r := b.refit(roomier(9), nil)
	found := b.refitOrder(r.ID, o.ID)
	b.apply(r.ID, object{"apply": "all"})
	type files struct{ Was, Now, Comparison json.RawMessage }
	path := "/v1/orders/" + o.ID.String() + "/pattern.json?revision="
	comparison, err := json.Marshal(found.Comparison)
	b.must(err)
	input, err := json.Marshal(files{b.get(path+"1").want(http.StatusOK, nil).body,
		b.get(path+"2").want(http.StatusOK, nil).body, comparison})
	b.must(err)
	cmd := exec.CommandContext(t.Context(), python, "-c", `
import json, sys
from shapely.geometry import LinearRing, Polygon
from shapely.affinity import translate
def flat(path):
    at = path[0]
    for s in path[1:]:
        if len(s) == 2:
            yield tuple(at)
        else:
            p = [at, s[0:2], s[2:4], s[4:6]]
            for k in range(64):
                t = k / 64
                u = 1 - t
                yield tuple(u**3 * p[0][j] + 3 * u * u * t * p[1][j] + 3 * u * t * t * p[2][j] + t**3 * p[3][j]
                            for j in (0, 1))
        at = s[-2:]
def ring(piece):
    return LinearRing([q for e in piece["edges"] for q in flat(e["path"])])
f = json.load(sys.stdin)
was, now = ({p["name"]: ring(p) for p in f[k]["pieces"]} for k in ("Was", "Now"))
wrong = []
for p in f["Comparison"]["pieces"]:
    a, b = translate(was[p["name"]], *p["shift"]), now[p["name"]]
    there = [a.distance(b.interpolate(i * 0.5)) for i in range(int(b.length * 2))]
    back = [b.distance(a.interpolate(i * 0.5)) for i in range(int(a.length * 2))]
    far, mean = max(there + back), sum(there + back) / len(there + back)
    if abs(far - p["largest"]) > 0.05 or abs(mean - p["mean"]) > 0.02:
        wrong.append("%s: largest %.3f mm, by GEOS %.3f; mean %.3f, by GEOS %.3f"
                     % (p["name"], p["largest"], far, p["mean"], mean))
checks = [{c["name"]: c["drafted_mm"] for c in f[k]["checks"]} for k in ("Was", "Now")]
for g in f["Comparison"]["girths"]:
    if abs(checks[0][g["name"]] - g["from"]) > 0.001 or abs(checks[1][g["name"]] - g["to"]) > 0.001:
        wrong.append("girth %s" % g["name"])
lengths = [{}, {}]
for l, k in zip(lengths, ("Was", "Now")):
    for p in f[k]["pieces"]:
        for e in p["edges"]:
            q = list(flat(e["path"])) + [tuple(e["path"][-1][-2:])]
            n = p["name"] + "/" + e.get("run", e["name"])
            l[n] = l.get(n, 0) + sum(((a[0] - b[0])**2 + (a[1] - b[1])**2)**0.5 for a, b in zip(q, q[1:]))
for s in f["Comparison"]["seams"]:
    if abs(lengths[0][s["name"]] - s["from"]) > 0.05 or abs(lengths[1][s["name"]] - s["to"]) > 0.05:
        wrong.append("seam %s: %.3f to %.3f, by another program %.3f to %.3f"
                     % (s["name"], s["from"], s["to"], lengths[0][s["name"]], lengths[1][s["name"]]))
print(json.dumps(wrong))`)
	cmd.Stdin = bytes.NewReader(input)
	out, err := cmd.Output()
	b.must(err)
	var wrong []string
	b.must(json.Unmarshal(out, &wrong))
	for _, w := range wrong {
		t.Error(w)
	}
	if len(found.Comparison.Pieces) == 0 || len(found.Comparison.Seams) == 0 || len(found.Comparison.Girths) == 0 {
		t.Errorf("nothing was compared: %+v", found.Comparison)
	}
	for _, s := range found.Comparison.Seams {
		if strings.Contains(s.Name, "neckline") {
			t.Errorf("more ease at the bust changes %s", s.Name)
		}
	}
}
