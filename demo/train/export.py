# SPDX-License-Identifier: Apache-2.0
"""Writes a trained network as data: export.py STATE.pt LOG.json REPORT.json OUT NAME

  OUT/NAME.json          format, nodes in running order (network.py says what each does), where each layer's numbers stand, the checksum of
  OUT/NAME.f32           all weights: little-endian 32-bit floats; of a conv first the weights [out][in / groups][row][column], then the biases.
                         Normalisation is folded in, and the gains and offsets that calibrate the probabilities (report.py) into the last layer
  OUT/NAME.record.json   how it came about: checksum of the scripts, seeds, losses, figures
  OUT/NAME.sample-K.f32  small made-up inputs [6][H][W] and, after them, what PyTorch gives for them: probabilities [6][H][W]; sizes and mm per px in
                         OUT/NAME.json"""
import hashlib
import json
import pathlib
import sys

import numpy as np
import torch

import batch as batches
import network
import scene

SAMPLE_SEED = 950005
SAMPLES = ((64, 64), (64, 128), (128, 64))
ROOM = pathlib.Path(__file__).parent
SCRIPTS = ("dice.py", "outlines.py", "designs.json", "textures.py", "things.py", "sheets.py", "scene.py", "layers.py", "light.py", "phone.py", "inputs.py", "batch.py", "network.py",
           "loss.py", "train.py")


def script_checksum():
    """Over what decides the training: names and bytes in the order of SCRIPTS."""
    sha = hashlib.sha256()
    for name in SCRIPTS:
        sha.update(name.encode() + b"\0" + (ROOM / name).read_bytes() + b"\0")
    return sha.hexdigest()


def folded(eye, calibration):
    """Name of a conv's output -> weights and biases, float32."""
    out = {}
    last = [n["out"] for n in eye.nodes if n["op"] == "conv"][-1]
    for name, part in eye.parts.items():
        conv = part[0]
        weight, bias = conv.weight.detach().double(), conv.bias.detach().double() if conv.bias is not None else torch.zeros(conv.out_channels, dtype=torch.double)
        if len(part) > 1:
            gain = part[1].weight.detach().double() / torch.sqrt(part[1].running_var.double() + part[1].eps)
            weight, bias = weight * gain[:, None, None, None], part[1].bias.detach().double() - part[1].running_mean.double() * gain
        if name == last:
            gain, offset = (torch.tensor(calibration[k], dtype=torch.double) for k in ("gain", "offset"))
            weight, bias = weight * gain[:, None, None, None], bias * gain + offset
        out[name] = (weight.float().numpy(), bias.float().numpy())
    return out


def probabilities(eye, x, scale, calibration):
    logits = eye(x, scale)[0] * torch.tensor(calibration["gain"])[:, None, None] + torch.tensor(calibration["offset"])[:, None, None]
    return torch.cat([logits[:4].softmax(0), logits[4:].sigmoid()])


def main():
    state, log, report, out, name = sys.argv[1], sys.argv[2], json.loads(pathlib.Path(sys.argv[3]).read_text()), pathlib.Path(sys.argv[4]), sys.argv[5]
    out.mkdir(parents=True, exist_ok=True)
    eye = network.Eye().eval()
    eye.load_state_dict(torch.load(state, map_location="cpu")["mean"])
    log = json.loads(pathlib.Path(log).read_text())
    calibration = report["networks"][str(log["seed"])]["calibration"]
    nodes, flat, at = [], [], 0
    weights = folded(eye, calibration)
    for n in eye.nodes:
        n = {k: v for k, v in n.items() if k != "norm"}
        if n["op"] == "conv":
            w, b = weights[n["out"]]
            n["weights_at"], n["biases_at"] = at, at + w.size
            flat += [w.ravel(), b]
            at += w.size + b.size
        nodes.append(n)
    raw = np.concatenate(flat).astype("<f4").tobytes()
    (out / f"{name}.f32").write_bytes(raw)
    maker = scene.Maker(SAMPLE_SEED, "cpu", scene.Banks(SAMPLE_SEED, "cpu", 8, 21, 15), 256, 256)
    made = batches.make(maker, len(SAMPLES))
    samples = []
    for k, (h, w) in enumerate(SAMPLES):
        # where half of it is panel
        share = torch.nn.functional.avg_pool2d((made.label[k:k + 1, None] == scene.PANEL).float(), (h, w), 8)[0, 0]
        place = int((share - .5).abs().argmin())
        top, left = 8 * (place // share.shape[1]), 8 * (place % share.shape[1])
        x = made.x[k:k + 1, :, top:top + h, left:left + w].contiguous()
        mm_per_px = round(float(made.mm_per_px[k]), 6)
        with torch.no_grad():
            p = probabilities(eye, x, torch.tensor([mm_per_px - 1.5]), calibration)
        (out / f"{name}.sample-{k}.f32").write_bytes(np.concatenate([x.numpy().ravel(), p.numpy().ravel()]).astype("<f4").tobytes())
        samples.append({"file": f"{name}.sample-{k}.f32", "height": h, "width": w, "mm_per_px": mm_per_px})
    header = {"format": "chalkfold eye 1", "weights": f"{name}.f32", "count": at, "sha256": hashlib.sha256(raw).hexdigest(), "step": network.STEP, "input_channels": 6,
              "outputs": list(network.OUTPUTS), "nodes": nodes, "samples": samples}
    text = json.dumps(header).replace('{"op"', '\n  {"op"').replace('{"file"', '\n  {"file"')
    (out / f"{name}.json").write_text(text + "\n")
    record = {"weights_sha256": header["sha256"], "header_sha256": hashlib.sha256((text + "\n").encode()).hexdigest(), "scripts": list(SCRIPTS), "scripts_sha256": script_checksum(),
              "multiply_adds_of_700000_px": round(network.multiply_adds(eye.nodes, 704, 1024) * 7e5 / (704 * 1024)), "training": log, "report": report}
    (out / f"{name}.record.json").write_text(json.dumps(record, indent=1) + "\n")


if __name__ == "__main__":
    main()
