"""What the maker noted about the piece: what was really done, and what loupe and lamp showed. None: nobody noted it."""

from dataclasses import dataclass, field, replace

from core.errors import UnreadableError
from core.figures import Figure, parsed


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What was really done and measured; None where nobody noted it. What each figure is stands in ``FIGURES``."""

    coats: float | None = None
    between_coats_min: float | None = None
    longest_between_coats_min: float | None = None
    before_mask_min: float | None = None
    cure_h: float | None = None
    wet_film_um: float | None = None
    temperature_c: float | None = None
    humidity_pct: float | None = None
    edge_rest_h: float | None = None
    off_by_mm: float | None = None


def _figure(name: str, words: str, unit: str, most: float, least: float = 0.0) -> Figure:
    return Figure(name=name, words=words, kind="number", default=None, unit=unit, least=least, most=most)


FIGURES: tuple[Figure, ...] = (
    _figure("coats", "Coats put on", "", 99),
    _figure("between_coats_min", "Shortest wait between coats", "min", 100_000),
    _figure("longest_between_coats_min", "Longest wait between coats", "min", 1_000_000),
    _figure("before_mask_min", "Wait before the next mask", "min", 100_000),
    _figure("cure_h", "Cure before handling", "h", 10_000),
    _figure("wet_film_um", "Wet film of one coat", "µm", 10_000),
    _figure("temperature_c", "Temperature", "°C", 100, least=-50),
    _figure("humidity_pct", "Humidity", "%", 100),
    _figure("edge_rest_h", "Rest of the cut edge before cement", "h", 100_000),
    _figure("off_by_mm", "Off the drawn size", "mm", 10_000),
)
"""What can be noted as a number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """An answer to one of ``core.trouble.looks``: yes or no."""

    code: str
    yes: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """All that was noted. paint: the one that is at fault, "" for none in particular. photos: paths."""

    done: Done = field(default_factory=Done)
    looks: tuple[Look, ...] = ()
    paint: str = ""
    note: str = ""
    photos: tuple[str, ...] = field(default=(), metadata={"omit_default": True})

    def value(self, name: str) -> float | None:
        """A figure of ``Done``; None where nobody noted it."""
        number: float | None = getattr(self.done, name)
        return number

    def answer(self, code: str) -> bool | None:
        """The answer to a look; None where there is none, or where one contradicts the other."""
        answers = {look.yes for look in self.looks if look.code == code}
        return answers.pop() if len(answers) == 1 else None

    @property
    def words(self) -> str:
        """All of it in one line: figures, looks, note, photos."""
        told = [f"paint {self.paint}" if self.paint else ""]
        told += [
            f"{one.words.lower()} {self.value(one.name):g} {one.unit}".rstrip()
            for one in FIGURES
            if self.value(one.name) is not None
        ]
        told += [f"{look.code.replace('-', ' ')}: {'yes' if look.yes else 'no'}" for look in self.looks]
        return "; ".join(filter(None, (*told, self.note, *self.photos))) or "nothing"

    @property
    def contradicted(self) -> tuple[str, ...]:
        """Codes of looks that were answered both ways."""
        codes = dict.fromkeys(look.code for look in self.looks)
        return tuple(code for code in codes if len({look.yes for look in self.looks if look.code == code}) > 1)


def with_noted(noted: Noted, text: str) -> Noted:
    """The notes with one more, as typed: ``temperature-c=12``. Raises UnreadableError."""
    name, equals, value = text.partition("=")
    figure = next((one for one in FIGURES if one.export_name == name.strip().replace("_", "-")), None)
    if not equals or figure is None:
        names = ", ".join(one.export_name for one in FIGURES)
        raise UnreadableError(
            f"“{text}” is nothing that can be noted.", hint=f"Write NAME=NUMBER with one of: {names}."
        )
    return replace(noted, done=replace(noted.done, **{figure.name: parsed(figure, value)}))


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultNoted:
    """A piece that came out wrong, as kept in the shop book. faults: their codes; photos are in ``noted``."""

    faults: tuple[str, ...]
    noted: Noted
    stock: str = ""
    job: str = ""
    date: str = ""

    @property
    def name(self) -> str:
        """The entry's name."""
        return f"{self.job or 'without a job'}: {', '.join(self.faults)}"
