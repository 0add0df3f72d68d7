#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Looks at layouts of pieces on a roll with GEOS (through shapely).

  check_layouts.py CASES.json

CASES.json: [{"width", "gap", "length", "pieces": [{"outline": [[x, y], ...], "turns": [rad, ...], "placed", "turn": rad,
"shift": [x, y]}, ...]}, ...], mm; a piece lies at outline turned by "turn" about its own origin, then shifted. Prints what is
wrong and how full the rolls are. Exit 0 when nothing is wrong, 1 otherwise.
"""
import itertools
import json
import math
import sys

from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

PLACE_MM = 0.01   # what a place may be off
SHARED_MM2 = 0.01  # overlap that rounding may make along a metre


def laid(piece):
    turned = rotate(Polygon(piece["outline"]), piece["turn"], origin=(0, 0), use_radians=True)
    return translate(turned, *piece["shift"])


def faults(case):
    if not all(p["placed"] for p in case["pieces"]):
        yield "a piece that fits is not placed"
    for number, piece in enumerate(case["pieces"]):
        if not any(abs(math.remainder(piece["turn"] - t, 2 * math.pi)) < 1e-6 for t in piece["turns"]):
            yield f"piece {number} lies at {piece['turn']:.4f} rad"
    shapes = [laid(p) for p in case["pieces"] if p["placed"]]
    roll = box(0, 0, case["length"], case["width"]).buffer(PLACE_MM)
    for number, shape in enumerate(shapes):
        if not roll.contains(shape):
            yield f"piece {number} lies beside the roll: {shape.bounds}"
    for (i, a), (k, b) in itertools.combinations(enumerate(shapes), 2):
        if a.intersection(b).area > SHARED_MM2:
            yield f"pieces {i} and {k} overlap by {a.intersection(b).area:.3f} mm2"
        elif a.distance(b) < case["gap"] - PLACE_MM:
            yield f"pieces {i} and {k} are {a.distance(b):.3f} mm apart, {case['gap']:.3f} wanted"
    if sum(s.area for s in shapes) > case["length"] * case["width"]:
        yield "more piece than roll"
    if abs(max(s.bounds[2] for s in shapes) - case["length"]) > PLACE_MM:
        yield "the length is not where the last piece ends"


def main():
    cases = json.load(open(sys.argv[1]))
    bad = 0
    for number, case in enumerate(cases):
        for fault in faults(case):
            bad += 1
            print(f"set {number}: {fault}")
    full = [sum(laid(p).area for p in c["pieces"]) / (c["length"] * c["width"]) for c in cases]
    print(f"{len(cases)} sets, {100 * min(full):.0f} to {100 * max(full):.0f} % of the roll used")
    return 1 if bad or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
