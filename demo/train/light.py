# SPDX-License-Identifier: Apache-2.0
"""The light on a laid scene: shadows thrown in from outside, with one ratio on everything they fall on, falloff, glare, colour."""
import torch
import torch.nn.functional as F

from scene import cover, turned

SEEN_SHADOW = .15  # share of the light lost from which on a shadow counts as one


def outside_shadows(maker, x, y, b):
    """Share of the lamp hidden by what stands beside the table: half planes, bars, shapes; hard and soft."""
    d, k = maker.dice, maker.kinds
    one = (b, 1, 1)
    hidden = torch.zeros_like(x)
    half = x.amax((1, 2), keepdim=True)
    for i in range(3):
        u, v = turned(x, y, half * d.normal(*one) * .5, half * d.normal(*one) * .4, d.uniform(0, 6.3, *one))
        if i == 0:
            field = u + d.normal(*one) * 20 * torch.sin(v / d.uniform(40, 300, *one)) * d.chance(.3, *one)
        elif i == 1:
            field = torch.minimum(d.log_uniform(6, 250, *one) - u.abs(), v + half * d.chance(.6, *one) * 4)
        else:
            field = maker.outline(d.pick(len(maker.banks.outlines), b), half * d.normal(*one) * .5, half * d.normal(*one) * .4, d.uniform(0, 6.3, *one),
                                  d.log_uniform(60, 700, *one), torch.ones_like(half), x, y)
        softness = d.log_uniform(.8, 70, *one)
        hidden = torch.maximum(hidden, cover(field, softness) * d.chance(k.hard_shadow, *one))
    return hidden


def lit(maker, layers, x, y, b):
    """Light that leaves the table (B x 3 x H x W), and where it lies in shadow: label and whether that is sure."""
    d = maker.dice
    one = (b, 1, 1)
    hidden = 1 - (1 - layers.hidden) * (1 - outside_shadows(maker, x, y, b))
    depth, half = d.uniform(.15, .8, *one), x.amax((1, 2), keepdim=True)
    tint = 1 + d.normal(b, 3, 1, 1) * .07
    lost = depth * hidden
    factor = (1 - lost[:, None] * tint).clamp(.05, 1)
    fall = torch.exp(d.slow_noise(b, 1, maker.h, maker.w, 4) * d.uniform(0, .22, b, 1, 1, 1) + (x * d.normal(*one) + y * d.normal(*one))[:, None] * 3e-4)
    # a lamp near the table: its light falls with the squared distance
    height = d.log_uniform(500, 3000, *one)
    near = 1 + ((x - half * d.normal(*one)) ** 2 + (y - half * d.normal(*one)) ** 2) / height ** 2
    fall = fall * torch.where(d.chance(.4, *one), near ** -1.5, torch.ones_like(near))[:, None]
    out = layers.colour * factor * layers.light[:, None] * fall
    # glare: a soft bright patch, broken by the surface's own relief
    u, v = turned(x, y, d.normal(*one) * 250, d.normal(*one) * 200, d.uniform(0, 6.3, *one))
    patch = torch.exp(-(u / d.log_uniform(25, 250, *one)) ** 2 - (v / d.log_uniform(25, 250, *one)) ** 2) * d.uniform(0, .35, *one) * d.chance(.2, *one)
    out = out + (patch * (1 - hidden))[:, None] * (.6 + .8 * layers.colour.mean(1, keepdim=True) / (layers.colour.mean((1, 2, 3), keepdim=True) + .02)).clamp(0, 2)
    out = out * torch.exp(d.normal(b, 3, 1, 1) * .15)
    seen = lost > SEEN_SHADOW
    sure = ((lost - SEEN_SHADOW).abs() > .05) | (depth < SEEN_SHADOW)
    return out, seen & (hidden > .3), sure
