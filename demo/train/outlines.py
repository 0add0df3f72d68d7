# SPDX-License-Identifier: Apache-2.0
"""Outlines of panels as signed distances: the designs of demo (designs.json), loosened, and random families. Units: the farthest point of an outline
lies 1 from the middle of its box; distances are positive inside."""
import json
import pathlib

import numpy as np
import torch

EXTENT = 1.25  # half side of a distance field's square
SIDE = 256
VERTICES = 224


def bezier(edge, steps):
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    a, b, c, d = (np.asarray(p, float) for p in edge)
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t ** 2 * c + t ** 3 * d


def bowed(corners, rng, bow):
    """Closed outline through the corners, each edge a cubic that may swell, sink or swing."""
    out = []
    n = len(corners)
    for i in range(n):
        a, b = corners[i], corners[(i + 1) % n]
        along = b - a
        across = np.array([-along[1], along[0]])
        k = rng.normal(0, bow, 2) if rng.random() < .75 else np.zeros(2)
        out.append(bezier((a, a + along / 3 + k[0] * across, b - along / 3 + k[1] * across, b), max(4, VERTICES // n - 1)))
    return np.vstack(out)


def rounded(points, rng):
    """Corners drawn into curves: a mean over a window of points, of a random length and often none."""
    window = rng.choice([1, 1, 3, 9, 25])
    ahead = np.arange(window) - window // 2
    return np.mean([np.roll(points, k, 0) for k in ahead], 0)


def design(rng, designs):
    d = designs[rng.integers(len(designs))]
    edges = np.array(d["edges"], float)
    size = np.abs(edges).max()
    loosen = rng.choice([0, .02, .06])
    inner = edges.copy()
    inner[:, 1:3] += rng.normal(0, loosen * size, inner[:, 1:3].shape)
    shift = rng.normal(0, loosen * size, (len(edges) + 1, 2))
    if d["symmetric"]:
        shift[0, 0] = shift[-1, 0] = 0
    else:
        shift[-1] = shift[0]
    inner[:, 0] += shift[:-1]
    inner[:, 3] += shift[1:]
    if d["symmetric"]:
        mirror = inner[::-1, ::-1] * np.array([-1, 1])
        inner = np.concatenate([inner, mirror])
    return np.vstack([bezier(e, max(4, VERTICES // len(inner))) for e in inner]) * np.array([rng.uniform(.8, 1.25), 1])


def polygon(rng):
    n = rng.integers(3, 9)
    angle = np.sort(rng.uniform(0, 2 * np.pi, n) * .6 + .4 * np.arange(n) * 2 * np.pi / n)
    radius = rng.uniform(.45, 1, n)
    corners = np.stack([radius * np.cos(angle), radius * np.sin(angle)], 1) * np.array([1, rng.uniform(.35, 1)])
    return rounded(bowed(corners, rng, rng.choice([0, .04, .12])), rng)


def quad(rng):
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], float) * np.array([1, rng.uniform(.25, 1)]) + rng.normal(0, rng.choice([.01, .12]), (4, 2))
    return rounded(bowed(corners, rng, rng.choice([0, .03, .1])), rng)


def halves(rng):
    n = rng.integers(2, 6)
    y = np.sort(rng.uniform(-1, 1, n))
    y[0], y[-1] = -1, 1
    x = rng.uniform(.35, 1, n) * rng.uniform(.4, 1.2)
    right = np.vstack([[0, -1 - rng.uniform(-.1, .1)], np.stack([x, y], 1), [0, 1 + rng.uniform(-.1, .25)]])
    edges = []
    for a, b in zip(right[:-1], right[1:]):
        along = b - a
        across = np.array([along[1], -along[0]])
        k = rng.normal(0, .1, 2)
        edges.append(bezier((a, a + along / 3 + k[0] * across, b - along / 3 + k[1] * across, b), VERTICES // (2 * n + 4)))
    half = np.vstack(edges)
    return rounded(np.vstack([half, (half * [-1, 1])[::-1]]), rng)


def blob(rng):
    t = np.linspace(0, 2 * np.pi, 160, endpoint=False)
    r = np.ones_like(t)
    for k in range(1, 8):
        r += rng.normal(0, .22) / k ** rng.uniform(.7, 1.6) * np.sin(k * t + rng.uniform(0, 6.3))
    r = np.clip(r, .25, None)
    return np.stack([r * np.cos(t), r * np.sin(t) * rng.uniform(.4, 1)], 1)


def strip(rng):
    length, width = 1, .035 * (.22 / .035) ** rng.uniform()
    t = np.linspace(-1, 1, 60)
    bend = rng.choice([0, .1, .4]) * rng.uniform(-1, 1)
    taper = rng.uniform(-.3, .3)
    middle = np.stack([t * length, bend * t ** 2], 1)
    half = width * (1 + taper * t)
    return np.vstack([middle - np.stack([0 * t, half], 1), (middle + np.stack([rng.uniform(-.05, .05) + 0 * t, half], 1))[::-1]])


def letters(rng):
    """L, T, U and C: panels with a bay, as for arms and hinges."""
    w, d = rng.uniform(.25, .6), rng.uniform(.2, .7)
    kind = rng.integers(4)
    if kind == 0:
        c = [[-1, -1], [1, -1], [1, -1 + w], [-1 + w, -1 + w], [-1 + w, 1], [-1, 1]]
    elif kind == 1:
        c = [[-w, -1], [w, -1], [w, 1 - d], [1, 1 - d], [1, 1], [-1, 1], [-1, 1 - d], [-w, 1 - d]]
    elif kind == 2:
        c = [[-1, -1], [1, -1], [1, 1], [w, 1], [w * rng.uniform(.6, 1), 1 - 1.6 * d], [-w, 1 - 1.6 * d], [-w, 1], [-1, 1]]
    else:
        c = [[-1, -1], [-w, -1], [-w, -1 + d], [w, -1 + d], [w, -1], [1, -1], [1, 1], [-1, 1]]
    corners = np.array(c, float) * np.array([1, rng.uniform(.5, 1)]) + rng.normal(0, .03, (len(c), 2))
    return rounded(bowed(corners, rng, rng.choice([0, .03])), rng)


def oval(rng):
    t = np.linspace(0, 2 * np.pi, 160, endpoint=False)
    p = rng.uniform(1.6, 6)
    c, s = np.cos(t), np.sin(t)
    return np.stack([np.sign(c) * np.abs(c) ** (2 / p), np.sign(s) * np.abs(s) ** (2 / p) * rng.uniform(.35, 1)], 1)


def outline(rng, designs):
    family = rng.random()
    if family < .28:
        p = design(rng, designs)
    else:
        p = [polygon, quad, halves, blob, strip, strip, strip, letters, oval, quad, halves][rng.integers(11)](rng)
    middle = (p.max(0) + p.min(0)) / 2
    p = p - middle
    p = p / np.linalg.norm(p, axis=1).max()
    if len(p) > VERTICES:
        p = p[np.linspace(0, len(p), VERTICES, endpoint=False).astype(int)]
    return np.vstack([p, np.repeat(p[-1:], VERTICES - len(p), 0)]) if len(p) < VERTICES else p


def cuts(rng, p):
    """Up to five capsules to cut away: notches, slits and long slots at the outline, slots and round holes inside, from finger holes to windows that show
    the table. Each (ax, ay, bx, by, radius); radius < 0: none."""
    out = np.tile([9., 9., 9., 9., -1.], (5, 1))
    centre = p.mean(0)
    if rng.random() < .5:
        for k in range(rng.integers(1, 4)):
            at = p[rng.integers(len(p))]
            inward = (centre - at) / (np.linalg.norm(centre - at) + 1e-9)
            out[k] = [*at, *(at + inward * rng.uniform(.005, .05)), rng.choice([.002, .006, .014, .03])]
            if rng.random() < .25:  # a slot: as deep as a hand is wide
                turn = rng.normal(0, .4)
                inward = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ inward
                out[k] = [*at, *(at + inward * rng.uniform(.08, .7)), .008 * (.05 / .008) ** rng.uniform()]
    if rng.random() < .22:
        for k in range(3, 3 + rng.integers(1, 3)):
            a = centre + rng.normal(0, .2, 2)
            turn = rng.uniform(0, np.pi)
            out[k] = [*a, *(a + rng.uniform(0, .3) * np.array([np.cos(turn), np.sin(turn)])), .02 * (.35 / .02) ** rng.uniform()]
    return out


def capsule(x, y, c):
    """Signed distance of capsules c (n x 5), positive inside."""
    ax, ay, bx, by, r = (c[:, i, None, None] for i in range(5))
    dx, dy = bx - ax, by - ay
    t = (((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy + 1e-9)).clamp(0, 1)
    return r - torch.sqrt((x - ax - t * dx) ** 2 + (y - ay - t * dy) ** 2)


def distance_fields(points, holes, device):
    """points: n x VERTICES x 2, holes: n x 5 x 5 -> n x SIDE x SIDE, row 0 is y = -EXTENT."""
    line = (torch.arange(SIDE, device=device) + .5) / SIDE * 2 * EXTENT - EXTENT
    y, x = torch.meshgrid(line, line, indexing="ij")
    x, y = x[None], y[None]
    far = torch.full((len(points), SIDE, SIDE), 1e9, device=device)
    inside = torch.zeros(len(points), SIDE, SIDE, dtype=torch.bool, device=device)
    for i in range(VERTICES):
        a, b = points[:, i - 1], points[:, i]
        ax, ay, bx, by = (v[:, None, None] for v in (a[:, 0], a[:, 1], b[:, 0], b[:, 1]))
        dx, dy = bx - ax, by - ay
        t = (((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy + 1e-12)).clamp(0, 1)
        far = torch.minimum(far, (x - ax - t * dx) ** 2 + (y - ay - t * dy) ** 2)
        crosses = ((ay > y) != (by > y)) & (x < ax + (y - ay) * dx / (dy + (dy == 0) * 1e-9))
        inside ^= crosses
    field = torch.sqrt(far) * torch.where(inside, 1., -1.)
    for k in range(5):
        field = torch.minimum(field, -capsule(x, y, holes[:, k]))
    return field


def outline_bank(count, seed, device, chunk=64):
    """count x 1 x SIDE x SIDE in half precision."""
    rng = np.random.default_rng(seed)
    designs = json.loads((pathlib.Path(__file__).parent / "designs.json").read_text())["designs"]
    points = [outline(rng, designs) for _ in range(count)]
    holes = np.array([cuts(rng, p) for p in points], np.float32)
    points = np.array(points, np.float32)
    out = []
    for i in range(0, count, chunk):
        out.append(distance_fields(torch.from_numpy(points[i:i + chunk]).to(device), torch.from_numpy(holes[i:i + chunk]).to(device), device).half())
    return torch.cat(out)[:, None]
