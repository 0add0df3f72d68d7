# SPDX-License-Identifier: Apache-2.0
"""Made-up tables seen from above, a batch at a time, all on the device: what lies where (labels) and what colour it reflects, then the light on it.

Frame: mm from the picture's middle, x right, y down. Distances are mm, positive inside."""
import dataclasses

import torch
import torch.nn.functional as F

import outlines
import sheets
import textures
import things
from dice import Dice

TABLE, PANEL, PAPER, THING = range(4)
PANELS = 4  # places for panels in a scene


@dataclasses.dataclass
class Kinds:
    """Shares of scenes; a report sets them to show one kind alone."""

    panel: float = .93            # any panel at all
    fills: float = .15            # the main panel is larger than the view, or nearly: it runs off the picture
    split: float = .27            # the main panel is two, a narrow gap apart
    second: float = .4
    more: float = .2
    near_colour: float = .3       # the panel's colour is the table's, or nearly
    same_texture: float = .05
    over_sheet: float = .22       # a sheet may be partly covered
    sheet_on_top: float = .12     # sheets lie on panels
    thing: float = .4             # each of four
    hard_shadow: float = .3       # each of three shadows from outside
    chalk: float = .5             # each of five strokes
    frame: float = .65            # the photograph's border is in view
    table_kinds: tuple = ()       # of textures.NAMES; empty: all
    panel_kinds: tuple = ()
    gap_low: float = 0.0          # mm between close panels
    gap_high: float = 10.0


class Banks:
    """What scenes are put together from; made once from a seed."""

    def __init__(self, seed, device, count_outlines=3072, count_textures=420, count_things=450):
        dice = Dice(seed, device)
        self.outlines = outlines.outline_bank(count_outlines, seed, device)
        self.textures, self.texture_kinds = textures.texture_bank(count_textures, dice)
        self.things, self.thing_halves, self.thing_kinds = things.thing_bank(count_things, dice)
        self.sheets, self.tags = sheets.print_banks(dice)

    def texture_index(self, dice, batch, names):
        if not names:
            return dice.pick(len(self.textures), batch)
        wanted = torch.tensor([i for i, n in enumerate(textures.NAMES) if n in names], device=dice.device)
        places = torch.isin(self.texture_kinds, wanted).nonzero()[:, 0]
        return places[dice.pick(len(places), batch)]


def turned(x, y, cx, cy, angle):
    c, s = torch.cos(angle), torch.sin(angle)
    u, v = x - cx, y - cy
    return u * c + v * s, -u * s + v * c


def cover(distance, softness):
    """Share of a pixel that lies inside, for a border seen over so many mm."""
    return torch.sigmoid(distance / softness * 2.2)


def over(picture, layer, share):
    return picture + (layer - picture) * share[:, None]


