# SPDX-License-Identifier: Apache-2.0
"""Printed sheets and tags: what their ink looks like (DESIGN: 5 x 7 squares of 36 mm, markers of 26 mm in the white ones, 60 mm cards with a 40 mm marker),
and where they lie. The bits of the markers are random: which sheet it is does not matter here."""
import torch
import torch.nn.functional as F

SQUARE, MARKER, COLUMNS, ROWS = 36.0, 26.0, 5, 7
WIDE, HIGH = 216.0, 298.0          # mm covered by a picture of a sheet
CARD, TAG = 60.0, 40.0
A4, LETTER = (210.0, 297.0), (215.9, 279.4)
KNOWN_HALF = (110.0, 150.5)        # what the program takes for paper: the larger of both papers and 2 mm
TAG_KNOWN_HALF = 33.0


def marker(dice, cells_px):
    bits = torch.ones(7, 7, device=dice.device)
    bits[1:-1, 1:-1] = dice.chance(.5, 5, 5).float()
    return bits.repeat_interleave(cells_px, 0).repeat_interleave(cells_px, 1)


def print_sheet(dice, fine):
    """Ink on a sheet at `fine` px a mm, 1 = ink."""
    ink = torch.zeros(int(HIGH * fine), int(WIDE * fine), device=dice.device)
    left, top = (WIDE - COLUMNS * SQUARE) / 2, (HIGH - ROWS * SQUARE) / 2
    for r in range(ROWS):
        for c in range(COLUMNS):
            y, x = int((top + r * SQUARE) * fine), int((left + c * SQUARE) * fine)
            n = int(SQUARE * fine)
            if (r + c) % 2 == 0:
                ink[y:y + n, x:x + n] = 1
            else:
                cell = int(round(MARKER * fine / 7))
                m, off = marker(dice, cell), int((SQUARE - MARKER) / 2 * fine)
                # a marker's frame is black, a set bit white
                frame = torch.ones_like(m)
                frame[cell:-cell, cell:-cell] = 1 - m[cell:-cell, cell:-cell]
                ink[y + off:y + off + m.shape[0], x + off:x + off + m.shape[1]] = frame
    t = int(.6 * fine) + 1
    x = int((left + 90) * fine)
    ink[int(10 * fine):int(10 * fine) + t, int((WIDE / 2 - 85) * fine):int((WIDE / 2 + 85) * fine)] = 1
    ink[int((HIGH / 2 - 120) * fine):int((HIGH / 2 + 120) * fine), int(9 * fine):int(9 * fine) + t] = 1
    y = int((HIGH - 14) * fine)
    ink[y:y + int(4 * fine), x:x + int(24 * fine)] = dice.chance(.4, int(4 * fine), int(24 * fine)).float()
    return ink


def print_tag(dice, fine):
    ink = torch.zeros(int(CARD * fine), int(CARD * fine), device=dice.device)
    cell = int(round(TAG * fine / 7))
    m = marker(dice, cell)
    frame = torch.ones_like(m)
    frame[cell:-cell, cell:-cell] = 1 - m[cell:-cell, cell:-cell]
    o = (ink.shape[0] - m.shape[0]) // 2
    ink[o:o + m.shape[0], o:o + m.shape[1]] = frame
    return ink


def print_banks(dice, sheets=48, tags=24):
    """Ink coverage at 1 mm a pixel: sheets x 1 x 298 x 216, tags x 1 x 60 x 60. Row 0 is the page's top."""
    fine = 4
    s = torch.stack([print_sheet(dice, fine) for _ in range(sheets)])[:, None]
    t = torch.stack([print_tag(dice, fine) for _ in range(tags)])[:, None]
    return F.avg_pool2d(s, fine), F.avg_pool2d(t, fine)


def sample(bank, index, u, v, wide, high):
    """Bank pictures at (u, v) mm from their middles, 0 outside."""
    grid = torch.stack([u / (wide / 2), v / (high / 2)], -1)
    return F.grid_sample(bank[index], grid, mode="bilinear", padding_mode="zeros", align_corners=False)[:, 0]
