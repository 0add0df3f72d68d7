# SPDX-License-Identifier: Apache-2.0
"""Materials and table tops as structure without colour: how much lighter or darker (relief, natural logarithm) and where a second and a third colour lie.
A scene turns, scales and dyes them, so that a few hundred give any number of surfaces. All procedural; no photographs."""
import math

import torch

SIDE = 704      # px
MM_PER_PX = 1.4


def axes(device):
    line = torch.arange(SIDE, device=device).float() * MM_PER_PX
    return torch.meshgrid(line, line, indexing="ij")


def octaves(dice, coarse, fine, stretch=1.0, falloff=.6):
    """Noise of several grains (mm), each half the one before; stretched along x."""
    out, grain, weight, total = 0, coarse, 1.0, 0.0
    while grain >= fine:
        out = out + weight * dice.noise(SIDE, SIDE, max(1, grain / MM_PER_PX), max(1, grain * stretch / MM_PER_PX))[0]
        total += weight ** 2
        grain, weight = grain / 2, weight * falloff
    return out / math.sqrt(max(total, 1e-9))


def grain_noise(dice):
    return dice.normal(SIDE, SIDE)


def stripes(dice, coordinate):
    """Two masks of a random sequence of stripes along a coordinate (mm)."""
    period = dice.one(6, 120) if dice.maybe(.8) else dice.one(120, 300)
    phase = (coordinate / period) % 1
    first, second = torch.zeros_like(phase), torch.zeros_like(phase)
    for k in range(1 + int(dice.one(0, 4))):
        at, wide = dice.one(), dice.one(.03, .45)
        edge = ((wide / 2 - ((phase - at + .5) % 1 - .5).abs()) * period / 1.0).clamp(-.5, .5) + .5
        if dice.maybe(.6):
            first = torch.maximum(first, edge * dice.one(.4, 1))
        else:
            second = torch.maximum(second, edge * dice.one(.4, 1))
    return first, second


def weave(dice, y, x):
    pitch = dice.one(.8, 5)
    slub = .5 * octaves(dice, 4, 1.4, stretch=dice.one(4, 20)) + .5 * octaves(dice, 4, 1.4, stretch=dice.one(4, 20)).T
    ripple = torch.sin(2 * math.pi * x / (2 * pitch)) * torch.sin(2 * math.pi * y / (2 * pitch))
    return slub * dice.one(.02, .12) + ripple * (dice.one(0, .12) if pitch > 2 else 0)


def plain(dice, y, x, z):
    return octaves(dice, dice.one(40, 250), dice.one(1.5, 30)) * dice.one(0, .08), z, z


def leather(dice, y, x, z):
    size = dice.one(1.5, 9)
    pebble = dice.noise(SIDE, SIDE, max(1, size / MM_PER_PX), max(1, size / MM_PER_PX))[0].abs() - .6
    return pebble * dice.one(.03, .2) + octaves(dice, dice.one(40, 160), 8) * dice.one(.02, .2), z, z


def wood(dice, y, x, z):
    flow = octaves(dice, dice.one(20, 80), 12, stretch=dice.one(4, 14))
    rings = torch.sin(2 * math.pi * (y / dice.one(6, 45) + dice.one(.5, 4) * flow))
    fibre = octaves(dice, 3, 1.4, stretch=dice.one(10, 40))
    strong = dice.one(.3, 1.3)
    relief = strong * (dice.one(0, .28) * rings + dice.one(0, .2) * flow + dice.one(.02, .18) * fibre)
    dark = (octaves(dice, dice.one(5, 20), 3, stretch=dice.one(8, 30)) - dice.one(.3, 1.4)).clamp(0, 1) * dice.one(0, 1)
    if dice.maybe(.6):
        plank = dice.one(50, 220)
        row = torch.floor(y / plank).long()
        relief = relief + (dice.normal(64)[row.clamp(0, 63)] * dice.one(0, .25))
        joint = ((y / plank) % 1 < dice.one(.8, 3) / plank).float()
        relief = relief - joint * dice.one(.1, 1.2)
        if dice.maybe(.5):  # end joints
            shift = dice.uniform(0, 900, 64)[row.clamp(0, 63)]
            relief = relief - (((x + shift) / 900) % 1 < 1.5 / 900).float() * dice.one(.1, 1)
    if dice.maybe(.35):
        relief = relief + octaves(dice, dice.one(80, 300), 10) * dice.one(.05, .35)
    return relief, dark, z


def stone(dice, y, x, z):
    warp = octaves(dice, dice.one(100, 300), 10)
    vein = 1 - torch.sin(2 * math.pi * (x / dice.one(90, 500) + y / dice.one(150, 800) + dice.one(.4, 1.6) * warp)).abs()
    veins = vein ** dice.one(3, 14) * dice.one(0, 1)
    speck = (octaves(dice, dice.one(2, 9), 1.5) - dice.one(.4, 2)).clamp(0, 1) * (dice.one(0, 1) if dice.maybe(.6) else 0)
    return octaves(dice, dice.one(60, 300), 3) * dice.one(.02, .3), veins, speck


def cloth(dice, y, x, z):
    return weave(dice, y, x) + octaves(dice, dice.one(60, 300), 30) * dice.one(0, .1), z, z


def ribbed(dice, y, x, z):
    rib = dice.one(3, 14)
    wander = dice.one(0, .5) * octaves(dice, 60, 30)
    return torch.cos(2 * math.pi * (x / rib + wander)) * dice.one(.05, .3) + octaves(dice, 120, 20) * .08, z, z


