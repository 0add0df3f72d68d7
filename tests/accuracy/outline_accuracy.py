#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""How far measured outlines lie from the truth, and whether U says so, on rendered photographs.

  outline_accuracy.py --demo build/release/demo/chalkfold-demo --program build/release/tools/chalkfold --out DIR
                      [--first-seed 101] [--count 40] [--width 4032] [--jobs 2]
                      [--least-coverage SHARE] [--most-ratio RATIO] [--most-rms MM]

Renders random scenes into DIR/photos (those that are there already are kept), measures each with its own thickness and with the check bars as
printed, and compares every outline point with the truth along the shortest way, after the rigid motion that fits best. The truth is the outline
before its notches were cut; points within NOTCH_MM of a notch are left out. Prints a line a panel, then the figures of all points together:
share with |error| <= U, median U, rms, and median U over rms. Lengths in mm, + outside the truth. Some two minutes for 40 photographs on two
cores, so it is a program to run by hand; the test run takes a few reduced photographs and asks for the --least and --most figures.
Exit 0; 1 when an asked figure is missed, a panel is missing or one too many was found; 2 on unusable arguments. Needs numpy and scipy.
"""
import argparse, concurrent.futures, json, pathlib, subprocess, sys
import numpy as np
from scipy.spatial import cKDTree

NOTCH_MM = 12.0        # a notch of 8 mm depth and width, and the 3-4 mm over which an outline rounds its mouth
BAR_SIGMA_MM = 0.02    # the bars are given as printed
LONG_BAR, SHORT_BAR = 240.0, 170.0
SAMPLE_MM = 0.5        # spacing of truth points while fitting
SAME_PANEL_MM = 8.0    # rms up to which an outline is taken for a panel of the truth


def densified(points, step=SAMPLE_MM):
    ring = np.vstack([points, points[:1]])
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))]
    at = np.arange(0, along[-1], step)
    return np.c_[np.interp(at, along, ring[:, 0]), np.interp(at, along, ring[:, 1])]


def centroid(points):
    """Of the area inside."""
    a, b = points, np.roll(points, -1, 0)
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    return ((a + b) * cross[:, None]).sum(0) / (3 * cross.sum())


def moved(points, motion):
    c, s = np.cos(motion[2]), np.sin(motion[2])
    return points @ np.array([[c, s], [-s, c]]) + motion[:2]


def signed_distance(points, outline):
    """Distance of each point to the closed outline, + outside."""
    a, b = outline[None], np.roll(outline, -1, 0)[None]
    out = []
    for p in np.array_split(points[:, None], len(points) // 200 + 1):
        t = np.clip(((p - a) * (b - a)).sum(2) / np.maximum(((b - a) ** 2).sum(2), 1e-12), 0, 1)[:, :, None]
        away = np.linalg.norm(a + t * (b - a) - p, axis=2).min(1)
        spans = (a[..., 1] > p[..., 1]) != (b[..., 1] > p[..., 1])
        rise = np.where(spans, b[..., 1] - a[..., 1], 1)
        crossed = spans & (p[..., 0] < a[..., 0] + (p[..., 1] - a[..., 1]) * (b[..., 0] - a[..., 0]) / rise)
        out.append(np.where(crossed.sum(1) % 2 == 1, -away, away))
    return np.concatenate(out)


def refined(points, truth, tree, normals, motion, rounds=30):
    """Least squares of the distances along the truth's normals, far ones weighed down (P. Huber, 1964), from a start."""
    for _ in range(rounds):
        p = moved(points, motion)
        _, i = tree.query(p)
        r = ((p - truth[i]) * normals[i]).sum(1)
        w = 1 / np.maximum(1, np.abs(r) / max(2 * np.median(np.abs(r)), 0.02))
        centre = p.mean(0)
        arm = np.c_[-(p - centre)[:, 1], (p - centre)[:, 0]]
        jacobian = np.c_[normals[i], (normals[i] * arm).sum(1)]
        step = np.linalg.lstsq(jacobian * w[:, None], -r * w, rcond=None)[0]
        turned = moved(motion[None, :2] - centre, np.r_[0, 0, step[2]])[0] + centre + step[:2]
        motion = np.r_[turned, motion[2] + step[2]]
        if np.abs(step).max() < 1e-7:
            break
    return motion, float(np.sqrt(np.mean(r**2)))


