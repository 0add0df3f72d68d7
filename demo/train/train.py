# SPDX-License-Identifier: Apache-2.0
"""Trains the network on made-up tables, all on one GPU: train.py --seed 11 --seconds 500 --out DIR [--resume DIR/state-11.pt]

Writes state-SEED.pt (weights, their running mean, where it stood) and log-SEED.json. A run that is resumed draws other scenes than the first part did."""
import argparse
import json
import math
import pathlib
import time

import torch

import batch as batches
import loss
import network
import scene

CHOOSING_SEED = 700001  # scenes that rates and stopping were looked at on; reporting has its own (report.py)


MIRRORS = ((-1,), (-2,), (-1, -2))


def flipped(b, dims):
    out = batches.Batch()
    shift = lambda t: t.flip([d + t.dim() for d in dims])
    out.x, out.scale = shift(b.x), b.scale
    for name in ("label", "edge", "shadow", "sure", "shadow_sure"):
        setattr(out, name, shift(getattr(b, name)))
    return out


@torch.no_grad()
def judged(model, maker, rounds, size):
    """Mean losses and the panel's intersection over union on scenes of the maker."""
    model.eval()
    parts, both, either = [], 0, 0
    for _ in range(rounds):
        b = batches.make(maker, size)
        with torch.autocast("cuda", torch.bfloat16):
            logits = model(b.x, b.scale)
        parts.append(torch.stack(loss.total(logits.float(), b)[1]))
        found = (logits[:, :4].argmax(1) == scene.PANEL) & b.sure
        true = (b.label == scene.PANEL) & b.sure
        both, either = both + (found & true).sum(), either + (found | true).sum()
    model.train()
    what, edge, shadow = torch.stack(parts).mean(0).tolist()
    return {"what": what, "edge": edge, "shadow": shadow, "panel_iou": (both / either).item()}


def main():
    a = argparse.ArgumentParser()
    a.add_argument("--seed", type=int, required=True)
    a.add_argument("--seconds", type=float, required=True)
    a.add_argument("--out", required=True)
    a.add_argument("--resume")
    a.add_argument("--size", type=int, default=32)
    a.add_argument("--height", type=int, default=448)
    a.add_argument("--width", type=int, default=640)
    a.add_argument("--rate", type=float, default=3e-3)
    a.add_argument("--part", type=float, nargs=2, default=(0, 1), help="which stretch of the schedule this run is, for training in several runs")
    o = a.parse_args()
    out = pathlib.Path(o.out)
    start = time.time()
    torch.manual_seed(o.seed)
    torch.backends.cudnn.benchmark = True
    stage = int(1000 * o.part[0])
    banks = scene.Banks(o.seed * 7919 + stage, "cuda")
    maker = scene.Maker(o.seed * 104729 + stage, "cuda", banks, o.height, o.width)
    model = network.Eye().cuda().to(memory_format=torch.channels_last).train()
    mean = network.Eye().cuda().to(memory_format=torch.channels_last).eval()
    mean.load_state_dict(model.state_dict())
    state = {"steps": 0, "scenes": 0}
    optimiser = torch.optim.AdamW(model.parameters(), o.rate, weight_decay=1e-4, fused=True)
    if o.resume:
        kept = torch.load(o.resume, map_location="cuda")
        model.load_state_dict(kept["model"]), mean.load_state_dict(kept["mean"]), optimiser.load_state_dict(kept["optimiser"])
        state = kept["state"]
    print(f"seed {o.seed}: banks {time.time() - start:.1f} s, weights {sum(p.numel() for p in model.parameters())}", flush=True)
    log, earlier, begun, ran = [], [], time.time(), 0
    while (now := time.time() - begun) < o.seconds:
        at = o.part[0] + (o.part[1] - o.part[0]) * now / o.seconds
        rate = o.rate * min(1, (state["steps"] + 1) / 300) * (.5 + .5 * math.cos(math.pi * min(1, at))) + 1e-5
        for g in optimiser.param_groups:
            g["lr"] = rate
        fresh = batches.make(maker, o.size)
        # every scene four times, three of them mirrored and among others: drawing one costs more than a step
        for b in [fresh] + earlier:
            with torch.autocast("cuda", torch.bfloat16):
                logits = model(b.x.contiguous(memory_format=torch.channels_last), b.scale)
            value, parts = loss.total(logits.float(), b)
            optimiser.zero_grad(set_to_none=True)
            value.backward()
            torch.nn.utils.clip_grad_norm_(model.parameters(), 2.0)
            optimiser.step()
            state["steps"] += 1
            with torch.no_grad():
                keep = min(.998, (1 + state["steps"]) / (10 + state["steps"]))
                torch._foreach_lerp_(list(mean.parameters()), list(model.parameters()), 1 - keep)
                for m, p in zip(mean.buffers(), model.buffers()):
                    m.copy_(p)
        earlier = ([flipped(fresh, MIRRORS[ran % 3])] + [flipped(b, MIRRORS[(ran + 1) % 3]) for b in earlier])[:3]
        state["scenes"] += o.size
        ran += 1
        if ran % 50 == 0:
            what, edge, shadow = (v.item() for v in parts)
            log.append({"step": state["steps"], "what": what, "edge": edge, "shadow": shadow})
            print(f"seed {o.seed}: {now:.0f} s step {state['steps']} what {what:.4f} edge {edge:.4f} shadow {shadow:.4f}", flush=True)
    chosen = judged(mean, scene.Maker(CHOOSING_SEED, "cuda", banks, o.height, o.width), 16, o.size)
    print(f"seed {o.seed}: {state} {chosen}", flush=True)
    torch.save({"model": model.state_dict(), "mean": mean.state_dict(), "optimiser": optimiser.state_dict(), "state": state}, out / f"state-{o.seed}.pt")
    (out / f"log-{o.seed}.json").write_text(json.dumps({"seed": o.seed, "part": o.part, **state, "log": log, "choosing": chosen}, indent=1))


if __name__ == "__main__":
    main()
