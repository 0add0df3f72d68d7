# SPDX-License-Identifier: Apache-2.0
"""Reads a network as export.py writes it and runs it in numpy alone: slow, and short enough to be the reference for any other way of running it."""
import json
import pathlib

import numpy as np


def read(path):
    """Header and weights of NAME.json."""
    path = pathlib.Path(path)
    header = json.loads(path.read_text())
    return header, np.fromfile(path.parent / header["weights"], "<f4")


def conv(x, node, numbers):
    size, stride, groups, c = node["size"], node["stride"], node["groups"], node["channels"]
    inner = node["from_channels"] // groups
    w = numbers[node["weights_at"]:node["weights_at"] + c * inner * size * size].reshape(groups, c // groups, inner, size, size)
    bias = numbers[node["biases_at"]:node["biases_at"] + c]
    pad = (size - stride + 1) // 2
    x = np.pad(x, ((0, 0), (pad, pad), (pad, pad)))
    h, wide = (x.shape[1] - size) // stride + 1, (x.shape[2] - size) // stride + 1
    x = x.reshape(groups, inner, *x.shape[1:])
    out = np.zeros((groups, c // groups, h, wide), np.float32)
    for dy in range(size):
        for dx in range(size):
            part = x[:, :, dy:dy + stride * (h - 1) + 1:stride, dx:dx + stride * (wide - 1) + 1:stride]
            out += np.einsum("goi,gihw->gohw", w[..., dy, dx], part, optimize=True)
    out = out.reshape(c, h, wide) + bias[:, None, None]
    return np.maximum(out, 0) if node["relu"] else out


def twice_as_large(x):
    """Bilinear, px centres kept: each new px lies a quarter of a px from an old one; beyond the rim the rim."""
    for axis in (1, 2):
        before = np.concatenate([np.take(x, [0], axis), np.take(x, range(x.shape[axis] - 1), axis)], axis)
        after = np.concatenate([np.take(x, range(1, x.shape[axis]), axis), np.take(x, [-1], axis)], axis)
        pair = np.stack([.75 * x + .25 * before, .75 * x + .25 * after], axis + 1)
        shape = list(x.shape)
        shape[axis] *= 2
        x = pair.reshape(shape)
    return x


def run(header, numbers, x, mm_per_px):
    """x: [6][H][W] as inputs.py says, H and W multiples of header's step -> probabilities [6][H][W] in the order of header's outputs."""
    at = {"input": np.asarray(x, np.float32)}
    for n in header["nodes"]:
        v = at[n["in"][0]]
        if n["op"] == "space_to_depth":
            c, h, w = v.shape
            v = v.reshape(c, h // 2, 2, w // 2, 2).transpose(2, 4, 0, 1, 3).reshape(4 * c, h // 2, w // 2)
        elif n["op"] == "append":
            v = np.concatenate([v, np.full((1, *v.shape[1:]), mm_per_px - 1.5, np.float32)])
        elif n["op"] == "conv":
            v = conv(v, n, numbers)
        elif n["op"] == "add":
            v = v + at[n["in"][1]]
        elif n["op"] == "nearest":
            v = v.repeat(2, 1).repeat(2, 2)
        elif n["op"] == "bilinear":
            v = twice_as_large(v)
        else:
            raise ValueError(f"unknown layer {n['op']}")
        at[n["out"]] = v
    what = np.exp(v[:4] - v[:4].max(0))
    return np.concatenate([what / what.sum(0), 1 / (1 + np.exp(-v[4:]))])