def fit(points, outline):
    """Rigid motion of measured points onto the truth, from 24 starting turns, and its rms."""
    truth = densified(outline)
    tangent = np.roll(truth, -2, 0) - np.roll(truth, 2, 0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    normals, tree, thin = np.c_[tangent[:, 1], -tangent[:, 0]], cKDTree(truth), points[::8]
    starts = []
    for angle in np.linspace(0, 2 * np.pi, 24, endpoint=False):
        motion = np.r_[0, 0, angle]
        motion[:2] = centroid(outline) - moved(centroid(points)[None], motion)[0]
        starts.append(refined(thin, truth, tree, normals, motion, 12))
    best = min(starts, key=lambda s: s[1])
    return refined(points, truth, tree, normals, best[0])


def compare(measured, panel):
    """Errors and U of the outline's points away from notches, in the truth's frame."""
    points, U = np.array(measured["outline"]["points"]), np.array(measured["outline"]["U"])
    outline = np.array(panel["outline_without_notches"])
    motion, rms = fit(points, outline)
    at = moved(points, motion)
    keep = np.ones(len(at), bool)
    for mark in panel["marks"]:
        if mark["kind"] != "notch":
            continue
        for corner in mark["points"]:
            keep &= np.linalg.norm(at - corner, axis=1) > NOTCH_MM
    return dict(rms=rms, at=at[keep], error=signed_distance(at[keep], outline), U=U[keep])


def measure(photo, program, out):
    truth = json.loads(photo.with_suffix(".truth.json").read_text())
    folder = out / photo.stem
    command = [program, "run", photo, "--out", folder, "--quiet", "--threads", 1, "--thickness-mm", truth["panels"][0]["thickness_mm"],
               "--long-bar-mm", LONG_BAR * truth["print_scale"]["y"], "--short-bar-mm", SHORT_BAR * truth["print_scale"]["x"],
               "--bar-sigma-mm", BAR_SIGMA_MM]
    ran = subprocess.run([str(c) for c in command], capture_output=True, text=True)
    if ran.returncode > 1:
        raise RuntimeError(f"{photo.name}: the program ended with {ran.returncode}: {ran.stderr.strip()}")
    found = [json.loads(p.read_text()) for p in sorted((folder / "measured").glob("*.json"))] if (folder / "measured").is_dir() else []
    return score(photo.stem, truth, found)


def score(name, truth, found):
    rows, left = [], list(range(len(found)))
    for panel in truth["panels"]:
        tries = [(fit(np.array(found[i]["outline"]["points"]), np.array(panel["outline_without_notches"]))[1], i) for i in left]
        best = min(tries, default=(np.inf, -1))
        if best[0] > SAME_PANEL_MM:
            rows.append(dict(photo=name, panel=panel["name"], missing=True))
            continue
        left.remove(best[1])
        row = compare(found[best[1]], panel)
        row.update(photo=name, panel=panel["name"], missing=False, thickness=panel["thickness_mm"],
                   faults=[f["code"] for f in found[best[1]].get("faults", [])])
        rows.append(row)
    return rows, [dict(photo=name, extra=found[i]["name"]) for i in left]


def line_of(row):
    if row["missing"]:
        return f"{row['photo']:11} {row['panel'][:14]:14} MISSING"
    e, U = row["error"], row["U"]
    worst, rms = int(np.argmax(np.abs(e))), np.sqrt(np.mean(e**2))
    return (f"{row['photo']:11} {row['panel'][:14]:14} {row['thickness']:4.1f} mm  rms {rms:6.3f}  p95 {np.percentile(np.abs(e), 95):6.3f}  max {np.abs(e).max():6.3f}"
            f" at ({row['at'][worst][0]:5.0f},{row['at'][worst][1]:5.0f})  mean {e.mean():+.3f}  covered {100 * np.mean(np.abs(e) <= U):5.1f} %"
            f"  U {np.median(U):.3f}  U/rms {np.median(U) / rms:5.2f}  {' '.join(row['faults'])}")


def arguments():
    parser = argparse.ArgumentParser(description="Outline error and U on rendered photographs.")
    parser.add_argument("--demo", required=True)
    parser.add_argument("--program", required=True)
    parser.add_argument("--out", type=pathlib.Path, required=True)
    parser.add_argument("--first-seed", type=int, default=101)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--width", type=int, default=4032)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--least-coverage", type=float)
    parser.add_argument("--most-ratio", type=float)
    parser.add_argument("--most-rms", type=float)
    return parser.parse_args()


def main():
    a = arguments()
    photos = [a.out / "photos" / f"random-{seed}.jpg" for seed in range(a.first_seed, a.first_seed + a.count)]
    for photo in photos:
        if not photo.exists():
            subprocess.run([a.demo, "--set", "random", "--seed", photo.stem.split("-")[1], "--count", "1", "--width", str(a.width), "--out", str(photo.parent)],
                           check=True, stdout=subprocess.DEVNULL)
    with concurrent.futures.ThreadPoolExecutor(a.jobs) as pool:
        scores = list(pool.map(lambda p: measure(p, a.program, a.out / "result"), photos))
    rows, extras = [r for s in scores for r in s[0]], [x for s in scores for x in s[1]]
    for row in rows:
        print(line_of(row))
    for extra in extras:
        print(f"{extra['photo']:11} EXTRA {extra['extra']}")
    measured = [r for r in rows if not r["missing"]]
    if not measured:
        print("no panel was measured")
        return 1
    error, U = np.concatenate([r["error"] for r in measured]), np.concatenate([r["U"] for r in measured])
    rms, coverage = float(np.sqrt(np.mean(error**2))), float(np.mean(np.abs(error) <= U))
    ratio = float(np.median(U)) / rms
    print(f"{len(measured)} panels, {len(error)} points: covered {100 * coverage:.2f} %  median U {np.median(U):.3f}  rms {rms:.3f}  U/rms {ratio:.2f}"
          f"  median of panels' U/rms {np.median([np.median(r['U']) / np.sqrt(np.mean(r['error'] ** 2)) for r in measured]):.2f}")
    missed = len(extras) + len(rows) - len(measured)
    missed += a.least_coverage is not None and coverage < a.least_coverage
    missed += a.most_ratio is not None and ratio > a.most_ratio
    missed += a.most_rms is not None and rms > a.most_rms
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
