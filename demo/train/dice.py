# SPDX-License-Identifier: Apache-2.0
"""Random numbers from one named seed, on the device where the scenes are made, and smooth noise from them."""
import torch
import torch.nn.functional as F


class Dice:
    def __init__(self, seed, device):
        self.device = device
        self.generator = torch.Generator(device=device)
        self.generator.manual_seed(seed)

    def uniform(self, low, high, *shape):
        return low + (high - low) * torch.rand(*shape, device=self.device, generator=self.generator)

    def log_uniform(self, low, high, *shape):
        return low * (high / low) ** torch.rand(*shape, device=self.device, generator=self.generator)

    def normal(self, *shape):
        return torch.randn(*shape, device=self.device, generator=self.generator)

    def chance(self, share, *shape):
        return torch.rand(*shape, device=self.device, generator=self.generator) < share

    def pick(self, count, *shape):
        return torch.randint(0, count, shape, device=self.device, generator=self.generator)

    def one(self, low=0.0, high=1.0):
        """A single number on the host: only for banks that are made once, never in the loop (it waits for the device)."""
        return float(self.uniform(low, high, 1).item())

    def maybe(self, share):
        return self.one() < share

    def noise(self, height, width, grain_y, grain_x, channels=1):
        """channels x height x width smooth noise of standard deviation about 1; grains in px."""
        h, w = max(3, int(height / grain_y) + 3), max(3, int(width / grain_x) + 3)
        coarse = self.normal(1, channels, min(h, height), min(w, width))
        return F.interpolate(coarse, size=(height, width), mode="bicubic", align_corners=False)[0] * 1.2

    def slow_noise(self, batch, channels, height, width, cells):
        """batch x channels x height x width noise with so many cells across: light that varies over the table."""
        coarse = self.normal(batch, channels, cells, cells + cells // 3 + 1)
        return F.interpolate(coarse, size=(height, width), mode="bicubic", align_corners=False)
