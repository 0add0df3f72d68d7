#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Makes what the network gets, and the truth beside it, from a table picture that the program left (chalkfold run PHOTO --pictures DIR):

  table_with_truth.py DIR TRUTH_DIR OUT NAME...      writes OUT/NAME.npz

The picture's frame is found from the markers seen in it and the sheets' places in the truth: a similarity, for both planes are parallel. Outlines of the
upper face are brought down along their lines of sight to the sheets' plane first, so that both fit the picture whatever height it was made for.
code H x W x 3 (blue green red), known, ink, unseen, mm_per_px, truth H x W (0 none, 1.. the panel), today H x W (what the program's coarse stage took)."""
import json
import pathlib
import sys

import cv2
import numpy as np

SQUARE, MARKER, COLUMNS, ROWS = 36.0, 26.0, 5, 7
WIDE, HIGH, CARD, TAG = 216.0, 298.0, 60.0, 40.0
KNOWN, TAG_KNOWN = (110.0, 150.5), (33.0, 33.0)
REACH = 2.0  # camera heights, as the program's coarse picture
DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)


def board_places(sheet):
    """Marker id -> its middle on the page, mm, y up."""
    out, number = {}, 0
    for r in range(ROWS):
        for c in range(COLUMNS):
            if (r + c) % 2:
                out[17 * (sheet - 1) + number] = ((c + .5 - COLUMNS / 2) * SQUARE, (ROWS / 2 - r - .5) * SQUARE)
                number += 1
    return out


def sheet_print(sheet, fine=4):
    page = np.zeros((int(HIGH * fine), int(WIDE * fine)), np.float32)
    top, left = (HIGH - ROWS * SQUARE) / 2, (WIDE - COLUMNS * SQUARE) / 2
    number, n, m = 0, int(SQUARE * fine), int(MARKER * fine)
    for r in range(ROWS):
        for c in range(COLUMNS):
            y, x = int((top + r * SQUARE) * fine), int((left + c * SQUARE) * fine)
            if (r + c) % 2 == 0:
                page[y:y + n, x:x + n] = 1
            else:
                o = (n - m) // 2
                page[y + o:y + o + m, x + o:x + o + m] = 1 - cv2.aruco.drawMarker(DICTIONARY, 17 * (sheet - 1) + number, m) / 255.
                number += 1
    return cv2.resize(page, (int(WIDE), int(HIGH)), interpolation=cv2.INTER_AREA)


def tag_print(tag, fine=4):
    page = np.zeros((int(CARD * fine),) * 2, np.float32)
    m = int(TAG * fine)
    o = (page.shape[0] - m) // 2
    page[o:o + m, o:o + m] = 1 - cv2.aruco.drawMarker(DICTIONARY, 900 + tag, m) / 255.
    return cv2.resize(page, (int(CARD),) * 2, interpolation=cv2.INTER_AREA)


def placed(at, theta, points):
    c, s = np.cos(theta), np.sin(theta)
    return np.asarray(points, float) @ np.array([[c, s], [-s, c]]) + at


def markers_in(picture):
    """Marker id -> corners in the picture, px (pixel centres at whole numbers), from the top left clockwise as printed."""
    times = 3
    big = cv2.resize(picture, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC)
    options = cv2.aruco.DetectorParameters_create()
    options.adaptiveThreshWinSizeMax = 63
    corners, ids, _ = cv2.aruco.detectMarkers(big, DICTIONARY, parameters=options)
    return {} if ids is None else {int(i): (c.reshape(4, 2) + .5) / times - .5 for i, c in zip(ids.ravel(), corners)}


def raster_from_world(seen, truth):
    """2 x 3 matrix, world mm (x, -y) on the sheets' plane to picture px."""
    world, raster = [], []
    for s in truth["sheets"]:
        for i, p in board_places(s["n"]).items():
            if i in seen:
                world.append(placed((s["x"], s["y"]), s["theta_rad"], [p])[0] * [1, -1])
                raster.append(seen[i].mean(0))
    if len(world) < 4:
        raise SystemExit("too few markers seen")
    m, inliers = cv2.estimateAffinePartial2D(np.array(world), np.array(raster), ransacReprojThreshold=2.0)
    return m, int(inliers.sum())


def down_to(points, height, plane, camera):
    """Where lines of sight through points at a height meet the sheets' plane."""
    centre = -np.array(camera["R"]).T @ np.array(camera["t"])
    p = np.asarray(points, float)[:, :2]
    return centre[:2] + (p - centre[:2]) * (centre[2] - plane) / (centre[2] - height), centre


