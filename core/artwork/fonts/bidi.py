"""Which parts of a line run from right to left: the Unicode Bidirectional Algorithm (UAX 9) without its explicit
embeddings, overrides and isolates."""

import unicodedata

_OPENING = {"(": ")", "[": "]", "{": "}"}
_MAX_OPEN_BRACKETS = 63
"""As UAX 9, BD16 has it."""


def visual_runs(text: str, *, right_to_left: bool) -> list[tuple[int, int, int]]:
    """(start, stop, level) of runs of one direction, from left to right; those of odd levels run from right to left.

    ``right_to_left`` is the base direction.
    """
    base = 1 if right_to_left else 0
    classes = [unicodedata.bidirectional(character) for character in text]
    if base == 0 and not any(one in ("R", "AL", "AN") for one in classes):
        return [(0, len(text), 0)] if text else []
    levels = _levels(text, classes, base)
    runs: list[tuple[int, int, int]] = []
    for i, level in enumerate(levels):
        if runs and runs[-1][2] == level:
            runs[-1] = (runs[-1][0], i + 1, level)
        else:
            runs.append((i, i + 1, level))
    for level in range(max(levels, default=0), 0, -1):  # L2
        i = 0
        while i < len(runs):
            j = i
            while j < len(runs) and runs[j][2] >= level:
                j += 1
            runs[i:j] = reversed(runs[i:j])
            i = max(j, i + 1)
    return runs


def _levels(text: str, classes: list[str], base: int) -> list[int]:
    base_class = "R" if base else "L"
    strong = _strong_classes(classes, base_class)
    _settle_brackets(text, strong, base_class)
    i = 0
    while i < len(strong):  # N1, N2: neutrals take the direction of both sides, else the base
        if strong[i]:
            i += 1
            continue
        j = i
        while j < len(strong) and not strong[j]:
            j += 1
        before = _as_side(strong[i - 1]) if i else base_class
        after = _as_side(strong[j]) if j < len(strong) else base_class
        strong[i:j] = [before if before == after else base_class] * (j - i)
        i = j
    level_of = {"L": base + base % 2, "R": 1, "N": 2}  # I1, I2
    levels = [level_of[one] for one in strong]
    for i in range(len(levels) - 1, -1, -1):  # L1: white space at the end
        if classes[i] not in ("WS", "B", "S"):
            break
        levels[i] = base
    return levels


def _strong_classes(classes: list[str], base_class: str) -> list[str]:
    """W1 to W7 in short: L, R, N (a number among letters that run from right to left), or nothing."""
    strong, last = [], base_class
    for one in classes:
        if one == "L":
            last = "L"
            strong.append("L")
        elif one in ("R", "AL"):
            last = "R"
            strong.append("R")
        elif one == "AN" or (one == "EN" and last == "R"):
            strong.append("N")
        elif one == "EN":
            strong.append("L")
        elif one == "NSM" and strong:
            strong.append(strong[-1])
        else:
            strong.append("")
    for i in range(1, len(strong) - 1):  # W4: 1,234 and 12.5 stay together
        one, beside = classes[i], classes[i - 1]
        separates = one == "CS" or (one == "ES" and beside == "EN")
        if separates and beside == classes[i + 1] and strong[i - 1] == strong[i + 1] == "N":
            strong[i] = "N"
    for step, places in ((-1, range(1, len(strong))), (1, range(len(strong) - 2, -1, -1))):  # W5: 50% too
        for i in places:
            if classes[i] == "ET" and strong[i + step] == "N" and classes[i + step] in ("EN", "ET"):
                strong[i] = "N"
    return strong


def _settle_brackets(text: str, strong: list[str], base_class: str) -> None:
    """N0: both brackets of a pair run as what stands between them does, in place."""
    open_ones: list[tuple[str, int]] = []
    pairs: list[tuple[int, int]] = []
    for i, character in enumerate(text):
        if character in _OPENING and not strong[i]:
            if len(open_ones) == _MAX_OPEN_BRACKETS:
                break
            open_ones.append((_OPENING[character], i))
        elif character in _OPENING.values() and not strong[i]:
            for k in range(len(open_ones) - 1, -1, -1):
                if open_ones[k][0] == character:
                    pairs.append((open_ones[k][1], i))
                    del open_ones[k:]
                    break
    for start, stop in sorted(pairs):
        inside = {_as_side(one) for one in strong[start + 1 : stop] if one}
        if base_class in inside:
            side = base_class
        elif inside:
            before = next((_as_side(strong[i]) for i in range(start - 1, -1, -1) if strong[i]), base_class)
            side = before if before in inside else base_class
        else:
            continue
        strong[start] = strong[stop] = side


def _as_side(strong: str) -> str:
    return "L" if strong == "L" else "R"
