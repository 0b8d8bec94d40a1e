"""Which parts of a line run from right to left: the Unicode Bidirectional Algorithm (UAX 9, revision 50) for one line.

Rule names (X1, W4, N0 …) are the annex's own. Characters that it takes out (X9) stay where they are, at the level of
what stands before them; they have no glyphs.
"""

import unicodedata
from dataclasses import dataclass

_MAX_DEPTH = 125
_MAX_OPEN_BRACKETS = 63
"""As UAX 9, BD2 and BD16 have it."""

_ISOLATES = ("LRI", "RLI", "FSI")
_REMOVED = ("LRE", "RLE", "LRO", "RLO", "PDF", "BN")
_NEUTRAL = ("B", "S", "WS", "ON", "FSI", "LRI", "RLI", "PDI")
_STRONG = {"L": "L", "R": "R", "EN": "R", "AN": "R"}
"""Numbers count as right to left beside neutrals (N1)."""

_BRACKETS = (
    "()[]{}\u0f3a\u0f3b\u0f3c\u0f3d\u169b\u169c\u2045\u2046\u207d\u207e\u208d\u208e\u2308\u2309\u230a\u230b\u2329\u232a"
    "\u2768\u2769\u276a\u276b\u276c\u276d\u276e\u276f\u2770\u2771\u2772\u2773\u2774\u2775\u27c5\u27c6\u27e6\u27e7\u27e8"
    "\u27e9\u27ea\u27eb\u27ec\u27ed\u27ee\u27ef\u2983\u2984\u2985\u2986\u2987\u2988\u2989\u298a\u298b\u298c\u298d\u2990"
    "\u298f\u298e\u2991\u2992\u2993\u2994\u2995\u2996\u2997\u2998\u29d8\u29d9\u29da\u29db\u29fc\u29fd\u2e22\u2e23\u2e24"
    "\u2e25\u2e26\u2e27\u2e28\u2e29\u2e55\u2e56\u2e57\u2e58\u2e59\u2e5a\u2e5b\u2e5c\u3008\u3009\u300a\u300b\u300c\u300d"
    "\u300e\u300f\u3010\u3011\u3014\u3015\u3016\u3017\u3018\u3019\u301a\u301b\ufe59\ufe5a\ufe5b\ufe5c\ufe5d\ufe5e\uff08"
    "\uff09\uff3b\uff3d\uff5b\uff5d\uff5f\uff60\uff62\uff63"
)
"""Opening and closing brackets by turns (Unicode Character Database, BidiBrackets)."""

_CLOSING = dict(zip(_BRACKETS[0::2], _BRACKETS[1::2], strict=True))
_SAME_BRACKET = {"\u2329": "\u3008", "\u232a": "\u3009"}
"""Canonically equivalent ones (BD16)."""


def visual_runs(text: str, *, right_to_left: bool) -> list[tuple[int, int, int]]:
    """(start, stop, level) of runs of one direction, from left to right; those of odd levels run from right to left.

    ``right_to_left`` is the base direction.
    """
    base = 1 if right_to_left else 0
    classes = [unicodedata.bidirectional(character) or "L" for character in text]
    if base == 0 and not any(one in _TURNING for one in classes):
        return [(0, len(text), 0)] if text else []
    runs: list[tuple[int, int, int]] = []
    for i, level in enumerate(levels_of(text, base)):
        if runs and runs[-1][2] == level:
            runs[-1] = (runs[-1][0], i + 1, level)
        else:
            runs.append((i, i + 1, level))
    for level in range(max((run[2] for run in runs), default=0), 0, -1):  # L2
        i = 0
        while i < len(runs):
            j = i
            while j < len(runs) and runs[j][2] >= level:
                j += 1
            runs[i:j] = reversed(runs[i:j])
            i = max(j, i + 1)
    return runs


_TURNING = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI", "LRE", "LRO", "LRI", "FSI"})


def levels_of(text: str, base: int) -> list[int]:
    """The embedding level of each character of one line, in a paragraph of base level 0 or 1."""
    originals = [unicodedata.bidirectional(character) or "L" for character in text]
    classes = list(originals)
    matching = _matching_isolates(originals)
    explicit = _explicit(classes, originals, base, matching)
    levels = list(explicit)
    for sequence in _sequences(originals, explicit, matching):
        run = _Sequence.of(sequence, originals, classes, explicit, base, matching)
        run.settle_weak()
        run.settle_brackets(text, originals)
        run.settle_neutral()
        for at, one in zip(sequence, run.classes, strict=True):  # I1, I2
            if one == "L":
                levels[at] += levels[at] % 2
            elif one == "R":
                levels[at] += 1 - levels[at] % 2
            else:
                levels[at] += 2 - levels[at] % 2
    _reset_whitespace(originals, levels, base)
    return levels


