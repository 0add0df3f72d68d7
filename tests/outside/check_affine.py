#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Compares our affine maps between outlines with a second solution: distances by GEOS (through shapely), minimised by
MINPACK's Levenberg-Marquardt (through scipy.optimize.least_squares).

  check_affine.py CASES.json

CASES.json: [{"reference": [[x, y], ...], "measured": [[x, y], ...], "start": [a, b, c, d, x, y],
"ours": [a, b, c, d, x, y]}, ...], mm; p -> (a px + b py + x, c px + d py + y). Prints the largest difference of the
linear parts and every case above the bound. Exit 0 when there is none, 1 otherwise.
"""
import json
import sys

import numpy as np
from scipy.optimize import least_squares
from shapely.geometry import LinearRing, Point, Polygon
from shapely.prepared import prep

BOUND = 1e-4  # 0.01 % of a length: ten times below what a photograph can tell
PLACES = 240


def solved(case):
    ring = LinearRing(case["measured"])
    inside = prep(Polygon(case["measured"]))
    reference = LinearRing(case["reference"])
    places = np.array([reference.interpolate((k + 0.3) / PLACES, normalized=True).coords[0] for k in range(PLACES)])

    def distances(m):
        moved = places @ np.array([[m[0], m[2]], [m[1], m[3]]]) + m[4:6]
        points = [Point(p) for p in moved]
        return [ring.distance(p) * (-1 if inside.contains(p) else 1) for p in points]

    scale = [1e-3, 1e-3, 1e-3, 1e-3, 0.3, 0.3]
    return least_squares(distances, case["start"], method="lm", x_scale=scale, diff_step=1e-7).x


def main():
    cases = json.load(open(sys.argv[1]))
    worst, bad = 0.0, 0
    for number, case in enumerate(cases):
        apart = np.abs(solved(case)[:4] - np.array(case["ours"])[:4]).max()
        worst = max(worst, apart)
        if apart > BOUND:
            bad += 1
            print(f"case {number}: linear parts differ by {apart:.2e}")
    print(f"{len(cases)} pairs of outlines, largest difference {worst:.2e}")
    return 1 if bad or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
