#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Writes one asymmetric outline as another program would (ezdxf), in several releases, units and ways.

  write_foreign_dxf.py FOLDER

FOLDER/plain.dxf: R2010, mm. block.dxf: R2000, inches, in a block inserted turned by 30 degrees. old.dxf: R12, one old
polyline. parts.dxf: R2018, lines and an arc that run either way. mirrored.dxf: R2010, the other side. All have a larger
circle on another layer.
"""
import sys

import ezdxf
from ezdxf import units

# Lower right corner cut off, a half circle of radius 50 on the upper side.
POINTS = [(0, 0, 0), (500, 0, 0), (600, 100, 0), (600, 450, 0), (350, 450, 1.0), (250, 450, 0), (0, 450, 0)]


def started(release, unit):
    document = ezdxf.new(release)
    document.units = unit
    document.layers.add("1")
    document.layers.add("frame")
    return document


def scaled(factor, mirror=1):
    return [(mirror * factor * x, factor * y, mirror * bulge) for x, y, bulge in POINTS]


def write(folder, name, release, unit, factor, mirror=1, block=False):
    document = started(release, unit)
    target = document.modelspace()
    if block:
        target = document.blocks.new("PIECE", base_point=(factor, 2 * factor))
        document.modelspace().add_blockref("PIECE", (30 * factor, 40 * factor), dxfattribs={"rotation": 30})
    if release == "R12":
        target.add_polyline2d(scaled(factor), format="xyb", close=True, dxfattribs={"layer": "1"})
    else:
        target.add_lwpolyline(scaled(factor, mirror), format="xyb", close=True, dxfattribs={"layer": "1"})
    target.add_circle((300 * factor, 200 * factor), 900 * factor, dxfattribs={"layer": "frame"})
    document.saveas(f"{folder}/{name}.dxf")


def write_parts(folder):
    document = started("R2018", units.MM)
    space, on_1 = document.modelspace(), {"layer": "1"}
    for a, b in [(0, 1), (2, 1), (2, 3), (4, 3), (6, 5), (6, 0)]:
        space.add_line(POINTS[a][:2], POINTS[b][:2], dxfattribs=on_1)
    space.add_arc((300, 450), 50, 0, 180, dxfattribs=on_1)
    space.add_circle((300, 200), 900, dxfattribs={"layer": "frame"})
    document.saveas(f"{folder}/parts.dxf")


def main():
    folder = sys.argv[1]
    write(folder, "plain", "R2010", units.MM, 1)
    write(folder, "block", "R2000", units.IN, 1 / 25.4, block=True)
    write(folder, "old", "R12", units.MM, 1)
    write(folder, "mirrored", "R2010", units.MM, 1, mirror=-1)
    write_parts(folder)


if __name__ == "__main__":
    main()
