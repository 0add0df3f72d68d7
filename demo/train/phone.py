# SPDX-License-Identifier: Apache-2.0
"""What lens, sensor and phone do to the light, at the table picture's own scale: blur, noise, denoising, local tone mapping, curves, halos, coding."""
import math

import torch
import torch.nn.functional as F


def blurred(picture, sigma):
    """Gaussian blur with a sigma (px) per picture: B x 1 x 1."""
    b, c, h, w = picture.shape
    at = torch.arange(-4, 5, device=picture.device).float()
    kernel = torch.exp(-at ** 2 / (2 * sigma.view(-1, 1) ** 2 + 1e-6))
    kernel = (kernel / kernel.sum(1, keepdim=True)).repeat_interleave(c, 0)
    flat = F.pad(picture, (4, 4, 4, 4), mode="replicate").reshape(1, b * c, h + 8, w + 8)
    flat = F.conv2d(flat, kernel.view(b * c, 1, 1, 9), groups=b * c)
    return F.conv2d(flat, kernel.view(b * c, 1, 9, 1), groups=b * c).view(b, c, h, w)


def dct_matrix(device):
    k = torch.arange(8, device=device).float()
    m = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) * .5
    m[0] /= math.sqrt(2)
    return m


def coded(picture, step):
    """Blocks of 8 x 8 px with rounded DCT coefficients; step: B x 1 x 1 x 1, in codes of 0..1, growing with frequency."""
    b, c, h, w = picture.shape
    m = dct_matrix(picture.device)
    blocks = picture.view(b, c, h // 8, 8, w // 8, 8).permute(0, 1, 2, 4, 3, 5)
    k = torch.arange(8, device=picture.device).float()
    quant = step[..., None, None] * (1 + .55 * (k[:, None] + k[None]))
    coefficients = torch.round(m @ blocks @ m.T / quant) * quant
    return (m.T @ coefficients @ m).permute(0, 1, 2, 4, 3, 5).reshape(b, c, h, w)


def photographed(linear, dice):
    """Light (paper in full light near 1) to codes 0..1, as the program reads them."""
    b = len(linear)
    one = (b, 1, 1, 1)
    out = blurred(linear, dice.log_uniform(.2, 1.1, b, 1, 1))
    # towards the far side of a tilted photo the table is seen foreshortened, so blurred along one direction more than along the other
    far = torch.sigmoid(dice.slow_noise(b, 1, *linear.shape[2:], 2) * 3)
    lying = F.avg_pool2d(F.pad(out, (1, 1, 3, 3), mode="replicate"), (7, 3), 1)
    standing = F.avg_pool2d(F.pad(out, (3, 3, 1, 1), mode="replicate"), (3, 7), 1)
    out = out + far * dice.uniform(0, 1, *one) * dice.chance(.5, *one) * (torch.where(dice.chance(.7, *one), lying, standing) - out)
    out = out * dice.log_uniform(.45, 1.1, *one)
    noise = dice.normal(*out.shape) * torch.sqrt(out.clamp(min=0) * dice.uniform(0, 1.2e-3, *one) + dice.uniform(0, 6e-3, *one) ** 2)
    grain = F.avg_pool2d(F.pad(noise, (1, 1, 1, 1), mode="replicate"), 3, 1) * 2
    out = out + torch.where(dice.chance(.4, *one), grain, noise)
    gamma = torch.where(dice.chance(.5, *one), torch.full(one, 2.2, device=out.device), dice.uniform(1.8, 2.6, *one))
    code = out.clamp(1e-5, 1) ** (1 / gamma)
    grey = code.mean(1, keepdim=True)
    colour = code - grey
    smooth = F.avg_pool2d(F.pad(colour, (2, 2, 2, 2), mode="replicate"), 5, 1)
    code = code + (smooth - colour) * dice.uniform(0, 1, *one) * dice.chance(.5, *one)  # colour is denoised harder than brightness
    base = F.interpolate(F.avg_pool2d(code.mean(1, keepdim=True), 32), size=code.shape[2:], mode="bicubic", align_corners=False).clamp(.02, 1)
    local = dice.uniform(0, .45, *one) * dice.chance(.6, *one)
    code = code * ((.46 + (base - .46) * (1 - local)) / base).clamp(.5, 2.2)
    code = code + dice.uniform(0, .5, *one) * dice.chance(.6, *one) * code * (1 - code) * (2 * code - 1)
    grey = code.mean(1, keepdim=True)
    halo = (dice.uniform(0, .9, *one) * (grey - blurred(grey, dice.uniform(.7, 1.6, b, 1, 1)))).clamp(-.09, .09)
    code = (code + halo).clamp(0, 1)
    code = torch.where(dice.chance(.35, *one), coded(code, dice.log_uniform(.002, .04, *one)), code)
    return (code.clamp(0, 1) * 255).round() / 255
