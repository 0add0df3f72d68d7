#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Reads DXF files of pieces with ezdxf and shapely, which share nothing with the writers.

  check_piece_dxf.py exchange FILE.dxf WANTED.json     one BLOCK and INSERT, layers, texts, area
  check_piece_dxf.py cutter FILE.dxf WANTED.json       two layers, area with arcs, the arcs themselves
  check_piece_dxf.py set FILE.dxf WANTED.json ...      copies do not overlap and are a gap apart; many pairs of files

WANTED.json: area (mm2), layers, inside and outside (points), and by kind layers_allowed beyond those, block, texts, arcs [{centre, radius}], copies, gap.
Prints what is wrong, one line each. Exit 0 when nothing is, 1 otherwise.
"""
import functools
import io
import itertools
import json
import math
import sys

import ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.math import bulge_to_arc
from shapely.geometry import Point, Polygon

AREA_SHARE = 1e-4   # of the area, what the files answer to
ARC_MM = 0.002      # centre and radius of an arc; four decimals of its ends make this much of a shallow arc
GAP_MM = 0.001      # four decimals are written
CHORD_MM = 0.001    # arcs are flattened to this before their area is taken
R12 = {"POLYLINE", "LINE", "POINT", "TEXT", "CIRCLE", "INSERT"}


def polygon(polyline):
    """The closed line with its arcs flattened."""
    points = []
    vertices = list(polyline.vertices)
    for a, b in zip(vertices, vertices[1:] + vertices[:1]):
        start, end = a.dxf.location, b.dxf.location
        points.append((start.x, start.y))
        bulge = a.dxf.get("bulge", 0)
        if bulge == 0:
            continue
        centre, from_angle, to_angle, radius = bulge_to_arc((start.x, start.y), (end.x, end.y), bulge)
        turn = (to_angle - from_angle) % math.tau
        parts = max(2, math.ceil(turn / (2 * math.acos(1 - CHORD_MM / radius))))
        inner = [from_angle + turn * k / parts for k in range(1, parts)]
        if bulge < 0:
            inner.reverse()
        points += [(centre.x + radius * math.cos(t), centre.y + radius * math.sin(t)) for t in inner]
    return Polygon(points)


def arcs(polyline):
    vertices = list(polyline.vertices)
    for a, b in zip(vertices, vertices[1:] + vertices[:1]):
        if a.dxf.get("bulge", 0) != 0:
            centre, _, _, radius = bulge_to_arc(a.dxf.location.vec2, b.dxf.location.vec2, a.dxf.bulge)
            yield centre, radius


def audit_complaints(doc):
    """What the auditor finds or repairs. An audit repairs, so the second of one document finds nothing."""
    audit = doc.audit()
    return [e.message for e in audit.errors + audit.fixes]


def is_about_seqend(message):
    return message.startswith("Deleted SEQEND") and message.endswith("with invalid owner handle #None.")


@functools.cache
def auditor_blames_its_own_blocks():
    """ezdxf 0.18 reads every POLYLINE in a BLOCK without an owner for its SEQEND, in files that it wrote itself too."""
    doc = ezdxf.new("R12")
    doc.blocks.new("B").add_polyline2d([(0, 0), (1, 0), (1, 1)], close=True)
    text = io.StringIO()
    doc.write(text)
    return any(is_about_seqend(m) for m in audit_complaints(ezdxf.read(io.StringIO(text.getvalue()))))


def document_complaints(doc, wanted):
    found = [f"audit: {m}" for m in audit_complaints(doc) if not (is_about_seqend(m) and auditor_blames_its_own_blocks())]
    if doc.dxfversion != "AC1009":
        found.append(f"version {doc.dxfversion}")
    if doc.header.get("$INSUNITS") != 4 or doc.header.get("$MEASUREMENT") != 1:
        found.append("units are not millimetres")
    spaces = [doc.modelspace()] + [b for b in doc.blocks if not b.name.startswith(("*", "$"))]
    entities = [e for space in spaces for e in space]
    newer = {e.dxftype() for e in entities} - R12
    if newer:
        found.append(f"entities newer than release 12: {sorted(newer)}")
    layers = {e.dxf.layer for e in entities if e.dxftype() != "INSERT"}
    if layers - set(wanted.get("layers_allowed", [])) != set(wanted["layers"]):
        found.append(f"layers {sorted(layers)}, {sorted(wanted['layers'])} wanted")
    missing = layers - {layer.dxf.name for layer in doc.layers}
    if missing:
        found.append(f"layers without an entry in the table: {sorted(missing)}")
    return found


def shape_complaints(shape, wanted):
    found = []
    if not shape.is_valid:
        found.append("the outline crosses itself")
    if not shape.exterior.is_ccw:
        found.append("the outline runs clockwise")
    if abs(shape.area - wanted["area"]) > AREA_SHARE * wanted["area"]:
        found.append(f"area {shape.area}, {wanted['area']} wanted")
    found += [f"{p} is not inside" for p in wanted["inside"] if not shape.contains(Point(p))]
    found += [f"{p} is not outside" for p in wanted["outside"] if shape.contains(Point(p))]
    return found


def exchange(doc, wanted):
    inserts = list(doc.modelspace())
    if [i.dxftype() for i in inserts] != ["INSERT"] or inserts[0].dxf.name != wanted["block"]:
        return ["the drawing is not one INSERT of the piece's BLOCK"]
    block = doc.blocks.get(wanted["block"])
    boundaries = list(block.query('POLYLINE[layer=="1"]'))
    if len(boundaries) != 1 or not boundaries[0].is_closed:
        return [f"{len(boundaries)} boundaries, one closed wanted"]
    texts = [decode_dxf_unicode(t.dxf.text) for t in block.query("TEXT")]
    found = [f"no text {t!r}" for t in wanted["texts"] if t not in texts]
    return found + shape_complaints(polygon(boundaries[0]), wanted)


def cutter(doc, wanted):
    closed = [p for p in doc.modelspace().query('POLYLINE[layer=="cut"]') if p.is_closed]
    if not closed:
        return ["no closed line to cut"]
    line = max(closed, key=lambda p: polygon(p).area)
    found = shape_complaints(polygon(line), wanted)
    drawn = list(arcs(line))
    if len(drawn) != len(wanted["arcs"]):
        return found + [f"{len(drawn)} arcs, {len(wanted['arcs'])} wanted"]
    for (centre, radius), arc in zip(drawn, wanted["arcs"]):
        off = max(math.hypot(centre.x - arc["centre"][0], centre.y - arc["centre"][1]), abs(radius - arc["radius"]))
        if off > ARC_MM:
            found.append(f"an arc is off by {off} mm")
    return found


def whole_set(doc, wanted):
    found = []
    shapes = []
    for insert in doc.modelspace():
        if insert.has_dxf_attrib("xscale") or insert.has_dxf_attrib("yscale"):
            found.append(f"{insert.dxf.name} is scaled")
        boundaries = [e for e in insert.virtual_entities() if e.dxftype() == "POLYLINE" and e.dxf.layer == "1"]
        shapes += [polygon(b) for b in boundaries]
    if len(shapes) != wanted["copies"]:
        found.append(f"{len(shapes)} copies, {wanted['copies']} wanted")
    total = sum(s.area for s in shapes)
    if abs(total - wanted["area"]) > AREA_SHARE * wanted["area"]:
        found.append(f"area {total}, {wanted['area']} wanted")
    for (i, one), (k, other) in itertools.combinations(enumerate(shapes), 2):
        if one.distance(other) < wanted["gap"] - GAP_MM:
            found.append(f"copies {i} and {k} are {one.distance(other)} mm apart")
    return found


def complaints(kind, dxf_file, wanted_file):
    doc = ezdxf.readfile(dxf_file)
    with open(wanted_file, encoding="utf-8") as stream:
        wanted = json.load(stream)
    found = document_complaints(doc, wanted) + {"exchange": exchange, "cutter": cutter, "set": whole_set}[kind](doc, wanted)
    return [f"{dxf_file}: {line}" for line in found]


if __name__ == "__main__":
    pairs = zip(sys.argv[2::2], sys.argv[3::2])
    wrong = [line for pair in pairs for line in complaints(sys.argv[1], *pair)]
    print("\n".join(wrong))
    sys.exit(1 if wrong else 0)