def striped(dice, y, x, z):
    first, second = stripes(dice, x)
    return weave(dice, y, x), first, second


def plaid(dice, y, x, z):
    a1, a2 = stripes(dice, x)
    b1, b2 = stripes(dice, y) if dice.maybe(.3) else (a1.T, a2.T)
    k = dice.one(.3, .7)
    return weave(dice, y, x), k * a1 + (1 - k) * b1, k * a2 + (1 - k) * b2


def checks(dice, y, x, z):
    """Hard squares: a table cloth or tiles that look like a sheet's board and are none."""
    p = dice.one(8, 60)
    q = p if dice.maybe(.7) else dice.one(8, 60)
    odd = ((torch.floor(x / p) + torch.floor(y / q)) % 2)
    inner = ((((x / p) % 1 - .5).abs() < .3) & (((y / q) % 1 - .5).abs() < .3)).float() * (1 - odd) * (1 if dice.maybe(.3) else 0)
    return weave(dice, y, x) * .6, odd, inner


def printed(dice, y, x, z):
    size = dice.one(8, 70)
    first = ((octaves(dice, size, size / 4) - dice.one(.2, 1.2)) * 6).clamp(0, 1)
    if dice.maybe(.4):  # dots
        p = dice.one(8, 50)
        r = torch.sqrt((((x / p) % 1) - .5) ** 2 + (((y / p) % 1) - .5) ** 2) * p
        first = ((dice.one(.15, .42) * p - r) + .5).clamp(0, 1)
    second = ((octaves(dice, size * dice.one(.4, 1), size / 5) - dice.one(.8, 1.6)) * 6).clamp(0, 1)
    return weave(dice, y, x) * .7, first, second


def carpet(dice, y, x, z):
    tuft = octaves(dice, dice.one(3, 12), 1.5) * dice.one(.08, .4)
    mottled = ((octaves(dice, dice.one(4, 25), 2) - dice.one(0, 1)) * 3).clamp(0, 1) * (1 if dice.maybe(.5) else 0)
    return tuft + octaves(dice, 200, 30) * .06, mottled, z


def board(dice, y, x, z):
    """Chipboard, cork, or a cutting mat with its grid."""
    if dice.maybe(.6):
        step = (10, 25.4, 50)[int(dice.one(0, 2.99))]
        wide = dice.one(.5, 1.6)
        lines = ((x % step < wide) | (y % step < wide)).float() * dice.one(.2, 1)
        heavy = ((x % (5 * step) < 1.6 * wide) | (y % (5 * step) < 1.6 * wide)).float() * dice.one(.2, 1)
        if dice.maybe(.3):
            lines = torch.maximum(lines, (((x + y) % (5 * step)) < wide).float() * .6)
        return octaves(dice, 100, 20) * .03, torch.maximum(lines * .7, heavy), z
    chips = ((octaves(dice, dice.one(4, 20), 3, stretch=dice.one(1, 4)) - dice.one(-.3, .8)) * 4).clamp(0, 1)
    more = ((octaves(dice, dice.one(4, 20), 3) - dice.one(.3, 1.2)) * 4).clamp(0, 1)
    return grain_noise(dice) * dice.one(0, .08), chips * dice.one(.2, 1), more * dice.one(0, 1)


def tiles(dice, y, x, z):
    p, q = dice.one(40, 300), dice.one(40, 300)
    wide = dice.one(1.5, 8)
    grout = ((x % p < wide) | (y % q < wide)).float()
    tone = dice.normal(32, 32)[(y / q).long().clamp(0, 31), (x / p).long().clamp(0, 31)] * dice.one(0, .15)
    return tone + octaves(dice, 100, 4) * dice.one(0, .12), grout, z


def quilted(dice, y, x, z):
    p = dice.one(20, 90)
    u, v = (x + y) / p, (x - y) / p * (1 if dice.maybe(.5) else 0)
    swell = torch.cos(2 * math.pi * u) + torch.cos(2 * math.pi * v)
    return -((1 - torch.cos(2 * math.pi * u)) ** 4 / 16 + (1 - torch.cos(2 * math.pi * v)) ** 4 / 16) * dice.one(.02, .25) * .5 + swell * dice.one(0, .06) + weave(dice, y, x) * .5, z, z


def foil(dice, y, x, z):
    crease = octaves(dice, dice.one(10, 80), 2)
    return crease.abs() * dice.one(.1, .7) - .2, (crease - dice.one(.8, 2)).clamp(0, 1), z


KINDS = (plain, plain, leather, leather, wood, wood, wood, stone, cloth, cloth, ribbed, striped, plaid, plaid, checks, printed, carpet, board, tiles, quilted, foil)
NAMES = [k.__name__ for k in KINDS]


def texture_bank(count, dice):
    """count x 3 x SIDE x SIDE in half precision (relief, second colour, third colour), and which of KINDS each is."""
    y, x = axes(dice.device)
    zero = torch.zeros_like(x)
    out = torch.empty(count, 3, SIDE, SIDE, dtype=torch.half, device=dice.device)
    kinds = []
    for i in range(count):
        kinds.append(i % len(KINDS))
        relief, first, second = KINDS[kinds[-1]](dice, y, x, zero)
        if dice.maybe(.3):
            relief = relief + grain_noise(dice) * dice.one(0, .1)
        out[i, 0], out[i, 1], out[i, 2] = relief.clamp(-2.5, 1.5), first, second
    return out, torch.tensor(kinds, device=dice.device)
