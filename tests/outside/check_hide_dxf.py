#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Reads a hide's DXF with ezdxf and compares it by GEOS with the truth that the renderer wrote.

  check_hide_dxf.py HIDE.dxf TRUTH.json [--mirror]

Layer 1 is the outline; on layer 11 are the holes and the flaws, closed polylines. Prints the figures, then what is wrong, one line each.
Exit 0 when nothing is, 1 otherwise. --mirror flips the drawing left to right first: that must not pass.
"""
import json
import sys

import ezdxf
import numpy as np
from scipy.optimize import least_squares
from shapely.affinity import affine_transform, scale
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

OUTLINE_RMS_MM = 0.35
CENTRE_MM = 1.5
RING_AREA = 0.05  # share
HOLE_AREA = 0.05
USABLE_AREA = 0.005


def polygons(space, layer):
    lines = list(space.query(f'POLYLINE[layer=="{layer}"]'))
    assert all(line.is_closed for line in lines), f"layer {layer}: a polyline is open"
    return [Polygon([(v.dxf.location.x, v.dxf.location.y) for v in line.vertices]) for line in lines]


def laid_on(polygon, truth):
    """Rigid motion (no reflection) of the polygon onto the truth, its rms distance, mm."""
    points = np.array(polygon.exterior.coords)[::20]
    middle = np.array(polygon.centroid.coords[0])
    border = truth.exterior

    def moved(p, xy):
        c, s = np.cos(p[0]), np.sin(p[0])
        return (xy - middle) @ np.array([[c, s], [-s, c]]) + p[1:]

    def off(p):
        return np.array([border.distance(Point(xy)) for xy in moved(p, points)])

    starts = [np.array([turn * np.pi / 4, *truth.centroid.coords[0]]) for turn in range(8)]
    start = min(starts, key=lambda p: np.mean(off(p) ** 2))
    best = least_squares(off, start, loss="soft_l1", f_scale=0.5).x
    c, s = np.cos(best[0]), np.sin(best[0])
    shift = best[1:] - np.array([c * middle[0] - s * middle[1], s * middle[0] + c * middle[1]])
    return [c, -s, s, c, *shift], float(np.sqrt(np.mean(off(best) ** 2)))


def ring_area(mark):
    """What a ring takes: up to the outer edge of its line, a break closed straight."""
    line = [tuple(p) for p in mark["points"]]
    drawn = unary_union([LineString(line), LineString([line[-1], line[0]])]).buffer(mark["width_mm"] / 2)
    return Polygon(drawn.exterior)


def main():
    space = ezdxf.readfile(sys.argv[1]).modelspace()
    with open(sys.argv[2], encoding="utf-8") as stream:
        truth = json.load(stream)["panels"][0]
    outlines, cuts = polygons(space, "1"), polygons(space, "11")
    wrong = [] if len(outlines) == 1 else [f"{len(outlines)} outlines"]
    if "--mirror" in sys.argv:
        outlines, cuts = ([scale(p, -1, 1, origin=(0, 0)) for p in some] for some in (outlines, cuts))
    true_outline = Polygon(truth["outline"])
    motion, rms = laid_on(outlines[0], true_outline)
    print(f"outline rms {rms:.3f} mm")
    if rms > OUTLINE_RMS_MM:
        wrong.append(f"the outline is {rms:.2f} mm rms off")
    cuts = [affine_transform(p, motion) for p in cuts]
    expected = [("hole", Polygon(h), HOLE_AREA) for h in truth["holes"]]
    expected += [("ring", ring_area(m), RING_AREA) for m in truth["marks"] if m["kind"] == "ring"]
    if len(cuts) != len(expected):
        wrong.append(f"{len(cuts)} cut-outs, {len(expected)} wanted")
    for kind, area, share in expected:
        found = min(cuts, key=lambda p: p.centroid.distance(area.centroid), default=None)
        if found is None:
            continue
        centre, off = found.centroid.distance(area.centroid), found.area / area.area - 1
        print(f"{kind} of {area.area:.0f} mm2: centre off by {centre:.2f} mm, area by {100 * off:+.2f} %")
        if centre > CENTRE_MM or abs(off) > share:
            wrong.append(f"{kind}: centre off by {centre:.2f} mm, area by {100 * off:.1f} %")
    usable = affine_transform(outlines[0], motion).difference(unary_union(cuts)).area
    true_usable = true_outline.difference(unary_union([a for _, a, _ in expected])).area
    off = usable / true_usable - 1
    print(f"usable {usable / 1e6:.5f} m2, off by {100 * off:+.3f} %")
    if abs(off) > USABLE_AREA:
        wrong.append(f"usable area off by {100 * off:.2f} %")
    for line in wrong:
        print("WRONG:", line)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
