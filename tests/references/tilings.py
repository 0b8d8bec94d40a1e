"""Published tilings: sets of shapes that fill a rectangle without loss, so that the best density is known to be 1.

- Z. Moroń, O rozkładach prostokątów na kwadraty, Przegląd Matematyczno-Fizyczny 3, 1925: nine squares fill 33 x 32.
- A. J. W. Duijvestijn, Simple perfect squared square of lowest order, Journal of Combinatorial Theory B 25, 1978:
  21 squares fill 112 x 112.
- S. W. Golomb, Polyominoes, 1965: the twelve pentominoes fill 6 x 10 (no two alike; turned, here never flipped).

The areas of each set add up to its rectangle, which a test checks.
"""

import shapely

from core.sheet.copies import Wanted

MORON = (18, 15, 14, 10, 9, 8, 7, 4, 1)
DUIJVESTIJN = (50, 42, 37, 35, 33, 29, 27, 25, 24, 19, 18, 17, 16, 15, 11, 9, 8, 7, 6, 4, 2)
PENTOMINOES = {
    "F": ".XX XX. .X.",
    "I": "XXXXX",
    "L": "X. X. X. XX",
    "N": ".X .X XX X.",
    "P": "XX XX X.",
    "T": "XXX .X. .X.",
    "U": "X.X XXX",
    "V": "X.. X.. XXX",
    "W": "X.. XX. .XX",
    "X": ".X. XXX .X.",
    "Y": ".X XX .X .X",
    "Z": "XX. .X. .XX",
}


def squares(sides):
    return [Wanted(name=f"square {side}", shape=shapely.box(0, 0, side, side), angles_deg=(0.0,)) for side in sides]


def pentominoes(*, unit_mm=10.0):
    wanted = []
    for name, rows in PENTOMINOES.items():
        cells = [
            shapely.box(x * unit_mm, y * unit_mm, (x + 1) * unit_mm, (y + 1) * unit_mm)
            for y, row in enumerate(rows.split())
            for x, mark in enumerate(row)
            if mark == "X"
        ]
        wanted.append(Wanted(name=name, shape=shapely.simplify(shapely.union_all(cells), 0.0)))
    return wanted


def instances():
    """Name, shapes, height of the strip, length at density 1."""
    yield "nine squares in 33 x 32 (Moroń)", squares(MORON), 32.0, 33.0
    yield "21 squares in 112 x 112 (Duijvestijn)", squares(DUIJVESTIJN), 112.0, 112.0
    yield "twelve pentominoes in 6 x 10 (Golomb)", pentominoes(), 60.0, 100.0
