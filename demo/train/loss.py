# SPDX-License-Identifier: Apache-2.0
"""What training asks for: right probabilities of what lies at each px, of a panel's edge and of shadow, where the truth is sure. No weights between the
classes: the probabilities are to be shares."""
import torch.nn.functional as F

EDGE, SHADOW = .7, .25


def total(logits, batch):
    sure = batch.sure.float()
    count = sure.sum().clamp(min=1)
    what = (F.cross_entropy(logits[:, :4], batch.label, reduction="none") * sure).sum() / count
    edge = (F.binary_cross_entropy_with_logits(logits[:, 4], batch.edge.float(), reduction="none") * sure).sum() / count
    shadow_sure = batch.shadow_sure.float()
    shadow = (F.binary_cross_entropy_with_logits(logits[:, 5], batch.shadow.float(), reduction="none") * shadow_sure).sum() / shadow_sure.sum().clamp(min=1)
    return what + EDGE * edge + SHADOW * shadow, (what.detach(), edge.detach(), shadow.detach())