def photo_px(points, camera):
    q = points @ np.array(camera["R"]).T + np.array(camera["t"])
    x, y = q[:, 0] / q[:, 2], q[:, 1] / q[:, 2]
    r2 = x * x + y * y
    d = 1 + camera["k1"] * r2 + camera["k2"] * r2 ** 2 + camera.get("k3", 0) * r2 ** 3
    return np.stack([camera["f"] * (x * d + 2 * camera["p1"] * x * y + camera["p2"] * (r2 + 2 * x * x)) + camera["cx"],
                     camera["f"] * (y * d + camera["p1"] * (r2 + 2 * y * y) + 2 * camera["p2"] * x * y) + camera["cy"]], 1)


def filled(mask, points, value):
    """Every px whose larger part lies inside: fillPoly alone takes in all that its border touches, half a px too much all round."""
    times = 4
    fine = np.zeros((mask.shape[0] * times, mask.shape[1] * times), np.uint8)
    at = (np.asarray(points) + .5) * times - .5
    cv2.fillPoly(fine, [np.round(at * 16).astype(np.int32)], 255, lineType=cv2.LINE_8, shift=4)
    mask[cv2.resize(fine, mask.shape[::-1], interpolation=cv2.INTER_AREA) > 127] = value


def prepared(picture, truth, today=None):
    seen_markers = markers_in(picture)
    m, _ = raster_from_world(seen_markers, truth)
    h, w = picture.shape[:2]
    px = lambda world: (np.asarray(world) * [1, -1]) @ m[:, :2].T + m[:, 2]
    mm_per_px = 1 / np.hypot(m[0, 0], m[0, 1])
    camera, plane = truth["camera"], truth.get("sheet_plane_z", .1)
    known, ink = np.zeros((h, w), np.uint8), np.zeros((h, w), np.float32)
    corner = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], float)

    def lay(page, three):
        """A page's picture onto three of its corners: lower left, lower right, upper right."""
        high, wide = page.shape
        page_px = np.array([[0, high], [wide, high], [wide, 0]], np.float32) - np.float32(.5)
        return cv2.warpAffine(page, cv2.getAffineTransform(page_px, np.asarray(three, np.float32)), (w, h), flags=cv2.INTER_LINEAR)

    for s in truth["sheets"]:
        at = px(placed((s["x"], s["y"]), s["theta_rad"], corner * KNOWN))
        filled(known, at, 1)
        ink = np.maximum(ink, lay(sheet_print(s["n"]), px(placed((s["x"], s["y"]), s["theta_rad"], corner[:3] * (WIDE / 2, HIGH / 2)))))
    for i, c in seen_markers.items():  # tags, as the program: from their markers alone
        if i > 900:
            middle = c.mean(0)
            filled(known, middle + (c - middle) * 2 * TAG_KNOWN[0] / TAG, 1)
            ink = np.maximum(ink, lay(tag_print(i - 900), (middle + (c - middle) * CARD / TAG)[[3, 2, 1]]))
    inverse = np.linalg.inv(m[:, :2])
    grid = np.stack(np.meshgrid(np.arange(w), np.arange(h)), -1).reshape(-1, 2)
    world = (grid - m[:, 2]) @ inverse.T * [1, -1]
    at = photo_px(np.c_[world, np.full(len(world), plane)], camera)
    centre = -np.array(camera["R"]).T @ np.array(camera["t"])
    seen = (at[:, 0] >= 4) & (at[:, 1] >= 4) & (at[:, 0] < camera["width"] - 5) & (at[:, 1] < camera["height"] - 5) & (np.hypot(*(world - centre[:2]).T) < REACH * centre[2])
    true = np.zeros((h, w), np.uint8)
    for k, p in enumerate(truth["panels"]):
        face = p.get("outline_seen") or p["outline"]
        lift = 0 if p.get("outline_seen") else p["thickness_mm"]
        filled(true, px(down_to(face, lift if not p.get("outline_seen") else plane, plane, camera)[0]), k + 1)
        for hole in p.get("holes") or []:
            filled(true, px(down_to(hole, p["thickness_mm"], plane, camera)[0]), 0)
    return dict(code=picture, known=known, ink=(ink * known * 255).astype(np.uint8), unseen=(~seen).reshape(h, w).astype(np.uint8), mm_per_px=mm_per_px, truth=true,
                today=np.zeros((h, w), np.uint8) if today is None else today)


def main():
    pictures, truths, out = (pathlib.Path(p) for p in sys.argv[1:4])
    out.mkdir(parents=True, exist_ok=True)
    for name in sys.argv[4:]:
        picture = cv2.imread(str(pictures / f"{name}-table.png"))
        today = cv2.imread(str(pictures / f"{name}-panels.png"), 0)
        truth = json.loads((truths / f"{name}.truth.json").read_text())
        np.savez_compressed(out / f"{name}.npz", **prepared(picture, truth, today))
        print(name, picture.shape, flush=True)


if __name__ == "__main__":
    main()
