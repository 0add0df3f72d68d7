# SPDX-License-Identifier: Apache-2.0
"""How panels come out of the maps: what is panel and no edge falls into cores, each core grows back through panel to the edge's ridge, cores with hardly an
edge between them are joined, and what is too small or too narrow goes. Numpy and OpenCV alone, as the program would do it."""
import cv2
import numpy as np

PANEL = 1
MIN_AREA, MIN_WIDTH, MIN_CUTOUT = 2500.0, 30.0, 7.0  # mm2, mm, mm: the program's own (TraceOptions)
CORE_SHARE = .2  # of the least area: an edge takes its part of a small panel


def disc(diameter_px):
    d = max(1, 2 * int(round((diameter_px - 1) / 2)) + 1)
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (d, d))


def widest(mask):
    return 2 * cv2.distanceTransform(np.pad(mask, 1), cv2.DIST_L2, 5).max() - 1


def cores(panel, edge, mm_per_px, edge_most):
    """Labels of what is panel and surely no edge, opened so that a weak spot in an edge does not join two."""
    core = cv2.morphologyEx(panel & (edge < edge_most).astype(np.uint8), cv2.MORPH_OPEN, disc(6.0 / mm_per_px + 1))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(core, connectivity=4)
    for i in range(1, count):
        if stats[i, cv2.CC_STAT_AREA] * mm_per_px ** 2 < CORE_SHARE * MIN_AREA:
            labels[labels == i] = 0
    return labels


def grown_back(labels, panel, edge):
    """Every px of panel goes to a core: the least sure edge first, so that two cores meet on the edge between them (a watershed over the edge's
    probability, which then is cut off where panel ends)."""
    hills = cv2.merge([np.clip(edge * 255, 0, 255).astype(np.uint8)] * 3)
    if not labels.any():
        return labels
    marks = cv2.watershed(hills, labels.astype(np.int32))
    # the ridges between go to whichever core is beside them
    flat = np.where(marks < 0, 0, marks)
    spread = cv2.dilate(flat.astype(np.uint16), np.ones((3, 3), np.uint8)).astype(np.int32)
    flat = np.where(marks < 0, spread, flat) * (panel > 0)
    # panel that no core reaches through panel is nobody's
    count, parts = cv2.connectedComponents(panel, connectivity=4)
    own = np.zeros(count, bool)
    own[np.unique(parts[labels > 0])] = True
    return flat * own[parts]


def joined(labels, edge, join_below):
    """Neighbours with hardly an edge between them are one: a chalk line or a fold parts no panel."""
    numbers = [i for i in np.unique(labels) if i > 0]
    parent = {i: i for i in numbers}

    def root(i):
        while parent[i] != i:
            i = parent[i]
        return i

    box = np.ones((3, 3), np.uint8)
    wide = {i: cv2.dilate((labels == i).astype(np.uint8), box) for i in numbers}
    for k, i in enumerate(numbers):
        for j in numbers[k + 1:]:
            line = (wide[i] & wide[j]) > 0
            if np.count_nonzero(line) >= 3 and edge[line].mean() < join_below:
                parent[root(j)] = root(i)
    return np.array([0] + [root(i) if i in parent else 0 for i in range(1, labels.max() + 1)])[labels] if numbers else labels


def candidates(what, edge, seen, mm_per_px, panel_least=.5, edge_most=.25, join_below=.15):
    """what: 4 x H x W, edge: H x W probabilities, seen: H x W where the photo shows something (the maps say nothing elsewhere) -> list of (mask H x W uint8,
    mean probability of panel in it), the largest first."""
    panel = ((what[PANEL] > panel_least) & (seen > 0)).astype(np.uint8)
    edge = cv2.GaussianBlur(edge.astype(np.float32), (0, 0), .8)
    labels = joined(grown_back(cores(panel, edge, mm_per_px, edge_most), panel, edge), edge, join_below)
    out = []
    for i in np.unique(labels[labels > 0]):
        mask = cv2.morphologyEx((labels == i).astype(np.uint8), cv2.MORPH_OPEN, disc(5.0 / mm_per_px))
        n, parts, area, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
        if n < 2:
            continue
        mask = without_specks((parts == 1 + area[1:, cv2.CC_STAT_AREA].argmax()).astype(np.uint8), mm_per_px)
        if mask.sum() * mm_per_px ** 2 < MIN_AREA or widest(mask) * mm_per_px < MIN_WIDTH - 1.5 * mm_per_px:
            continue
        out.append((mask, float(what[PANEL][mask > 0].mean())))
    return sorted(out, key=lambda c: -int(c[0].sum()))


def without_specks(mask, mm_per_px):
    """Holes narrower than a cut-out are filled: chalk and shine."""
    count, parts, stats, _ = cv2.connectedComponentsWithStats(1 - mask, connectivity=4)
    for i in range(1, count):
        x, y, w, h = stats[i, :4]
        if x > 0 and y > 0 and x + w < mask.shape[1] and y + h < mask.shape[0] and widest((parts[y:y + h, x:x + w] == i).astype(np.uint8)) * mm_per_px < MIN_CUTOUT:
            mask = np.where(parts == i, 1, mask).astype(np.uint8)
    return mask


def overlap(a, b):
    either = np.count_nonzero(a | b)
    return np.count_nonzero(a & b) / either if either else 0.0


def matched(found, true):
    """For each true mask the best intersection over union among the found, and the numbers of found ones that touch no true panel by half."""
    best = [max((overlap(c > 0, t > 0) for c in found), default=0.0) for t in true]
    extra = sum(1 for c in found if max((np.count_nonzero((c > 0) & (t > 0)) for t in true), default=0) < .5 * np.count_nonzero(c))
    return best, extra
