# SPDX-License-Identifier: Apache-2.0
"""A batch of training pictures: scene, light, phone, and what the network gets and should give."""
import torch

import inputs
import layers as laid
import light
import phone
import sheets
from scene import PAPER, THING, Maker, over, cover, turned


class Batch:
    """x: B x 6 x H x W, scale: B, label/edge/shadow: B x H x W, sure and shadow_sure: where they count; fields: B x 4 x H x W mm, code: the picture."""


SHEETS, TAGS = 5, 3


def jittered(maker, place, b, mmpp):
    d = maker.dice
    cx, cy, angle, index = place
    off = d.uniform(0, 1.3, b, 1, 1) * mmpp
    return cx + d.normal(b, 1, 1) * off, cy + d.normal(b, 1, 1) * off, angle + d.normal(b, 1, 1) * .003, index


@torch.no_grad()
def make(maker, b):
    d, k, banks, device = maker.dice, maker.kinds, maker.banks, maker.device
    one = (b, 1, 1)
    mmpp = d.log_uniform(1.0, 2.7, *one)
    x, y = maker.column * mmpp, maker.row * mmpp
    table, index = maker.table(x, y, b, mmpp)
    fields = maker.panel_fields(x, y, b)
    fields, fray = maker.fray(fields, b, mmpp)
    materials = maker.materials(table, index, x, y, b)
    union = fields.amax(1)
    lay = laid.Layers(table, mmpp, d)

    known, ink = torch.zeros_like(x), torch.zeros_like(x)
    letter = d.chance(.3, *one)
    half = (torch.where(letter, 215.9 / 2, 210. / 2), torch.where(letter, 279.4 / 2, 297. / 2))
    paper = (d.uniform(.72, .9, b, 1, 1, 1) * torch.exp(d.normal(b, 3, 1, 1) * .02))
    count = 1 + d.pick(SHEETS, b)
    clear = torch.where(d.chance(k.over_sheet, b), d.uniform(-80, 0, b), d.uniform(2, 70, b))
    corners = torch.tensor([[-1, -1], [1, -1], [1, 1], [-1, 1], [0, -1], [0, 1], [-1, 0], [1, 0], [0, 0], [-1, -.5], [1, .5], [1, -.5], [-1, .5]], device=device)
    on_top = []
    for n, (cx, cy, angle) in enumerate(maker.places(union, x, y, b, corners * torch.tensor([106., 149.], device=device), clear, SHEETS, count)):
        place = (cx, cy, angle, d.pick(len(banks.sheets), b))
        on = (n < count)[:, None, None]
        field, print_ = maker.card(banks.sheets, place, half, (sheets.WIDE, sheets.HIGH), x, y, b)
        field = torch.where(on, field, torch.full_like(field, -1e3))
        print_ = print_ * d.uniform(.93, 1, *one)
        is_known = d.chance(.97, *one) | torch.tensor(n == 0, device=device)
        top = d.chance(k.sheet_on_top, *one) if n > 0 else torch.zeros(*one, dtype=torch.bool, device=device)
        label = torch.where(is_known, PAPER, THING)
        lift = d.log_uniform(.1, 4, *one)
        laid.lay_card(lay, torch.where(top, torch.full_like(field, -1e3), field), print_, paper, label, lift)
        on_top.append((torch.where(top, field, torch.full_like(field, -1e3)), print_, label, lift))
        known_field, known_print = maker.card(banks.sheets, jittered(maker, place, b, mmpp), sheets.KNOWN_HALF, (sheets.WIDE, sheets.HIGH), x, y, b)
        here = (known_field > 0) & on & is_known
        known = torch.where(here, torch.ones_like(known), known)
        ink = torch.where(here, known_print, ink)
    tag_half = (torch.full(one, 30., device=device),) * 2
    tag_count = torch.where(d.chance(.4, b), d.pick(TAGS, b) + 1, torch.zeros(b, dtype=torch.long, device=device))
    for n, (cx, cy, angle) in enumerate(maker.places(union, x, y, b, corners * 31, d.uniform(1, 40, b), TAGS, tag_count.clamp(min=1))):
        place = (cx, cy, angle, d.pick(len(banks.tags), b))
        on = (n < tag_count)[:, None, None]
        field, print_ = maker.card(banks.tags, place, tag_half, (sheets.CARD, sheets.CARD), x, y, b)
        field = torch.where(on, field, torch.full_like(field, -1e3))
        is_known = d.chance(.93, *one)
        laid.lay_card(lay, field, print_, paper, torch.where(is_known, PAPER, THING), d.log_uniform(.1, 2, *one))
        known_field, known_print = maker.card(banks.tags, jittered(maker, place, b, mmpp), (sheets.TAG_KNOWN_HALF,) * 2, (sheets.CARD, sheets.CARD), x, y, b)
        here = (known_field > 0) & on & is_known
        known = torch.where(here, torch.ones_like(known), known)
        ink = torch.where(here, known_print, ink)

    laid.lay_panels(maker, lay, fields, materials, x, y, b, fray)
    for field, print_, label, lift in on_top:
        laid.lay_card(lay, field, print_, paper, label, lift)
    laid.chalk(maker, lay, x, y, b)
    laid.lay_things(maker, lay, x, y, b)
    linear, shadow, shadow_sure = light.lit(maker, lay, x, y, b)

    unseen = torch.zeros_like(x, dtype=torch.bool)
    framed = d.chance(k.frame, *one)
    for side in range(4):
        normal = side * 1.5708 + d.normal(*one) * .2
        reach = (x if side % 2 == 0 else y).amax((1, 2), keepdim=True) * d.uniform(.6, 1.15, *one)
        unseen |= (x * torch.cos(normal) + y * torch.sin(normal) > reach) & framed
    code = phone.photographed(linear / .82, d)

    out = Batch()
    out.code, out.x, out.scale = code, inputs.encoded(code, known, ink, unseen.float()), mmpp.view(-1) - 1.5
    out.label, out.edge, out.shadow, out.fields = lay.label, lay.edge, shadow, fields
    out.sure, out.shadow_sure = lay.sure & ~unseen, shadow_sure & ~unseen
    out.mm_per_px = mmpp.view(-1)
    return out
