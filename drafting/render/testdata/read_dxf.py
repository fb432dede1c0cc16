"""Reads DXF files with ezdxf, and their groups without it. Standard input
holds a JSON list of file names; the answer holds for each what the audit
finds, the nesting that is broken, the layers declared, the INSERTs, and the
entities of every block and of the model space."""
import json
import sys

import ezdxf

# This reader gives every SEQEND of a file of release 12 a handle without an
# owner, in files that it wrote itself too, and calls that a fix.
OWN_FIX = "Deleted SEQEND"

CLOSES = {"SECTION": "ENDSEC", "TABLE": "ENDTAB", "BLOCK": "ENDBLK", "POLYLINE": "SEQEND"}


def nesting(name):
    """What is wrong with how sections, tables, blocks and polylines nest."""
    wrong, open_, polyline_blocks = [], [], []
    with open(name, "rb") as f:
        raw = f.read()
    if any(b > 126 or b < 32 and b not in (10, 13) for b in raw):
        wrong.append("not 7-bit text")
    lines = raw.decode("ascii", "replace").split("\r\n")
    if lines[-1] != "" or len(lines) % 2 == 0:
        wrong.append("groups are not pairs of lines")
    names = []
    for code, value in zip(lines[0:-1:2], lines[1:-1:2]):
        code = int(code)
        if len(value) > 255:
            wrong.append("a line of %d bytes" % len(value))
        if code != 0:
            continue
        names.append(value)
        if value in CLOSES:
            open_.append(CLOSES[value])
        elif value in CLOSES.values():
            if not open_ or open_.pop() != value:
                wrong.append(value + " closes nothing")
        elif value == "VERTEX" and (not open_ or open_[-1] != "SEQEND"):
            wrong.append("VERTEX outside a POLYLINE")
        elif value != "VERTEX" and open_ and open_[-1] == "SEQEND":
            wrong.append(value + " inside a POLYLINE")
    if open_:
        wrong.append("unclosed: " + ", ".join(open_))
    if names[-1:] != ["EOF"]:
        wrong.append("no EOF")
    return wrong


def at(v):
    return [v.x, v.y]


def entity(e):
    kind = e.dxftype()
    d = {"kind": kind, "layer": e.dxf.layer}
    if kind == "POLYLINE":
        d["points"] = [at(v.dxf.location) for v in e.vertices]
        d["closed"] = e.is_closed
    elif kind == "LINE":
        d["points"] = [at(e.dxf.start), at(e.dxf.end)]
    elif kind == "POINT":
        d["points"] = [at(e.dxf.location)]
    elif kind == "TEXT":
        d["points"] = [at(e.dxf.insert)]
        d["text"], d["height"], d["rotation"] = e.dxf.text, e.dxf.height, e.dxf.rotation
    elif kind == "INSERT":
        d["points"] = [at(e.dxf.insert)]
        d["text"] = e.dxf.name
    return d


answers = []
for name in json.load(sys.stdin):
    doc = ezdxf.readfile(name)
    audit = doc.audit()
    answers.append({
        "version": doc.dxfversion,
        "errors": [e.message for e in audit.errors],
        "fixes": [e.message for e in audit.fixes if not e.message.startswith(OWN_FIX)],
        "nesting": nesting(name),
        "layers": [layer.dxf.name for layer in doc.layers],
        "blocks": {b.name: [entity(e) for e in b] for b in doc.blocks if not b.name.startswith("*")},
        "base": {b.name: at(b.block.dxf.base_point) for b in doc.blocks if not b.name.startswith("*")},
        "model": [entity(e) for e in doc.modelspace()],
    })
json.dump(answers, sys.stdout)
