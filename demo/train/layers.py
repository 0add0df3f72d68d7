# SPDX-License-Identifier: Apache-2.0
"""A scene laid layer by layer: table, sheets, tags, panels, things. Each layer paints its colour, throws its shadow on what lies below, and takes over the labels."""
import torch
import torch.nn.functional as F

import things
from scene import PANEL, PANELS, TABLE, THING, cover, over, turned

HAND = [k.__name__ for k in things.KINDS].index("hand")


class Layers:
    """What is painted so far, and the lamp. All maps B x H x W but the colour."""

    def __init__(self, colour, mmpp, dice):
        b, _, h, w = colour.shape
        self.colour, self.pixel, self.mmpp = colour, mmpp * .55, mmpp
        self.hidden = torch.zeros(b, h, w, device=colour.device)   # share of the lamp hidden by what lies about
        self.light = torch.ones(b, h, w, device=colour.device)     # of the room's light: contact shadows, folds, rims
        self.label = torch.full((b, h, w), TABLE, dtype=torch.long, device=colour.device)
        self.edge = torch.zeros(b, h, w, dtype=torch.bool, device=colour.device)
        self.sure = torch.ones(b, h, w, dtype=torch.bool, device=colour.device)
        one = (b, 1, 1)
        azimuth, self.slant = dice.uniform(0, 6.3, *one), dice.log_uniform(.15, 2.5, *one)
        self.lamp_x, self.lamp_y = torch.cos(azimuth), torch.sin(azimuth)
        view = dice.uniform(0, 6.3, *one)
        self.view_x, self.view_y, self.view_slant = torch.cos(view), torch.sin(view), dice.uniform(0, .6, *one)
        self.soft = dice.log_uniform(.08, 1.2, *one)   # half shadow, mm a mm of height
        self.corner = dice.uniform(0, .5, *one)        # how dark a contact shadow is

    def shade_below(self, field, cast_field, thickness):
        softness = torch.maximum(thickness * self.soft, self.pixel)
        self.hidden = torch.maximum(self.hidden, cover(cast_field, softness))
        near = torch.exp(field.clamp(max=0) / (.6 * thickness + .4 * self.mmpp))
        self.light = self.light * (1 - self.corner * near)

    def put(self, field, colour, label, softness=None):
        share = cover(field, self.pixel if softness is None else softness)
        self.colour = over(self.colour, colour, share)
        self.hidden, self.light = self.hidden * (1 - share), self.light + (1 - self.light) * share
        inside = field > 0
        self.label = torch.where(inside, label, self.label) if not isinstance(label, torch.Tensor) else torch.where(inside, label.expand_as(self.label), self.label)
        return share, inside


def gradient(field, mmpp):
    gx = F.pad(field[:, :, 2:] - field[:, :, :-2], (1, 1)) / (2 * mmpp)
    gy = F.pad(field[:, 2:] - field[:, :-2], (0, 0, 1, 1)) / (2 * mmpp)
    return gx, gy


def lay_panels(maker, layers, fields, materials, x, y, b, fray):
    d = maker.dice
    one = (b, 1, 1)
    thickness = torch.where(d.chance(.75, *one), d.uniform(.4, 2.0, *one), d.uniform(2, 9, *one))
    cast = maker.shifted(fields, -layers.lamp_x * layers.slant * thickness, -layers.lamp_y * layers.slant * thickness, x, y)
    core = maker.colour(b)[:, :, None, None]
    # folds, waves and old needle lines, the same pattern of light over all panels
    folds = maker.dice.slow_noise(b, 1, maker.h, maker.w, 9)[:, 0] * d.uniform(0, .12, *one) * d.chance(.5, *one)
    for _ in range(3):
        u, v = turned(x, y, d.normal(*one) * 150, d.normal(*one) * 120, d.uniform(0, 6.3, *one))
        wide, long = d.log_uniform(1.5, 25, *one), d.uniform(30, 250, *one)
        folds = folds + d.normal(*one) * .25 * d.chance(.3, *one) * (v / wide) * torch.exp(.5 - .5 * (v / wide) ** 2 - (u / long) ** 2)
    needle_at, needle = d.uniform(6, 18, *one), d.uniform(0, .5, *one) * d.chance(.25, *one)
    rim, edge_wide = d.normal(*one) * .25, d.uniform(.6, 2.2, *one) * layers.pixel
    for k in range(PANELS):
        f = fields[:, k]
        layers.shade_below(f, cast[:, k], thickness)
        gx, gy = gradient(f, layers.mmpp)
        towards = (-gx * layers.view_x - gy * layers.view_y).clamp(min=0)
        wall = thickness * layers.view_slant * towards
        layers.put(f + wall, core, layers.label)  # the cut side is no part of the upper face
        share, inside = layers.put(f, materials[min(k, 1)], PANEL)
        shine = rim * (gx * layers.lamp_x + gy * layers.lamp_y) * torch.exp(-(f / edge_wide) ** 2)
        row = needle * torch.exp(-((f - needle_at) / (.5 * layers.mmpp)) ** 2)
        layers.light = layers.light * (1 + share * (torch.exp(folds + shine - row) - 1))
        close = f.abs() < 1.5 * layers.mmpp
        layers.edge = torch.where(inside & ~close, torch.zeros_like(layers.edge), layers.edge) | close
        layers.sure = layers.sure & ~(f.abs() < .7 * fray)
    return thickness


