#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Do the committed weights, their header, their record and the scripts belong together, and do the weights give what PyTorch gave: check_weights.py [NAME]

The expected probabilities beside the sample inputs were written by PyTorch (export.py); here they are computed again in numpy from the exported numbers."""
import hashlib
import json
import pathlib
import sys

import numpy as np

import eye_numpy

ROOM = pathlib.Path(__file__).parent
WITHIN = 1e-3  # of probability: what any way of running the network is held to


def checksum(data):
    return hashlib.sha256(data).hexdigest()


def faults(name):
    out = []
    folder = ROOM / "weights"
    text = (folder / f"{name}.json").read_bytes()
    header, numbers = eye_numpy.read(folder / f"{name}.json")
    record = json.loads((folder / f"{name}.record.json").read_text())
    raw = (folder / header["weights"]).read_bytes()
    if checksum(raw) != header["sha256"] or checksum(raw) != record["weights_sha256"]:
        out.append("the weights are not those of the header and the record")
    if checksum(text) != record["header_sha256"]:
        out.append("the header is not the record's")
    if len(numbers) != header["count"]:
        out.append(f"{len(numbers)} numbers, {header['count']} expected")
    sha = hashlib.sha256()
    for script in record["scripts"]:
        sha.update(script.encode() + b"\0" + (ROOM / script).read_bytes() + b"\0")
    if sha.hexdigest() != record["scripts_sha256"]:
        out.append("the training scripts are not those that the weights were made with: train again, or keep them")
    used = sum(n["channels"] * n["from_channels"] // n["groups"] * n["size"] ** 2 + n["channels"] for n in header["nodes"] if n["op"] == "conv")
    if used != header["count"]:
        out.append(f"the nodes use {used} numbers of {header['count']}")
    for s in header["samples"]:
        data = np.fromfile(folder / s["file"], "<f4").reshape(2, 6, s["height"], s["width"])
        worst = np.abs(eye_numpy.run(header, numbers, data[0], s["mm_per_px"]) - data[1])
        place = np.unravel_index(worst.argmax(), worst.shape)
        print(f"{s['file']}: worst difference {worst.max():.2e}")
        if not worst.max() < WITHIN:
            out.append(f"{s['file']}: {header['outputs'][place[0]]} at row {place[1]}, column {place[2]} differs by {worst.max():.2e}")
    return out


def main():
    names = sys.argv[1:] or sorted(p.name[:-len(".json")] for p in (ROOM / "weights").glob("*.json") if not p.name.endswith(".record.json"))
    wrong = [f"{n}: {f}" for n in names for f in faults(n)]
    print("\n".join(wrong) if wrong else f"{len(names)} set of weights in order")
    sys.exit(1 if wrong or not names else 0)


if __name__ == "__main__":
    main()
