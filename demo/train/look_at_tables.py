# SPDX-License-Identifier: Apache-2.0
"""Runs networks on pictures made by table_with_truth.py and tells, picture by picture, how well each panel is found, beside the program's coarse stage.

look_at_tables.py TABLES OUT STATE.pt [STATE.pt ...]   several: the mean of their probabilities; writes OUT/looked.json and pictures"""
import json
import pathlib
import sys

import cv2
import numpy as np
import torch
import torch.nn.functional as F

import candidates
import inputs
import network

COLOURS = np.array([[60, 60, 60], [0, 0, 255], [255, 255, 255], [0, 255, 0]], np.float32)


def loaded(path, device):
    eye = network.Eye().to(device).eval()
    eye.load_state_dict(torch.load(path, map_location=device)["mean"])
    return eye


def prepared(z, device):
    t = lambda name: torch.from_numpy(z[name].astype(np.float32)).to(device)
    code, known, ink, unseen = t("code").permute(2, 0, 1)[None] / 255, t("known")[None], t("ink")[None] / 255, t("unseen")[None]
    x = inputs.encoded(code, known, ink, unseen)
    h, w = x.shape[2:]
    x = F.pad(x, (0, -w % network.STEP, 0, -h % network.STEP))
    x[:, 5, h:], x[:, 5, :, w:] = 1, 1
    return x, torch.tensor([float(z["mm_per_px"]) - 1.5], device=device), h, w


@torch.no_grad()
def probabilities(eyes, z, device):
    """6 x H x W: table, panel, paper, thing, edge, shadow."""
    x, scale, h, w = prepared(z, device)
    total = 0
    for eye in eyes:
        logits = eye(x, scale)[0, :, :h, :w]
        total = total + torch.cat([logits[:4].softmax(0), logits[4:].sigmoid()])
    return (total / len(eyes)).cpu().numpy()


def main():
    tables, out = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    device = "cuda" if torch.cuda.is_available() else "cpu"
    eyes = [loaded(p, device) for p in sys.argv[3:]]
    rows, tiles = {}, []
    for path in sorted(tables.glob("*.npz")):
        z = dict(np.load(path))
        p = probabilities(eyes, z, device)
        found = candidates.candidates(p[:4], p[4], z["unseen"] == 0, float(z["mm_per_px"]))
        true = [z["truth"] == k for k in range(1, int(z["truth"].max()) + 1)]
        best, extra = candidates.matched([c for c, _ in found], true)
        count, parts = cv2.connectedComponents((z["today"] > 0).astype(np.uint8), connectivity=4)
        today, today_extra = candidates.matched([parts == i for i in range(1, count)], true)
        rows[path.stem] = {"iou": [round(float(v), 4) for v in best], "extra": extra, "today": [round(float(v), 4) for v in today], "today_extra": today_extra}
        print(path.stem, rows[path.stem], flush=True)
        p = p * (z["unseen"] == 0)
        maps = np.einsum("chw,ck->hwk", p[:4], COLOURS)
        second = np.stack([p[4] * 255, p[5] * 255, np.zeros_like(p[4])], -1)
        picture = z["code"].copy()
        for c, _ in found:
            cv2.drawContours(picture, cv2.findContours(c, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)[0], -1, (0, 0, 255), 2)
        tile = np.concatenate([picture, maps.astype(np.uint8), second.astype(np.uint8)], 1)
        tile = cv2.resize(tile, (1110, 260), interpolation=cv2.INTER_AREA)
        cv2.putText(tile, path.stem, (4, 22), cv2.FONT_HERSHEY_SIMPLEX, .7, (0, 255, 255), 2)
        tiles.append(tile)
    out.mkdir(parents=True, exist_ok=True)
    (out / "looked.json").write_text(json.dumps(rows, indent=1))
    for i in range(0, len(tiles), 10):
        cv2.imwrite(str(out / f"looked{i // 10}.png"), np.concatenate(tiles[i:i + 10], 0))


if __name__ == "__main__":
    main()
