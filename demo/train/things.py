# SPDX-License-Identifier: Apache-2.0
"""What lies about on a bench and is no panel: rules, scissors, chalk, thread, tape, cables, hands. Signed distances (mm, positive inside) on a square of a
size of its own, with where a second and a third colour lie."""
import math

import torch

SIDE = 320


class Sketch:
    def __init__(self, dice, half):
        self.dice, self.half = dice, half
        line = ((torch.arange(SIDE, device=dice.device) + .5) / SIDE * 2 - 1) * half
        self.y, self.x = torch.meshgrid(line, line, indexing="ij")
        self.field = torch.full_like(self.x, -1e3)
        self.first, self.second = torch.zeros_like(self.x), torch.zeros_like(self.x)

    def add(self, distance, paint=None):
        self.field = torch.maximum(self.field, distance)
        if paint is not None:
            mask = (distance + .5).clamp(0, 1)
            self.first, self.second = self.first * (1 - mask), self.second * (1 - mask)
            if paint == 1:
                self.first = torch.maximum(self.first, mask)
            if paint == 2:
                self.second = torch.maximum(self.second, mask)

    def box(self, cx, cy, hx, hy, turn=0.0, corner=0.0):
        c, s = math.cos(turn), math.sin(turn)
        u, v = (self.x - cx) * c + (self.y - cy) * s, -(self.x - cx) * s + (self.y - cy) * c
        du, dv = u.abs() - hx + corner, v.abs() - hy + corner
        return corner - torch.sqrt(du.clamp(min=0) ** 2 + dv.clamp(min=0) ** 2) - torch.maximum(du, dv).clamp(max=0), u, v

    def ring(self, cx, cy, radius, half_width, squash=1.0):
        r = torch.sqrt((self.x - cx) ** 2 + ((self.y - cy) / squash) ** 2)
        return half_width - (r - radius).abs()

    def path(self, points, width):
        """Capsules along points; width one number or one a point."""
        out = torch.full_like(self.x, -1e3)
        for i in range(len(points) - 1):
            (ax, ay), (bx, by) = points[i], points[i + 1]
            dx, dy = bx - ax, by - ay
            t = (((self.x - ax) * dx + (self.y - ay) * dy) / (dx * dx + dy * dy + 1e-6)).clamp(0, 1)
            w = width if isinstance(width, float) else width[i] + (width[i + 1] - width[i]) * t
            out = torch.maximum(out, w / 2 - torch.sqrt((self.x - ax - t * dx) ** 2 + (self.y - ay - t * dy) ** 2))
        return out


def rule(d):
    s = Sketch(d, 340)
    length, width = d.one(75, 320), d.one(6, 15)  # steel rules are 13 to 30 mm wide
    box, u, v = s.box(0, 0, length, width)
    s.add(box)
    step = (1, 5, 10)[int(d.one(0, 2.99))]
    ticks = ((u % step < .35 * step) & (v > width - d.one(4, 10)) & (box > 0)).float()
    s.first = ticks * d.one(.3, 1)
    return s


def scissors(d):
    s = Sketch(d, 150)
    opening, k = d.one(.02, .5), d.one(.7, 1.3)
    for side in (1, -1):
        a = opening / 2 * side
        tip = (115 * k * math.cos(a), 115 * k * math.sin(a))
        s.add(s.path([(0., 0.), (tip[0] * .5, tip[1] * .5), tip], [16. * k, 13. * k, 2.]), None)
        grip = (-70 * k * math.cos(a), -70 * k * math.sin(a) - 16 * side)
        s.add(s.path([(0., 0.), (-35 * k * math.cos(a), -35 * k * math.sin(a) - 4 * side), grip], [13. * k, 11. * k, 9. * k]), 1)
        s.add(s.ring(grip[0], grip[1], d.one(17, 24) * k, d.one(3.5, 6), d.one(.6, 1)), 1)
    return s


def stick(d):
    """Chalk, pencil, pen, knife: long and thin, perhaps of two colours."""
    s = Sketch(d, 110)
    length, width = d.one(20, 95), d.one(2.5, 8)
    box, u, _ = s.box(0, 0, length, width, corner=d.one(0, width))
    s.add(box)
    s.first = (u > length * d.one(-.5, 1.2)).float()
    s.second = (u < -length * d.one(.6, 1.5)).float()
    return s


def coil(d):
    s = Sketch(d, 60)
    radius = d.one(12, 35)
    for _ in range(int(d.one(4, 12))):
        s.add(s.ring(d.one(-4, 4), d.one(-4, 4), radius * d.one(.75, 1.1), d.one(.4, 1.2), d.one(.8, 1.1)), 1 if d.maybe(.3) else None)
    return s


