"""Bounds that keep a hostile file from eating the machine. Everything is counted before it is expanded."""

from core.errors import UnreadableError


class TooMuchError(UnreadableError):
    """The file as a whole is too much to read; a fault of one element only costs that element."""


MAX_FILE_BYTES = 120_000_000
"""Of the file itself; larger artwork is refused."""

MAX_UNPACKED_BYTES = 120_000_000
"""Of an .svgz after unpacking."""

MAX_ELEMENTS = 400_000
"""Elements in the file."""

MAX_COPIES = 50_000
"""Elements met while walking beyond twice those in the file, each ``use`` counted as what it shows."""

MAX_SEGMENTS = 2_000_000
"""Path segments in the whole drawing."""

MAX_USE_DEPTH = 64
"""``use``, patterns, clips and masks inside one another."""

MAX_REGION_SEGMENTS = 200_000
"""Segments that clips, masks and patterns may be computed from, in all; each region counts as some more."""

REGION_COST = 40
"""What working out one region costs beside its segments, in segments."""

MAX_FAINT = 2_000
"""See-through paints that are looked at."""

MAX_STACKED_CROSSINGS = 200_000
"""Segments of see-through paints whose bounds overlap, counted for each pair."""

MAX_STACKED_SEGMENTS = 20_000

MAX_BLURRED_SEGMENTS = 100_000
"""Segments of outlines that are blurred; what comes after is drawn sharp."""

BLUR_COST = 500
"""What blurring one outline costs beside its segments, in segments."""

MAX_FILTERS = 200
"""Elements that are filtered; what comes after is drawn without."""

MAX_TILES = 4_000
"""Tiles of one pattern."""

MAX_TILE_POINTS = 400_000
"""Points of all tiles of one pattern."""

MAX_MARKERS = 20_000
"""Markers in the whole drawing."""

MAX_DASHES = 200_000
"""Dashes of one outline; more are drawn solid."""

MAX_STYLE_SHEET_CHARS = 2_000_000
MAX_SELECTOR_TESTS = 1_500_000
"""Selectors tried against elements, in all."""

MAX_SELECTOR_PARTS = 32
MAX_CUSTOM_PROPERTY_CHARS = 10_000

MAX_STOPS = 256
"""Colour stops of one gradient."""

MAX_TRANSFORM_CHARS = 20_000

MAX_COMMANDS = 1_000_000
"""Command letters in one path."""

MAX_COORDINATE_MM = 1e7
"""Nothing on a sheet is ten kilometres away."""

MAX_GLYPHS = 100_000

MAX_ENTITY_GROWTH_CHARS = 4_000_000
"""What internal entities may add to the file."""

MAX_FINDINGS_PER_CODE = 12
"""Findings of one kind that are listed singly; the rest are counted."""