def _matching_isolates(classes: list[str]) -> dict[int, int]:
    """Index of each isolate initiator to that of its PDI, and back (BD9)."""
    matching: dict[int, int] = {}
    opened: list[int] = []
    for i, one in enumerate(classes):
        if one in _ISOLATES:
            opened.append(i)
        elif one == "PDI" and opened:
            start = opened.pop()
            matching[start], matching[i] = i, start
        elif one == "B":
            opened.clear()
    return matching


def _runs_right_to_left(classes: list[str], start: int, stop: int, matching: dict[int, int]) -> bool:
    """P2 and P3 for what an FSI isolates."""
    i = start
    while i < stop:
        one = classes[i]
        if one in ("L", "R", "AL"):
            return one != "L"
        if one in _ISOLATES:
            i = matching.get(i, stop)
        i += 1
    return False


def _explicit(classes: list[str], originals: list[str], base: int, matching: dict[int, int]) -> list[int]:
    """X1 to X8: levels from embeddings, overrides and isolates; overridden characters change their class."""
    levels = [base] * len(classes)
    stack: list[tuple[int, str, bool]] = [(base, "", False)]  # level, override, whether an isolate
    overflow_isolates = overflow_embeddings = valid_isolates = 0
    for i, one in enumerate(originals):
        level, override, _ = stack[-1]
        levels[i] = level
        if one in ("RLE", "LRE", "RLO", "LRO") or one in _ISOLATES:
            isolate = one in _ISOLATES
            if isolate and override:
                classes[i] = override
            if one == "FSI":
                to_left = _runs_right_to_left(originals, i + 1, matching.get(i, len(originals)), matching)
            else:
                to_left = one[0] == "R"
            deeper = (level + 1) | 1 if to_left else (level + 2) & ~1
            if deeper <= _MAX_DEPTH and not overflow_isolates and not overflow_embeddings:
                valid_isolates += isolate
                stack.append((deeper, {"RLO": "R", "LRO": "L"}.get(one, ""), isolate))
            elif isolate:
                overflow_isolates += 1
            elif not overflow_isolates:
                overflow_embeddings += 1
        elif one == "PDI":
            if overflow_isolates:
                overflow_isolates -= 1
            elif valid_isolates:
                overflow_embeddings = 0
                while not stack.pop()[2]:
                    pass
                valid_isolates -= 1
            levels[i] = stack[-1][0]
            classes[i] = stack[-1][1] or classes[i]
        elif one == "PDF":
            if not overflow_isolates:
                if overflow_embeddings:
                    overflow_embeddings -= 1
                elif not stack[-1][2] and len(stack) > 1:
                    stack.pop()
            levels[i] = stack[-1][0]
        elif one == "B":
            levels[i] = base
        elif one != "BN" and override:
            classes[i] = override
    return levels


def _sequences(originals: list[str], levels: list[int], matching: dict[int, int]) -> list[list[int]]:
    """Isolating run sequences (BD13) as indices, without what X9 takes out."""
    kept = [i for i, one in enumerate(originals) if one not in _REMOVED]
    runs: list[list[int]] = []
    for i in kept:
        if runs and levels[runs[-1][-1]] == levels[i]:
            runs[-1].append(i)
        else:
            runs.append([i])
    run_of = {run[0]: run for run in runs}
    sequences = []
    for run in runs:
        if originals[run[0]] == "PDI" and run[0] in matching:
            continue  # goes on one that began before
        sequence = list(run)
        while originals[sequence[-1]] in _ISOLATES and sequence[-1] in matching:
            sequence += run_of[matching[sequence[-1]]]
        sequences.append(sequence)
    return sequences