def roll(d):
    """A roll of tape, a reel, a mug, a weight, a coin."""
    s = Sketch(d, 75)
    outer = d.one(9, 60)
    inner = outer * d.one(.2, .8) if d.maybe(.6) else 0
    r = torch.sqrt(s.x ** 2 + s.y ** 2)
    s.add(torch.minimum(outer - r, r - inner) if inner else outer - r)
    s.first = (r < outer * d.one(.4, .95)).float()
    s.second = ((r * d.one(.3, 1.2)) % 2 < 1).float() * (1 if d.maybe(.3) else 0)
    return s


def case(d):
    """A telephone, a box, a tape measure's case, a block of wax."""
    s = Sketch(d, 110)
    hx = d.one(12, 82)
    hy = min(hx, d.one(12, 42))
    box, u, v = s.box(0, 0, hx, hy, corner=d.one(1, 12))
    s.add(box)
    s.first = (box > d.one(2, 8)).float() * (1 if d.maybe(.6) else 0)
    s.second = ((torch.sqrt((u - d.one(-hx, hx)) ** 2 + (v - d.one(-hy, hy)) ** 2) < d.one(3, 14)) & (box > 0)).float()
    return s


def wander(d, steps, step, turn):
    x, y, a = d.one(-150, 150), d.one(-150, 150), d.one(0, 6.3)
    out, bend = [(x, y)], 0.0
    for _ in range(steps):
        bend = .7 * bend + d.one(-turn, turn)
        a += bend
        x, y = x + step * math.cos(a), y + step * math.sin(a)
        out.append((x, y))
    return out


def cable(d):
    s = Sketch(d, 420)
    s.add(s.path(wander(d, 22, 45, .35), float(d.one(2.5, 9))))
    return s


def tape(d):
    """A measuring tape that lies in bends, with its ticks."""
    s = Sketch(d, 420)
    width = d.one(9, 22)
    field = s.path(wander(d, 16, 45, .2), float(width))
    s.add(field)
    s.first = (((s.x + s.y) % 10 < 2.5) & (field > 0)).float() * d.one(0, 1)
    return s


def thread(d):
    s = Sketch(d, 160)
    s.add(s.path(wander(d, 18, 14, .6), float(d.one(.5, 2))))
    return s


def hand(d):
    """Fingers, palm and a forearm that comes from the frame."""
    s = Sketch(d, 420)
    k = d.one(.85, 1.15)
    s.add(s.path([(0., 0.), (-70. * k, d.one(-15, 15)), (-420., d.one(-80, 80))], [88. * k, 66. * k, 95. * k]))
    for i in range(4):
        base = (30. * k, (i - 1.5) * 21 * k)
        a, b = d.one(-.25, .25) + (i - 1.5) * .1, d.one(-.3, .3)
        mid = (base[0] + 42 * k * math.cos(a), base[1] + 42 * k * math.sin(a))
        tip = (mid[0] + d.one(10, 36) * k * math.cos(a + b), mid[1] + 30 * k * math.sin(a + b))
        s.add(s.path([base, mid, tip], [20. * k, 18. * k, 13. * k]))
    side = 1 if d.maybe(.5) else -1
    s.add(s.path([(-20., 36. * side), (25., 68. * side), (d.one(35, 70), 72. * side)], [34., 24., 17.]))
    if d.maybe(.6):
        s.first = (s.x < d.one(-180, -60)).float()  # a sleeve
    return s


def scrap(d):
    """Unprinted paper, card, a receipt, a bit of masking tape: paper that is no sheet."""
    s = Sketch(d, 110)
    hx = d.one(10, 75)
    box, u, v = s.box(0, 0, hx, min(hx, d.one(7, 55)))
    s.add(box)
    s.first = ((v % 7 < 2) & (u.abs() < hx * d.one(.2, .9)) & (box > 4)).float() * d.one(0, .8) * (1 if d.maybe(.5) else 0)
    return s


KINDS = (rule, rule, scissors, scissors, stick, stick, stick, coil, roll, case, cable, tape, thread, hand, scrap)


def thing_bank(count, dice):
    """count x 3 x SIDE x SIDE (distance over half side, two paints), half sides (mm), kind."""
    out = torch.empty(count, 3, SIDE, SIDE, dtype=torch.half, device=dice.device)
    halves, kinds = [], []
    for i in range(count):
        kinds.append(i % len(KINDS))
        s = KINDS[kinds[-1]](dice)
        out[i, 0], out[i, 1], out[i, 2] = (s.field / s.half).clamp(-2, 2), s.first, s.second
        halves.append(s.half)
    return out, torch.tensor(halves, device=dice.device, dtype=torch.float32), torch.tensor(kinds, device=dice.device)
