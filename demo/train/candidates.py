# SPDX-License-Identifier: Apache-2.0
"""How panels come out of the maps: what is panel and no edge falls into cores, each core grows back through panel to the edge's middle, and what is too small
or too narrow goes. Numpy and OpenCV alone, as the program would do it."""
import cv2
import numpy as np

PANEL = 1
MIN_AREA, MIN_WIDTH = 2500.0, 30.0  # mm2, mm: the program's own (TraceOptions)


def disc(diameter_px):
    d = max(1, 2 * int(round((diameter_px - 1) / 2)) + 1)
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (d, d))


def widest(mask):
    return 2 * cv2.distanceTransform(np.pad(mask, 1), cv2.DIST_L2, 5).max() - 1


def candidates(what, edge, seen, mm_per_px, panel_least=.5, edge_most=.5):
    """what: 4 x H x W, edge: H x W probabilities, seen: H x W where the photo shows something (the maps say nothing elsewhere) -> list of (mask H x W uint8, mean probability of panel in it), the largest first."""
    panel = ((what[PANEL] > panel_least) & (seen > 0)).astype(np.uint8)
    core = cv2.morphologyEx(panel & (edge < edge_most).astype(np.uint8), cv2.MORPH_OPEN, disc(4.0 / mm_per_px + 1))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(core, connectivity=4)
    least_core = .3 * MIN_AREA / mm_per_px ** 2
    grown = np.zeros_like(labels)
    for i in range(1, count):
        if stats[i, cv2.CC_STAT_AREA] >= least_core:
            grown[labels == i] = i
    # back to the border, no farther than an edge is wide; where two meet each takes its half
    small = np.ones((3, 3), np.uint8)
    for k in range(6):
        free = (grown == 0) & (panel > 0)
        if not free.any():
            break
        spread = cv2.dilate(grown.astype(np.uint16), small if k % 2 else disc(3)).astype(labels.dtype)
        grown = np.where(free, spread, grown)
    out = []
    for i in np.unique(grown[grown > 0]):
        mask = cv2.morphologyEx((grown == i).astype(np.uint8), cv2.MORPH_OPEN, disc(5.0 / mm_per_px))
        n, parts, area, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
        if n < 2:
            continue
        mask = (parts == 1 + area[1:, cv2.CC_STAT_AREA].argmax()).astype(np.uint8)
        if mask.sum() * mm_per_px ** 2 < MIN_AREA or widest(mask) * mm_per_px < MIN_WIDTH - 1.5 * mm_per_px:
            continue
        out.append((mask, float(what[PANEL][mask > 0].mean())))
    return sorted(out, key=lambda c: -int(c[0].sum()))


def overlap(a, b):
    either = np.count_nonzero(a | b)
    return np.count_nonzero(a & b) / either if either else 0.0


def matched(found, true):
    """For each true mask the best intersection over union among the found, and the numbers of found ones that touch no true panel by half."""
    best = [max((overlap(c > 0, t > 0) for c in found), default=0.0) for t in true]
    extra = sum(1 for c in found if max((np.count_nonzero((c > 0) & (t > 0)) for t in true), default=0) < .5 * np.count_nonzero(c))
    return best, extra
