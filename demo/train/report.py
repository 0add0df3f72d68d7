# SPDX-License-Identifier: Apache-2.0
"""Figures of trained networks on made-up tables that neither training nor choosing saw: report.py OUT.json STATE.pt [STATE.pt ...]

The calibration (a gain and an offset of each map's logits: "vector scaling", C. Guo et al., "On calibration of modern neural networks", 2017) is chosen on
scenes of train.CHOOSING_SEED; everything told comes from scenes of REPORTING_SEED, made from banks of their own."""
import concurrent.futures
import dataclasses
import json
import pathlib
import sys

import numpy as np
import torch

import batch as batches
import candidates
import network
import scene
import train

REPORTING_SEED = 910001
HEIGHT, WIDTH, SIZE = 448, 640, 20
FOUND, SEEN = .97, .5  # intersection over union: as the program needs it; enough to say that it was seen

PLAID, WOOD, CLOTH = ("plaid", "checks", "striped"), ("wood",), ("cloth", "carpet", "ribbed")
KINDS = {
    "as trained": {},
    "near colours": {"near_colour": 1.0},
    "same texture, near colours": {"near_colour": 1.0, "same_texture": 1.0},
    "hard shadows": {"hard_shadow": .8},
    "plaid panels": {"panel_kinds": PLAID},
    "plaid tables": {"table_kinds": PLAID},
    "wood tables": {"table_kinds": WOOD},
    "cloth tables": {"table_kinds": CLOTH},
    "over sheets": {"over_sheet": 1.0, "sheet_on_top": .3},
    "close panels": {"split": 1.0, "thing": .1},
    "many things": {"thing": .95},
    "fills the picture": {"fills": 1.0},
    "no panel": {"panel": 0.0},
}


def loaded(path):
    kept = torch.load(path, map_location="cuda")
    eye = network.Eye().cuda().eval()
    eye.load_state_dict(kept["mean"])
    return eye


def parts_of(logits, c):
    logits = logits * logits.new_tensor(c["gain"])[:, None, None] + logits.new_tensor(c["offset"])[:, None, None]
    return torch.cat([logits[:, :4].softmax(1), logits[:, 4:].sigmoid()], 1)


def calibration(eye, maker, rounds=60):
    """Gain and offset of each map's logits with the least mean loss."""
    logits, labels, edges, shadows, shadow_sure = [], [], [], [], []
    with torch.no_grad():
        for _ in range(rounds):
            b = batches.make(maker, SIZE)
            pick = b.sure & (torch.rand(b.sure.shape, device="cuda", generator=maker.dice.generator) < .05)
            logits.append(eye(b.x, b.scale).permute(0, 2, 3, 1)[pick])
            labels.append(b.label[pick]), edges.append(b.edge[pick].float()), shadows.append(b.shadow[pick].float()), shadow_sure.append(b.shadow_sure[pick].float())
    logits, labels, edges, shadows, shadow_sure = (torch.cat(v) for v in (logits, labels, edges, shadows, shadow_sure))
    gain, offset = torch.ones(6, device="cuda", requires_grad=True), torch.zeros(6, device="cuda", requires_grad=True)
    optimiser = torch.optim.LBFGS([gain, offset], max_iter=60, line_search_fn="strong_wolfe")
    f = torch.nn.functional

    def closure():
        optimiser.zero_grad()
        z = logits * gain + offset
        loss = f.cross_entropy(z[:, :4], labels) + f.binary_cross_entropy_with_logits(z[:, 4], edges)
        loss = loss + (f.binary_cross_entropy_with_logits(z[:, 5], shadows, reduction="none") * shadow_sure).sum() / shadow_sure.sum()
        loss.backward()
        return loss

    optimiser.step(closure)
    return {"gain": [round(v, 4) for v in gain.tolist()], "offset": [round(v, 4) for v in offset.tolist()]}


def true_panels(b, i):
    """Masks of the panels in view that the program would have to find: large and wide enough, mostly in view and not mostly covered."""
    fields, panel, sure = b.fields[i], b.label[i] == scene.PANEL, b.sure[i]
    owner = torch.zeros_like(b.label[i])
    for k in range(fields.shape[0]):
        owner = torch.where(fields[k] > 0, torch.full_like(owner, k + 1), owner)
    out = []
    mm = float(b.mm_per_px[i])
    for k in range(fields.shape[0]):
        visible = ((owner == k + 1) & panel).cpu().numpy()
        counted = visible & sure.cpu().numpy()
        whole = float((fields[k] > 0).sum())
        if whole == 0 or counted.sum() * mm * mm < 2 * candidates.MIN_AREA or counted.sum() < .6 * whole:
            continue
        if candidates.widest(visible.astype(np.uint8)) * mm < candidates.MIN_WIDTH + 3 * mm:
            continue
        out.append(visible)
    return out


def judged(p, true, sure, seen, mm):
    found = [c & sure for c, _ in candidates.candidates(p[:4], p[4], seen, mm)]
    best, extra = candidates.matched([c > 0 for c in found if c.sum() * mm * mm > candidates.MIN_AREA], [t & sure for t in true])
    return best, extra