class Maker:
    def __init__(self, seed, device, banks, height=480, width=640, kinds=None):
        self.dice, self.device, self.banks, self.h, self.w = Dice(seed, device), device, banks, height, width
        self.kinds = kinds or Kinds()
        line = lambda n: torch.arange(n, device=device).float() - (n - 1) / 2
        self.row, self.column = torch.meshgrid(line(height), line(width), indexing="ij")

    # ---- parts -------------------------------------------------------------------------------------------------

    def colour(self, b):
        """Reflectances, B x 3 (blue, green, red): dark to light, grey to full."""
        d = self.dice
        hue = d.uniform(0, 1, b, 3)
        hue = hue / hue.amax(1, keepdim=True)
        full = 1 - d.uniform(0, 1, b, 1) ** 1.6 * (1 - hue)
        value = torch.where(d.chance(.5, b, 1), d.log_uniform(.02, .9, b, 1), d.uniform(.02, .9, b, 1))
        return value * full

    def look(self, index, angle, zoom, x, y, dx, dy):
        """Texture structure at (x, y) mm, turned and scaled: B x 3 x H x W."""
        u, v = turned(x, y, dx, dy, angle)
        half = textures.SIDE * textures.MM_PER_PX / 2
        grid = torch.stack([u / zoom / half, v / zoom / half], -1)
        return F.grid_sample(self.banks.textures[index].float(), grid, mode="bilinear", padding_mode="reflection", align_corners=False)

    def dyed(self, structure, base):
        """Reflectance of a structure in random colours around a base: B x 3 x H x W."""
        b, d = len(base), self.dice
        others = []
        for _ in range(2):
            near = base * torch.exp(d.normal(b, 3) * .12 + d.normal(b, 1) * d.uniform(.05, .7, b, 1))
            others.append(torch.where(d.chance(.55, b, 1), near, self.colour(b)))
        tint = 1 + d.normal(b, 3, 1, 1) * .15
        relief = torch.exp(structure[:, :1] * d.uniform(.2, 1.4, b, 1, 1, 1) * tint)
        out = base[:, :, None, None]
        for k in (1, 2):
            m = structure[:, k:k + 1]
            out = out * (1 - m) + others[k - 1][:, :, None, None] * m
        return (out * relief).clamp(.004, .97)

    def table(self, x, y, b, mmpp):
        """What everything lies on, perhaps with a border beyond which something else begins: B x 3 x H x W, and its texture."""
        d, banks = self.dice, self.banks
        one = (b, 1, 1)
        index = banks.texture_index(d, b, self.kinds.table_kinds)
        zoom = d.log_uniform(.6, 1.7, *one)
        structure = self.look(index, d.uniform(0, 6.3, *one), zoom, x, y, d.uniform(-150, 150, *one), d.uniform(-150, 150, *one))
        table = self.dyed(structure, self.colour(b))
        # stains and streaks larger than any panel's grain, with no edge to them: a texture far enlarged, at times drawn out along one way
        away, turn = self.row.new_full(one, 0.) + d.uniform(-300, 300, *one), d.uniform(0, 6.3, *one)
        u, v = turned(x, y, away, 0, turn)
        long = torch.where(d.chance(.5, *one), d.log_uniform(2, 8, *one), torch.ones_like(away))
        stains = self.look(d.pick(len(banks.textures), b), torch.zeros_like(away), d.log_uniform(2, 10, *one), u / long, v, 0, 0)[:, :1]
        table = (table * torch.exp(stains * (d.uniform(.1, .9, *one) * d.chance(.5, *one))[:, None])).clamp(.004, .97)
        u, _ = turned(x, y, 0, 0, d.uniform(0, 6.3, *one))
        beyond = cover(u - d.uniform(.3, .9, *one) * x.amax((1, 2), keepdim=True), mmpp * .55) * d.chance(.15, *one)
        floor = self.dyed(self.look(d.pick(len(banks.textures), b), d.uniform(0, 6.3, *one), zoom, x, y, 0, 0), self.colour(b))
        return over(table, floor, beyond), index

    def materials(self, table, table_index, x, y, b):
        """Of the first panel and of the others: near the table's colour or not, at times its texture too."""
        d, k = self.dice, self.kinds
        one = (b, 1, 1)
        mean = table.mean((2, 3))
        aside = torch.where(d.chance(.5, b, 1), 1., -1.) * d.uniform(.04, .45, b, 1)  # what nobody could see is not asked for
        near = mean * torch.exp(d.normal(b, 3) * d.uniform(0, .12, b, 1) + aside)
        base = torch.where(d.chance(k.near_colour, b, 1), near, self.colour(b)).clamp(.008, .9)
        index = torch.where(d.chance(k.same_texture, b), table_index, self.banks.texture_index(d, b, k.panel_kinds))
        looks = [self.look(index, d.uniform(0, 6.3, *one), d.log_uniform(.6, 1.7, *one), x, y, d.uniform(-150, 150, *one), d.uniform(-150, 150, *one))
                 for _ in range(2)]
        first = self.dyed(looks[0], base)
        other = self.dyed(looks[1], torch.where(d.chance(.6, b, 1), base, self.colour(b)))
        # most sets are of one cloth: the same dyes, the cloth lying another way (the picture turned half round)
        return first, torch.where(d.chance(.6, b, 1, 1, 1), first.flip(2, 3), other)

    def outline(self, index, cx, cy, angle, size, flip, x, y):
        u, v = turned(x, y, cx, cy, angle)
        reach = size * outlines.EXTENT
        grid = torch.stack([u * flip / reach, v / reach], -1)
        inside = F.grid_sample(self.banks.outlines[index].float(), grid, mode="bilinear", padding_mode="border", align_corners=False)[:, 0] * size
        beyond = torch.maximum((u.abs() - reach).clamp(min=0), (v.abs() - reach).clamp(min=0))
        return inside - beyond

    def panel_fields(self, x, y, b):
        """Distances of up to PANELS panels, later ones on top: B x PANELS x H x W; absent ones far negative."""
        d, k = self.dice, self.kinds
        one = (b, 1, 1)
        span = torch.minimum(x[:, :, -1:] - x[:, :, :1], y[:, -1:, :] - y[:, :1, :]).amin((1, 2), keepdim=True)
        n = len(self.banks.outlines)
        absent = torch.full_like(x, -1e3)
        has = d.chance(k.panel, *one)
        size = torch.maximum(span * d.uniform(.1, .62, *one), torch.full_like(span, 65))
        cx, cy = span * d.normal(*one) * .16, span * d.normal(*one) * .13
        fills = d.chance(k.fills, *one)
        size = torch.where(fills, span * d.log_uniform(.6, 1.8, *one), size)
        cx, cy = torch.where(fills, span * d.normal(*one) * .45, cx), torch.where(fills, span * d.normal(*one) * .4, cy)
        first = self.outline(d.pick(n, b), cx, cy, d.uniform(0, 6.3, *one), size, torch.where(d.chance(.5, *one), 1., -1.), x, y)
        gap = d.uniform(k.gap_low, k.gap_high, *one)
        # split along a bowed line near the middle
        u, v = turned(x, y, cx, cy, d.uniform(0, 6.3, *one))
        bow = d.normal(*one) * .25 / size
        line = u + bow * v * v * (1 - .3 * d.chance(.3, *one)) + size * d.uniform(-.25, .25, *one) + size * .04 * d.normal(*one) * torch.sin(v / size * d.uniform(1, 6, *one))
        line = line / torch.sqrt(1 + (2 * bow * v) ** 2)
        split = d.chance(k.split, *one)
        a = torch.where(split, torch.minimum(first, line - gap / 2), first)
        half = torch.minimum(first, -line - gap / 2)
        fields = [torch.where(has, a, absent)]
        for slot in range(1, PANELS):
            share = k.second if slot == 1 else k.more
            on = d.chance(share, *one)
            away = span * d.uniform(.2, .62, *one)
            where = d.uniform(0, 6.3, *one)
            other_size = torch.maximum(span * d.uniform(.08, .4, *one), torch.full_like(span, 65))
            other = self.outline(d.pick(n, b), cx + away * torch.cos(where), cy + away * torch.sin(where), d.uniform(0, 6.3, *one), other_size,
                                 torch.where(d.chance(.5, *one), 1., -1.), x, y)
            covered = torch.stack(fields + ([torch.where(split & has, half, absent)] if slot == 1 else [])).amax(0)
            wide = torch.where(d.chance(.5, *one), d.uniform(k.gap_low, k.gap_high, *one), d.uniform(10, 60, *one))
            on_top = d.chance(.12, *one)
            other = torch.where(on_top, other, torch.minimum(other, -covered - wide))
            other = torch.where(on & has, other, absent)
            if slot == 1:
                other = torch.where(split & has, half, other)
            fields.append(other)
        return torch.stack(fields, 1)

    def fray(self, fields, b, mmpp):
        """Ragged edges: noise on the distance, and how far it reaches (mm)."""
        d = self.dice
        reach = torch.where(d.chance(.25, b, 1, 1), d.uniform(.5, 5, b, 1, 1), torch.zeros(b, 1, 1, device=self.device))
        fine = F.avg_pool2d(d.normal(b, 1, self.h, self.w), 3, 1, 1)[:, 0] * 2
        return fields + (reach * fine * .5)[:, None], reach

    def places(self, union, x, y, b, corners, clear, number, count):
        """Where cards lie around the panels: (cx, cy, angle) for `number` of them, each slid out from the middle until its corners are `clear` mm (B) from any panel."""
        d = self.dice
        half_x, half_y = x.amax((1, 2)), y.amax((1, 2))
        first = d.uniform(0, 6.3, b)
        steps = torch.arange(24, device=self.device).float()[None] * 22  # mm
        out = []
        for i in range(number):
            direction = first + 6.2832 * (i + d.uniform(-.2, .2, b)) / count
            angle = torch.where(d.chance(.7, b), d.pick(4, b) * 1.5708 + d.normal(b) * .15, d.uniform(0, 6.3, b))
            ray = d.uniform(0, 60, b)[:, None] + steps
            cx, cy = torch.cos(direction)[:, None] * ray, torch.sin(direction)[:, None] * ray
            c, s = torch.cos(angle)[:, None, None], torch.sin(angle)[:, None, None]
            px = cx[..., None] + corners[:, 0] * c - corners[:, 1] * s
            py = cy[..., None] + corners[:, 0] * s + corners[:, 1] * c
            grid = torch.stack([px / half_x[:, None, None], py / half_y[:, None, None]], -1)
            near = F.grid_sample(union[:, None], grid, mode="nearest", padding_mode="border", align_corners=False)[:, 0].amax(-1)
            free = near < -clear[:, None]
            pick = torch.where(free.any(1), free.float().argmax(1), torch.full((b,), 23, device=self.device))[:, None]
            out.append((cx.gather(1, pick)[:, :, None], cy.gather(1, pick)[:, :, None], angle[:, None, None]))
        return out

    def card(self, bank, place, half, size, x, y, b):
        """A sheet or a tag: distance (mm) and ink, B x H x W. half: B x 1 x 1 each, size: of the print bank's picture."""
        cx, cy, angle, index = place
        u, v = turned(x, y, cx, cy, angle)
        return torch.minimum(half[0] - u.abs(), half[1] - v.abs()), sheets.sample(bank, index, u, v, *size)

    def shifted(self, fields, dx, dy, x, y):
        """Fields as they stand (dx, dy) mm away: what a shadow does."""
        grid = torch.stack([(x - dx) / x.amax((1, 2), keepdim=True), (y - dy) / y.amax((1, 2), keepdim=True)], -1)
        return F.grid_sample(fields, grid, mode="bilinear", padding_mode="border", align_corners=True)
