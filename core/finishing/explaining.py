"""Why this order of colours, in words."""

from collections.abc import Sequence

from core.finishing.paints import Paint, is_weak

_NOTEWORTHY_MIN = 0.5


def order_reasons(
    paints: Sequence[Paint],
    *,
    costs: Sequence[float],
    swaps: Sequence[float],
    kept_off: Sequence[Sequence[str]],
    best_min: float,
    worst_min: float | None,
    exact: bool,
) -> tuple[str, ...]:
    """One sentence each: what the order costs beside others, then what speaks for each place in it.

    costs: handwork of each step, min; swaps: what it costs more to swap each two neighbours; kept_off: names that each
    step's mask must cover.
    """
    if not paints:
        return ()
    if len(paints) == 1:
        return ("One colour: nothing waits for another, so there is no order to choose.",)
    reasons = [_total_words(sum(costs), best_min, worst_min, exact)]
    last = paints[-1]
    if not kept_off[-1]:
        reasons.append(f"{last.name} goes last: nothing waits any more, so it needs no mask.")
    else:
        reasons.append(f"{last.name} goes last, and its mask still covers {_listed(kept_off[-1])}.")
    for first, second, more in zip(paints[:-1], paints[1:], swaps, strict=True):
        reasons.append(_swap_words(first, second, more))
    reasons += [_hiding_words(place, paints, kept_off) for place in range(len(paints)) if is_weak(paints[place])]
    return tuple(reasons)


def weak_words(paint: Paint) -> str:
    """What to do about a paint that hides weakly."""
    more = paint.hides_in_coats - paint.coats
    return (
        f"{paint.name} covers in {paint.hides_in_coats} coats and gets {paint.coats}: a darker colour behind it would "
        f"show, so it is kept off there. {counted(more, 'more coat')} or a backing frees it."
    )


def _total_words(total: float, best: float, worst: float | None, exact: bool) -> str:
    if total > best + 1e-6:
        return (
            f"This order takes about {total:.0f} min of masking, {_more(total - best)} than the cheapest "
            f"({best:.0f} min)."
        )
    if worst is not None and worst > total + _NOTEWORTHY_MIN:
        return f"Cheapest of all orders: about {total:.0f} min of masking; the dearest would take {worst:.0f}."
    if not exact:
        return f"About {total:.0f} min of masking: the best order found; not every order of so many was tried."
    return f"All orders take about the same: {total:.0f} min of masking."


def _swap_words(first: Paint, second: Paint, more: float) -> str:
    pair = f"{first.name} before {second.name}"
    if more > _NOTEWORTHY_MIN:
        return f"{pair}: the other way round would take {_more(more)}."
    if more < -_NOTEWORTHY_MIN:
        return f"{pair}: the other way round would take {_more(-more)[:-5]} less."
    return f"{pair}: the other way round takes about as long."


def _hiding_words(place: int, paints: Sequence[Paint], kept_off: Sequence[Sequence[str]]) -> str:
    paint = paints[place]
    covering = [
        later.name
        for later, names in zip(paints[place + 1 :], kept_off[place + 1 :], strict=True)
        if paint.name in names
    ]
    if covering:
        return f"{paint.name} hides weakly and stays covered while {_listed(covering)} goes on."
    return f"{paint.name} hides weakly; no colour after it is dark enough to show through it."


def _more(minutes: float) -> str:
    return f"{max(1, round(minutes))} min more"


def counted(number: int, what: str) -> str:
    """A number of things: "1 opening", "3 openings"."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