@dataclass(slots=True)
class _Sequence:
    """Classes of one isolating run sequence, and what stands before and after it (sos, eos)."""

    indices: list[int]
    classes: list[str]
    level: int
    before: str
    after: str

    @staticmethod
    def of(
        indices: list[int],
        originals: list[str],
        classes: list[str],
        levels: list[int],
        base: int,
        matching: dict[int, int],
    ) -> "_Sequence":
        """X10."""
        level = levels[indices[0]]
        first, last = indices[0] - 1, indices[-1] + 1
        while first >= 0 and originals[first] in _REMOVED:
            first -= 1
        while last < len(originals) and originals[last] in _REMOVED:
            last += 1
        open_end = originals[indices[-1]] in _ISOLATES and indices[-1] not in matching
        level_before = levels[first] if first >= 0 else base
        level_after = base if open_end or last >= len(originals) else levels[last]
        sides = ["R" if max(level, other) % 2 else "L" for other in (level_before, level_after)]
        return _Sequence(indices, [classes[i] for i in indices], level, sides[0], sides[1])

    @property
    def embedding(self) -> str:
        """The direction of the level itself."""
        return "R" if self.level % 2 else "L"

    def settle_weak(self) -> None:
        """W1 to W7."""
        classes = self.classes
        for i, one in enumerate(classes):
            if one == "NSM":  # W1
                previous = classes[i - 1] if i else self.before
                classes[i] = "ON" if previous in (*_ISOLATES, "PDI") else previous
        strong = self.before
        for i, one in enumerate(classes):  # W2
            if one in ("R", "L", "AL"):
                strong = one
            elif one == "EN" and strong == "AL":
                classes[i] = "AN"
        classes[:] = ["R" if one == "AL" else one for one in classes]  # W3
        for i in range(1, len(classes) - 1):  # W4
            beside, beyond = classes[i - 1], classes[i + 1]
            if beside == beyond and (
                (classes[i] == "ES" and beside == "EN") or (classes[i] == "CS" and beside in ("EN", "AN"))
            ):
                classes[i] = beside
        for i, one in enumerate(classes):  # W5
            if one != "EN":
                continue
            for step in (-1, 1):
                k = i + step
                while 0 <= k < len(classes) and classes[k] == "ET":
                    classes[k] = "EN"
                    k += step
        classes[:] = ["ON" if one in ("ET", "ES", "CS") else one for one in classes]  # W6
        strong = self.before
        for i, one in enumerate(classes):  # W7
            if one in ("R", "L"):
                strong = one
            elif one == "EN" and strong == "L":
                classes[i] = "L"

    def settle_brackets(self, text: str, originals: list[str]) -> None:
        """N0: both brackets of a pair run as what stands between them does, in place."""
        for start, stop in self._bracket_pairs(text):
            inside = {_STRONG[one] for one in self.classes[start + 1 : stop] if one in _STRONG}
            if self.embedding in inside:
                side = self.embedding
            elif inside:
                known = (_STRONG[one] for one in reversed(self.classes[:start]) if one in _STRONG)
                side = next(known, self.before)
            else:
                continue
            for at in (start, stop):
                self.classes[at] = side
                for k in range(at + 1, len(self.classes)):  # marks go with their bracket
                    if originals[self.indices[k]] != "NSM":
                        break
                    self.classes[k] = side

    def _bracket_pairs(self, text: str) -> list[tuple[int, int]]:
        """BD16, sorted by the opening one."""
        opened: list[tuple[str, int]] = []
        pairs: list[tuple[int, int]] = []
        for i, at in enumerate(self.indices):
            if self.classes[i] != "ON":
                continue
            character = _SAME_BRACKET.get(text[at], text[at])
            if character in _CLOSING:
                if len(opened) == _MAX_OPEN_BRACKETS:
                    return []
                opened.append((_CLOSING[character], i))
                continue
            for k in range(len(opened) - 1, -1, -1):
                if opened[k][0] == character:
                    pairs.append((opened[k][1], i))
                    del opened[k:]
                    break
        return sorted(pairs)

    def settle_neutral(self) -> None:
        """N1 and N2: neutrals take the direction of both sides, else that of the level."""
        classes, i = self.classes, 0
        while i < len(classes):
            if classes[i] not in _NEUTRAL:
                i += 1
                continue
            j = i
            while j < len(classes) and classes[j] in _NEUTRAL:
                j += 1
            left = _STRONG[classes[i - 1]] if i else self.before
            right = _STRONG[classes[j]] if j < len(classes) else self.after
            classes[i:j] = [left if left == right else self.embedding] * (j - i)
            i = j


def _reset_whitespace(originals: list[str], levels: list[int], base: int) -> None:
    """L1, and what X9 took out at the level of what stands before it."""
    blank = ("WS", "FSI", "LRI", "RLI", "PDI", *_REMOVED)
    ends = True
    for i in range(len(originals) - 1, -1, -1):
        one = originals[i]
        if one in ("B", "S"):
            ends = True
        elif one not in blank:
            ends = False
        if ends:
            levels[i] = base
    for i, one in enumerate(originals):
        if one in _REMOVED:
            levels[i] = levels[i - 1] if i else base