def chalk(maker, layers, x, y, b):
    d, k = maker.dice, maker.kinds
    one = (b, 1, 1)
    on_panel = layers.label == PANEL
    for i in range(5):
        u, v = turned(x, y, d.normal(*one) * 130, d.normal(*one) * 110, d.uniform(0, 6.3, *one))
        long = d.uniform(6, 40, *one) if i < 3 else d.uniform(80, 500, *one)
        v = v + d.normal(*one) * 6e-3 * u * u * (.2 if i >= 3 else 1)
        stroke = cover(torch.minimum(d.uniform(.5, 1.6, *one) - v.abs(), long - u.abs()), layers.pixel)
        stroke = stroke * d.uniform(.15, .95, *one) * d.chance(k.chalk, *one) * (on_panel | d.chance(.12, *one))
        white = d.uniform(.6, .95, b, 1).expand(-1, 3)
        layers.colour = over(layers.colour, torch.where(d.chance(.5, b, 1), white, maker.colour(b))[:, :, None, None], stroke)


def lay_card(layers, field, ink, paper, label, lift):
    """A sheet or tag of reflectance `paper` (B x 3 x 1 x 1)."""
    layers.shade_below(field, field + lift, lift)
    colour = paper * (1 - ink[:, None] * .94)
    _, inside = layers.put(field, colour, label)
    layers.edge = layers.edge & ~inside


def lay_things(maker, layers, x, y, b, number=4):
    d, k, banks = maker.dice, maker.kinds, maker.banks
    one = (b, 1, 1)
    half_x, half_y = x.amax((1, 2), keepdim=True), y.amax((1, 2), keepdim=True)
    for _ in range(number):
        index = d.pick(len(banks.things), b)
        bank, half = banks.things[index].float(), banks.thing_halves[index][:, None, None]
        cx, cy = half_x * d.uniform(-1, 1, *one), half_y * d.uniform(-1, 1, *one)
        angle, size = d.uniform(0, 6.3, *one), d.uniform(.8, 1.25, *one)
        on = d.chance(k.thing, *one)

        def look(dx, dy):
            u, v = turned(x, y, cx + dx, cy + dy, angle)
            grid = torch.stack([u / (half * size), v / (half * size)], -1)
            return F.grid_sample(bank, grid, mode="bilinear", padding_mode="border", align_corners=False), torch.maximum(u.abs(), v.abs()) - half * size

        picture, beyond = look(0, 0)
        height = d.log_uniform(.5, 25, *one)
        shadow, shadow_beyond = look(-layers.lamp_x * layers.slant * height, -layers.lamp_y * layers.slant * height)
        gone = torch.full_like(x, -1e3)
        field = torch.where(on & (beyond < 0), picture[:, 0] * half * size, gone)
        cast = torch.where(on & (shadow_beyond < 0), shadow[:, 0] * half * size, gone)
        layers.shade_below(field, cast, height.clamp(max=6))
        colours = [maker.colour(b)[:, :, None, None] for _ in range(3)]
        metal = d.chance(.3, b, 1, 1, 1)
        colours[0] = torch.where(metal, d.uniform(.3, .75, b, 1, 1, 1).expand(-1, 3, -1, -1), colours[0])
        # hands: light to dark skin, blue green red
        skin = torch.tensor([.28, .38, .6], device=x.device).view(1, 3, 1, 1) * d.log_uniform(.12, 1.2, b, 1, 1, 1)
        hand = (banks.thing_kinds[index] == HAND)[:, None, None, None]
        colours[0] = torch.where(hand, skin, colours[0])
        colour = colours[0] * (1 - picture[:, 1:2]) + colours[1] * picture[:, 1:2]
        colour = colour * (1 - picture[:, 2:3]) + colours[2] * picture[:, 2:3]
        round_off = torch.exp(d.uniform(-.6, .6, *one) * torch.exp(-field.clamp(min=0) / d.log_uniform(1, 12, *one)))
        gx, gy = gradient(field.clamp(min=-20), layers.mmpp)
        lit = 1 + d.uniform(0, .4, *one) * (gx * layers.lamp_x + gy * layers.lamp_y).clamp(-1, 1)
        _, inside = layers.put(field, (colour * (round_off * lit)[:, None]).clamp(.004, .97), THING)
        layers.edge = layers.edge & ~inside
        layers.sure = layers.sure & ~((field.abs() < .5 * layers.mmpp) & on)
