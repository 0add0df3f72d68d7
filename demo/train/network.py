# SPDX-License-Identifier: Apache-2.0
"""The network as a list of nodes, each one of six kinds of layer, so that the same list runs in training, is written beside the weights, and can be run by
anybody who reads it:

  space_to_depth   2 x 2 px become channels: out[(dy * 2 + dx) * C + c, y, x] = in[c, 2 y + dy, 2 x + dx]
  append           one more channel that holds mm per px - 1.5 everywhere
  conv             size, stride, groups, zero padding on all sides of (size - stride + 1) / 2 rounded down, bias, perhaps ReLU after it
  add              of two maps
  nearest          every px twice in both directions
  bilinear         twice as large, px centres kept in place (align_corners false)

Height and width of the input are multiples of 64: what is missing is filled as unseen."""
import torch
import torch.nn as nn
import torch.nn.functional as F

import inputs

STEP = 64
OUTPUTS = ("table", "panel", "paper", "thing", "edge", "shadow")  # the first four share one softmax, the others have a sigmoid each


class Drawing:
    def __init__(self):
        self.nodes, self.width = [], {}

    def put(self, op, inputs, channels, **more):
        name = f"n{len(self.nodes)}"
        self.nodes.append({"op": op, "in": inputs, "out": name, "channels": channels, **more})
        self.width[name] = channels
        return name

    def conv(self, x, channels, size, stride=1, groups=1, relu=False, norm=True):
        return self.put("conv", [x], channels, size=size, stride=stride, groups=groups, relu=relu, norm=norm, from_channels=self.width[x])

    def block(self, x, size=3):
        """A depthwise filter, a mix of channels, and what came in added."""
        c = self.width[x]
        y = self.conv(x, c, size, groups=c, norm=False)
        y = self.conv(y, c, 1, relu=True)
        return self.put("add", [x, y], c)

    def down(self, x, channels):
        c = self.width[x]
        return self.conv(self.conv(x, c, 3, stride=2, groups=c, norm=False), channels, 1, relu=True)

    def up(self, x, beside):
        """A coarser map, its channels mixed, twice as large, added to the finer one."""
        c = self.width[beside]
        y = self.put("nearest", [self.conv(x, c, 1)], c)
        return self.put("add", [beside, y], c)


def graph():
    d = Drawing()
    d.width["input"] = inputs.CHANNELS
    x = d.put("space_to_depth", ["input"], 4 * inputs.CHANNELS)
    x = d.put("append", [x], 4 * inputs.CHANNELS + 1)
    half = d.block(d.conv(x, 16, 1, relu=True))
    quarter = d.block(d.conv(half, 32, 2, stride=2, relu=True))
    x = d.down(quarter, 64)
    eighth = d.block(d.block(x))
    x = d.down(eighth, 112)
    sixteenth = d.block(d.block(d.block(x)), 5)
    x = d.down(sixteenth, 160)
    deep = d.block(d.block(d.block(x, 5), 5), 5)
    x = d.block(d.block(d.down(deep, 160), 5), 5)
    x = d.block(d.up(x, deep), 3)
    x = d.block(d.up(x, sixteenth))
    x = d.block(d.up(x, eighth))
    x = d.block(d.up(x, quarter))
    x = d.block(d.up(x, half))
    x = d.conv(x, len(OUTPUTS), 1, norm=False)
    d.put("bilinear", [x], len(OUTPUTS))
    return d.nodes


def multiply_adds(nodes, height, width):
    """Multiply-adds of one pass."""
    total, size = 0, {"input": (height, width)}
    for n in nodes:
        h, w = size[n["in"][0]]
        if n["op"] == "space_to_depth":
            h, w = h // 2, w // 2
        if n["op"] in ("nearest", "bilinear"):
            h, w = 2 * h, 2 * w
        if n["op"] == "conv":
            h, w = h // n["stride"], w // n["stride"]
            total += h * w * n["channels"] * n["size"] ** 2 * n["from_channels"] // n["groups"]
        size[n["out"]] = (h, w)
    return total


class Eye(nn.Module):
    def __init__(self):
        super().__init__()
        self.nodes = graph()
        self.parts = nn.ModuleDict()
        for n in self.nodes:
            if n["op"] != "conv":
                continue
            conv = nn.Conv2d(n["from_channels"], n["channels"], n["size"], n["stride"], padding=(n["size"] - n["stride"] + 1) // 2, groups=n["groups"], bias=not n["norm"])
            self.parts[n["out"]] = nn.Sequential(conv, nn.BatchNorm2d(n["channels"])) if n["norm"] else nn.Sequential(conv)

    def forward(self, picture, scale):
        """picture: B x CHANNELS x H x W, scale: B -> logits B x 6 x H x W."""
        at = {"input": picture}
        for n in self.nodes:
            x = at[n["in"][0]]
            if n["op"] == "space_to_depth":
                b, c, h, w = x.shape
                y = x.view(b, c, h // 2, 2, w // 2, 2).permute(0, 3, 5, 1, 2, 4).reshape(b, 4 * c, h // 2, w // 2)
            elif n["op"] == "append":
                y = torch.cat([x, scale.view(-1, 1, 1, 1).expand(-1, 1, *x.shape[2:]).to(x.dtype)], 1)
            elif n["op"] == "conv":
                y = self.parts[n["out"]](x)
                y = F.relu(y) if n["relu"] else y
            elif n["op"] == "add":
                y = x + at[n["in"][1]]
            elif n["op"] == "nearest":
                y = F.interpolate(x, scale_factor=2, mode="nearest")
            else:
                y = F.interpolate(x.float(), scale_factor=2, mode="bilinear", align_corners=False)
            at[n["out"]] = y
        return y
