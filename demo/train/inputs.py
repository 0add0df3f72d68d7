# SPDX-License-Identifier: Apache-2.0
"""What the network is given, from the table picture's codes and from what is known of the sheets. The same in training and in use.

Channels, B x 6 x H x W:
  0..2  blue, green, red: curve(linear / white) - 0.5, where linear is the code by the sRGB curve, white the sheets' own (see white_of), and
        curve(r) = log(1 + r / 0.02) / log(51), r clipped to 0..2: near a logarithm, so that a shadow's ratio is nearly a difference; 0.5 where unseen -> 0
  3     1 where a sheet or a tag's card is known to lie, else 0
  4     ink that its print should show there, 0 white .. 1 black; 0 outside
  5     1 where the photo shows nothing
and one number a picture: mm per px - 1.5."""
import math

import torch

KNEE = .02
CHANNELS = 6


def linear_of(code):
    return torch.where(code <= .04045, code / 12.92, ((code + .055) / 1.055) ** 2.4)


def white_of(linear, known, ink, unseen):
    """B x 3 x 1 x 1: mean over the sheets' unprinted paper, then over what of it is brighter than that mean: what lies over a sheet and shadows drop out."""
    weight = ((known > .5) & (ink < .05) & (unseen < .5)).float()[:, None]
    bright = linear.mean(1, keepdim=True)
    for _ in range(2):
        mean = (bright * weight).sum((2, 3), keepdim=True) / weight.sum((2, 3), keepdim=True).clamp(min=1)
        weight = weight * (bright >= mean)
    count = weight.sum((2, 3), keepdim=True)
    white = (linear * weight).sum((2, 3), keepdim=True) / count.clamp(min=1)
    return torch.where(count > 20, white, torch.full_like(white, .7)).clamp(min=.02)


def curve(ratio):
    return torch.log1p(ratio.clamp(0, 2) / KNEE) / math.log(1 + 1 / KNEE)


def encoded(code, known, ink, unseen):
    linear = linear_of(code)
    colour = (curve(linear / white_of(linear, known, ink, unseen)) - .5) * (unseen < .5).float()[:, None]
    return torch.cat([colour, known[:, None], (ink * known)[:, None], unseen[:, None]], 1)
