#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Compares our parallels with GEOS's buffer (through shapely).

  check_offsets.py CASES.json

CASES.json: [{"outline": [[x, y], ...], "distance": d, "ours": [[x, y], ...]}, ...], mm. Prints the worst symmetric
difference as a share of GEOS's area, and every case above the bound. Exit 0 when there is none, 1 otherwise.
"""
import json
import sys

from shapely.geometry import Polygon

BOUND = 5e-4  # the bar: 0.05 %
MITRE = 3.0  # of the distance, as ours


def main():
    cases = json.load(open(sys.argv[1]))
    worst, bad = 0.0, 0
    for number, case in enumerate(cases):
        theirs = Polygon(case["outline"]).buffer(case["distance"], join_style=2, mitre_limit=MITRE)
        ours = Polygon(case["ours"])
        share = ours.symmetric_difference(theirs).area / theirs.area if ours.is_valid else 1.0
        worst = max(worst, share)
        if share > BOUND:
            bad += 1
            print(f"case {number}: {100 * share:.4f} % at {case['distance']:.2f} mm")
    print(f"{len(cases)} outlines, worst {100 * worst:.4f} %")
    return 1 if bad or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