@torch.no_grad()
def of_kind(eyes, calibrated, kind, banks, scenes):
    maker = scene.Maker(REPORTING_SEED, "cuda", banks, HEIGHT, WIDTH, dataclasses.replace(scene.Kinds(), **kind))
    rows = {s: {"panels": 0, "found": 0, "seen": 0, "extra": 0, "iou": [], "both": 0, "either": 0} for s in eyes}
    jobs = []
    with concurrent.futures.ThreadPoolExecutor(14) as pool:
        for _ in range(scenes // SIZE):
            b = batches.make(maker, SIZE)
            truth = [true_panels(b, i) for i in range(SIZE)]
            sure, seen = b.sure.cpu().numpy(), (b.x[:, 5] < .5).cpu().numpy()
            for s, eye in eyes.items():
                p = parts_of(eye(b.x, b.scale), calibrated[s])
                found, true = (p[:, :4].argmax(1) == scene.PANEL) & b.sure, (b.label == scene.PANEL) & b.sure
                rows[s]["both"] += int((found & true).sum())
                rows[s]["either"] += int((found | true).sum())
                p = p.cpu().numpy()
                # a picture in which a panel that is not to be counted lies is judged by what is found, not by what is extra
                others = [bool(((b.label[i] == scene.PANEL).cpu().numpy() & ~np.any(truth[i], 0)).any()) if truth[i] else bool((b.label[i] == scene.PANEL).any()) for i in range(SIZE)]
                jobs += [(s, others[i], pool.submit(judged, p[i], truth[i], sure[i], seen[i], float(b.mm_per_px[i]))) for i in range(SIZE)]
        for s, other, job in jobs:
            best, extra = job.result()
            r = rows[s]
            r["panels"] += len(best)
            r["found"] += int(sum(v > FOUND for v in best))
            r["seen"] += int(sum(v > SEEN for v in best))
            r["extra"] += 0 if other else int(extra)
            r["iou"] += best
    for r in rows.values():
        r["px_iou"] = round(r.pop("both") / max(1, r.pop("either")), 4)
        iou = r.pop("iou")
        r["median_iou"] = round(float(np.median(iou)), 4) if iou else None
    return rows


@torch.no_grad()
def reliability(eyes, calibrated, banks, rounds=60):
    """Tenths of each probability: mean told, real share, number of px; and what the disagreement of two networks says of errors."""
    maker = scene.Maker(REPORTING_SEED + 1, "cuda", banks, HEIGHT, WIDTH)
    sums = {s: {m: np.zeros((10, 3)) for m in network.OUTPUTS} for s in eyes}
    apart = np.zeros((5, 2))
    for _ in range(rounds):
        b = batches.make(maker, SIZE)
        several = []
        for s, eye in eyes.items():
            p = parts_of(eye(b.x, b.scale), calibrated[s])
            several.append(p)
            for m, name in enumerate(network.OUTPUTS):
                real = (b.label == m) if m < 4 else (b.edge if m == 4 else b.shadow)
                sure = b.sure & b.shadow_sure if m == 5 else b.sure
                told, hit = p[:, m][sure], real[sure].float()
                tenth = (told * 10).long().clamp(0, 9)
                for column, values in enumerate((told, hit, torch.ones_like(hit))):
                    sums[s][name][:, column] += torch.zeros(10, device="cuda", dtype=torch.double).index_add_(0, tenth, values.double()).cpu().numpy()
        if len(several) > 1:
            gap = (several[0][:, 1] - several[1][:, 1]).abs()[b.sure]
            wrong = ((several[0][:, :4].argmax(1) == scene.PANEL) != (b.label == scene.PANEL))[b.sure].double()
            fifth = torch.bucketize(gap, torch.tensor([.02, .1, .25, .5], device="cuda"))
            apart[:, 0] += torch.zeros(5, device="cuda", dtype=torch.double).index_add_(0, fifth, wrong).cpu().numpy()
            apart[:, 1] += torch.zeros(5, device="cuda", dtype=torch.double).index_add_(0, fifth, torch.ones_like(wrong)).cpu().numpy()
    table = {s: {m: [[round(t[0] / max(1, t[2]), 3), round(t[1] / max(1, t[2]), 3), int(t[2])] for t in rows] for m, rows in of.items()} for s, of in sums.items()}
    doubt = [{"disagreement_up_to": u, "share_of_px": round(n / max(1, apart[:, 1].sum()), 5), "wrong": round(w / max(1, n), 4)} for u, (w, n) in zip((.02, .1, .25, .5, 1), apart)]
    return table, doubt


def main():
    banks_chosen = scene.Banks(train.CHOOSING_SEED, "cuda", 1024, 210, 150)
    eyes = {pathlib.Path(p).stem.split("-")[-1]: loaded(p) for p in sys.argv[2:]}
    t = {s: calibration(e, scene.Maker(train.CHOOSING_SEED + 1, "cuda", banks_chosen, HEIGHT, WIDTH)) for s, e in eyes.items()}
    banks = scene.Banks(REPORTING_SEED, "cuda", 1024, 210, 150)
    kinds = {}
    for name, kind in KINDS.items():
        kinds[name] = of_kind(eyes, t, kind, banks, 120 if not kind else 60)
        print(name, kinds[name], flush=True)
    table, doubt = reliability(eyes, t, banks)
    out = {"choosing_seed": train.CHOOSING_SEED, "reporting_seed": REPORTING_SEED, "found_iou": FOUND, "seen_iou": SEEN,
           "networks": {s: {"calibration": t[s], "kinds": {k: v[s] for k, v in kinds.items()}, "reliability": table[s]} for s in eyes}, "disagreement": doubt}
    pathlib.Path(sys.argv[1]).write_text(json.dumps(out, indent=1))
    for s in eyes:
        print(s, t[s], {m: max((abs(a - b) for a, b, n in rows if n > 2000), default=0) for m, rows in table[s].items()}, flush=True)
    print(doubt)


if __name__ == "__main__":
    main()
