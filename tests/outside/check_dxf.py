#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Reads a DXF with ezdxf and compares it with the panel's JSON, which is written by other code.

  check_dxf.py PANEL.dxf PANEL.json

Prints what is wrong, one line each. Exit 0 when nothing is, 1 otherwise.
"""
import json
import sys

import ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode

VERTEX_MM = 0.001  # vertices must read back within this


def vertices(polyline):
    return [(v.dxf.location.x, v.dxf.location.y) for v in polyline.vertices]


def compare(what, found, wanted):
    if len(found) != len(wanted):
        return [f"{what}: {len(found)} vertices, {len(wanted)} wanted"]
    off = [max(abs(a - c), abs(b - d)) for (a, b), (c, d) in zip(found, wanted)]
    worst = max(range(len(off)), key=off.__getitem__)
    return [f"{what}: vertex {worst} is off by {off[worst]} mm"] if off[worst] > VERTEX_MM else []


def marks_complaints(space, marks):
    """Layers of ASTM D6673: 4 notches and match marks, 6 mirror, 7 grain (tail to head), 8 internal, 13 drill holes, 14 sew."""
    found = []
    wanted = {
        "4": [[n["foot"], n["tip"]] for n in marks["notches"]] + [[m["foot"], m["tip"]] for m in marks["matches"]],
        "6": [[marks["centre"]["from"], marks["centre"]["to"]]] if marks["centre"] else [],
        "7": [[marks["grain"]["tail"], marks["grain"]["head"]]] if marks["grain"] else [],
        "8": [w["box"] for w in marks["writings"]],
        "14": [r["points"] for r in marks["needle_rows"]],
    }
    for layer, lines in wanted.items():
        drawn = list(space.query(f'POLYLINE[layer=="{layer}"]'))
        if len(drawn) != len(lines):
            found.append(f"layer {layer}: {len(drawn)} lines, {len(lines)} wanted")
            continue
        for polyline, line in zip(drawn, lines):
            found += compare(f"layer {layer}", vertices(polyline), line)
    points = [(p.dxf.location.x, p.dxf.location.y) for p in space.query('POINT[layer=="13"]')]
    return found + compare("layer 13", points, [h["centre"] for h in marks["holes"]]) if points or marks["holes"] else found


def complaints(dxf_file, json_file):
    doc = ezdxf.readfile(dxf_file)
    with open(json_file, encoding="utf-8") as stream:
        panel = json.load(stream)
    audit = doc.audit()  # once: it repairs what it finds
    found = [f"audit error: {e.message}" for e in audit.errors]
    found += [f"audit repair: {e.message}" for e in audit.fixes]
    if doc.dxfversion != "AC1009":
        found.append(f"version {doc.dxfversion}")
    if doc.header.get("$INSUNITS") != 4 or doc.header.get("$MEASUREMENT") != 1:
        found.append("units are not millimetres")
    lines = {layer: list(doc.modelspace().query(f'POLYLINE[layer=="{layer}"]')) for layer in ("1", "11")}
    if any(not line.is_closed for line in lines["1"] + lines["11"]):
        found.append("an open boundary or cut-out")
    contours = [("boundary", lines["1"], [panel["outline"]]), ("cut-out", lines["11"], panel["cutouts"])]
    for what, drawn, wanted in contours:
        if len(drawn) != len(wanted):
            found.append(f"{len(drawn)} of {what}, {len(wanted)} wanted")
            continue
        for line, contour in zip(drawn, wanted):
            found += compare(what, vertices(line), contour["points"])
    found += marks_complaints(doc.modelspace(), panel["marks"])
    texts = [decode_dxf_unicode(t.dxf.text) for t in doc.modelspace().query('TEXT[layer=="15"]')]
    if not texts or texts[0] != panel["name"]:
        found.append(f"name reads {texts[:1]}, {panel['name']!r} wanted")
    if "unit mm" not in texts:
        found.append("the unit is not in the text")
    return found


if __name__ == "__main__":
    wrong = complaints(sys.argv[1], sys.argv[2])
    print("\n".join(wrong))
    sys.exit(1 if wrong else 0)
