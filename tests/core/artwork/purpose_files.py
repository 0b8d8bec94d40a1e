"""Small files with the purposes that a maker would expect, each with a sentence why. One unit is 1 mm.

The expectations are our own judgement of common practice (no source). ``expected`` names the purpose of every shape in
the file's order, the line of a filled shape after the shape; "undecided" where a maker would have to be asked.
"""

from dataclasses import dataclass

from core.purposes import Suggestion

PAGE = (120, 80)


@dataclass(frozen=True, slots=True, kw_only=True)
class File:
    """A drawing, what its shapes are for, and why a maker would say so."""

    name: str
    body: str
    expected: str
    why: str

    @property
    def purposes(self) -> list[Suggestion]:
        """One for each shape."""
        words: dict[str, Suggestion] = {
            "f": "fill", "c": "cut", "s": "score", "g": "guide", "?": "undecided",
        }  # fmt: skip
        return [words[letter] for letter in self.expected]

    @property
    def svg(self) -> bytes:
        """The file."""
        width, height = PAGE
        head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        return f'{head} viewBox="0 0 {width} {height}">{self.body}</svg>'.encode()


def line(d: str, colour: str = "#000", width: float = 0.1, more: str = "") -> str:
    """An unfilled path."""
    return f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{width}" {more}/>'


def rect(
    x: float, y: float, w: float, h: float, colour: str = "#000", width: float = 0.1, more: str = "", fill: str = "none"
) -> str:
    """A rectangle."""
    size = f'x="{x}" y="{y}" width="{w}" height="{h}"'
    return f'<rect {size} fill="{fill}" stroke="{colour}" stroke-width="{width}" {more}/>'


def disc(x: float, y: float, r: float, colour: str = "#000", width: float = 0.1, more: str = "") -> str:
    """An unfilled circle."""
    return f'<circle cx="{x}" cy="{y}" r="{r}" fill="none" stroke="{colour}" stroke-width="{width}" {more}/>'


def moved(body: str, x: float, y: float, scale: float) -> str:
    """Something drawn elsewhere and at another size."""
    return f'<g transform="translate({x} {y}) scale({scale})">{body}</g>'


def group(name: str, *bodies: str) -> str:
    """A group with an id."""
    return f'<g id="{name}">{"".join(bodies)}</g>'


PLATE = rect(5, 5, 110, 70)
HOLES = disc(10, 10, 2) + disc(110, 10, 2)
MOTIF = '<path d="M40 30h20v20h-20z"/>'
STAR = "M60 20l5 12h13l-10 8 4 13-12-8-12 8 4-13-10-8h13z"
WORD = (
    "M20 50v-8h5v2h-3v1h3v2h-3v3z",
    "M27 50v-8h2v6h3v2z",
    "M34 50l3-8 3 8h-2l-1-3-1 3z",
    "M42 50v-8h2l3 5v-5h2v8h-2l-3-5v5z",
)
LETTERS = "".join(line(d) for d in WORD)

FILES = (
    File(name="lone outline", body=PLATE, expected="c", why="A lone unfilled outline can only free the piece."),
    File(
        name="lone outline in red",
        body=rect(5, 5, 110, 70, "#f00"),
        expected="c",
        why="Its colour changes nothing: no colour means anything by itself.",
    ),
    File(name="lone circle", body=disc(60, 40, 30), expected="c", why="A round piece is a piece."),
    File(
        name="lone outline as hairline of 0.01 mm",
        body=rect(5, 5, 110, 70, width=0.01),
        expected="c",
        why="Hairlines are how lines to cut are drawn.",
    ),
    File(
        name="plate with holes",
        body=PLATE + HOLES,
        expected="ccc",
        why="Round openings in clear margin, drawn like the outline, are screw holes.",
    ),
    File(
        name="plate with holes and a motif",
        body=PLATE + HOLES + MOTIF,
        expected="cccf",
        why="Lines free the piece, the painted area is cleared.",
    ),
    File(
        name="plate with a slot",
        body=PLATE + rect(50, 60, 20, 4, more='rx="2"'),
        expected="cc",
        why="A slot drawn like the outline lets a strap through.",
    ),
    File(
        name="plate with a star window",
        body=PLATE + line(STAR + "Z"),
        expected="cc",
        why="One opening of any form, drawn like the outline, is a window.",
    ),
    File(name="motif alone", body=MOTIF, expected="f", why="Paint is cleared; nothing says how the piece is cut."),
    File(
        name="two pieces side by side",
        body=rect(5, 5, 50, 70) + rect(60, 5, 50, 70),
        expected="cc",
        why="Two outlines of one look are two pieces.",
    ),
    File(
        name="six tags with a hole each",
        body="".join(rect(x, y, 30, 30) + disc(x + 5, y + 5, 2) for x in (5, 43, 81) for y in (5, 43)),
        expected="c" * 12,
        why="Repetition of piece and hole makes tags.",
    ),
    File(
        name="open line across a plate",
        body=PLATE + line("M5 40H115"),
        expected="cs",
        why="An open line frees nothing: a fold or a mark.",
    ),
    File(
        name="line element without fill attribute",
        body='<line x1="10" y1="10" x2="60" y2="10" stroke="#000" stroke-width=".1"/>',
        expected="s",
        why="The commonest form of a line: its default fill has no area.",
    ),
    File(
        name="open straight path without fill attribute",
        body='<path d="M10 10L60 40" stroke="#000" stroke-width=".1"/>',
        expected="s",
        why="The same as a path.",
    ),
    File(
        name="two straight lines in one path",
        body='<path d="M10 10H60M10 20H60" stroke="#000" stroke-width=".1"/>',
        expected="s",
        why="Straight lines enclose nothing, however many.",
    ),
    File(
        name="dashed outline",
        body=rect(5, 5, 110, 70, more='stroke-dasharray="2 1"'),
        expected="s",
        why="A dashed line does not come free: it marks.",
    ),
    File(
        name="dashed fold in a plate",
        body=PLATE + line("M5 40H115", more='stroke-dasharray="2 1"'),
        expected="cs",
        why="Dashed across the piece is a fold.",
    ),
    File(
        name="layer called Cut and layer called Engrave",
        body=group("Cut", PLATE) + group("Engrave", MOTIF),
        expected="cf",
        why="The layers say it, and the shapes agree.",
    ),
    File(
        name="closed lines on a layer called Engrave",
        body=group("Cut", PLATE) + group("Engrave", disc(60, 40, 10), disc(30, 40, 5)),
        expected="css",
        why="To engrave a line is to score it, never to cut it.",
    ),
    File(
        name="closed lines on a layer called Score",
        body=group("Cut", PLATE) + group("Score", rect(10, 10, 100, 60)),
        expected="cs",
        why="A border that is called score is scored.",
    ),
    File(
        name="everything on a layer called Engrave",
        body=group("Engrave", PLATE, MOTIF),
        expected="sf",
        why="Nothing on a layer called Engrave is cut, not even the outermost line.",
    ),
    File(
        name="open slits on a layer called Cut",
        body=group("Cut", PLATE, line("M20 40H50"), line("M70 40H100")),
        expected="ccc",
        why="An open line on a layer called Cut is a slit.",
    ),
    File(
        name="German layers",
        body=group("Schnittlinien", PLATE) + group("Gravur", disc(60, 40, 10)) + group("Falz", line("M5 20H115")),
        expected="css",
        why="Cut lines, engraving and fold in German.",
    ),
    File(
        name="French layers",
        body=group("Découpe", PLATE) + group("Gravure", MOTIF) + group("Pliage", line("M5 20H115")),
        expected="cfs",
        why="Cutting, engraving and folding in French.",
    ),
    File(
        name="Spanish layers",
        body=group("Corte", PLATE) + group("Grabado", disc(60, 40, 10)) + group("Agujeros", disc(10, 10, 2)),
        expected="csc",
        why="Cut, engraved and holes in Spanish.",
    ),
    File(
        name="Italian layers",
        body=group("Taglio", PLATE) + group("Incisione", disc(60, 40, 10)) + group("Piega", line("M5 20H115")),
        expected="css",
        why="Cut, engraving and fold in Italian.",
    ),
    File(
        name="Polish layers",
        body=group("Cięcie", PLATE) + group("Grawerowanie", disc(60, 40, 10)),
        expected="cs",
        why="Cutting and engraving in Polish.",
    ),
    File(
        name="Japanese layers",
        body=group("カット線", PLATE) + group("彫刻", MOTIF) + group("折り線", line("M5 20H115")),
        expected="cfs",
        why="Cut line, engraving and fold line in Japanese.",
    ),
    File(
        name="Russian layers",
        body=group("Резка", PLATE) + group("Гравировка", disc(60, 40, 10)),
        expected="cs",
        why="Cutting and engraving in Russian.",
    ),
    File(
        name="words written together",
        body=group("CutLines_outer", PLATE) + group("engraveMotif2", disc(60, 40, 10)),
        expected="cs",
        why="Capitals, digits and underscores part words.",
    ),
    File(
        name="kiss cut",
        body=group("Through Cut", PLATE) + group("Kiss Cut", rect(20, 20, 40, 30)),
        expected="cs",
        why="A kiss cut does not go through: the whole phrase counts.",
    ),
    File(
        name="class names",
        body=PLATE.replace("<rect", '<rect class="cut"') + disc(60, 40, 10, more='class="score"'),
        expected="cs",
        why="Classes are names, too.",
    ),
    File(
        name="ids of single shapes",
        body=PLATE + disc(60, 40, 10, "#00f", more='id="hole-1"'),
        expected="cc",
        why="Another colour, but the object itself is called a hole.",
    ),
    File(
        name="guides",
        body=PLATE + group("Guides", line("M60 0V80"), line("M0 40H120")),
        expected="cgg",
        why="Guides are for the eye, wherever they run.",
    ),
    File(
        name="dimension layer in German",
        body=PLATE + group("Bemaßung", line("M5 78H115"), line("M5 76V80")),
        expected="cgg",
        why="Dimensions speak about the piece.",
    ),
    File(
        name="a picture's own name says what it shows",
        body=PLATE + '<path id="fold" d="M40 30h20v20h-20z"/>',
        expected="cf",
        why="The fold of a ribbon, painted: an area to clear.",
    ),
    File(
        name="layer that says do not cut",
        body=group("do not cut", PLATE),
        expected="?",
        why="An outermost outline that is said not to be cut has to be asked about.",
    ),
    File(
        name="filled area on a layer called Cut",
        body=group("Cut", MOTIF),
        expected="?",
        why="The layer says cut, the paint says fill.",
    ),
    File(
        name="group called cut in a layer called Engrave",
        body=group("Engrave", group("cut", disc(60, 40, 10))),
        expected="?",
        why="Inner and outer name disagree, and a wrong cut can't be undone.",
    ),
    File(
        name="inner outline in another colour",
        body=PLATE + rect(20, 20, 40, 30, "#00f"),
        expected="c?",
        why="Two line colours mean two purposes; the outer one frees the piece, the inner one is asked about.",
    ),
    File(
        name="inner lines in another colour, some of them open",
        body=PLATE + disc(60, 40, 10, "#00f") + line("M20 60H100", "#00f"),
        expected="css",
        why="Open lines of that colour are marks, so the closed ones are.",
    ),
    File(
        name="red outline, blue dashes and a blue border",
        body=rect(5, 5, 110, 70, "#f00")
        + rect(8, 8, 104, 64, "#00f")
        + line("M8 40H112", "#00f", more='stroke-dasharray="2 1"'),
        expected="css",
        why="Dashed lines of that colour mark, so its border does.",
    ),
    File(
        name="outermost outlines in two colours",
        body=rect(5, 5, 50, 70, "#f00") + rect(60, 5, 50, 70, "#00f"),
        expected="??",
        why="Which of the two colours is to be cut can't be told.",
    ),
    File(
        name="a plate and a ring of another colour beside it",
        body=rect(5, 5, 60, 70) + disc(20, 20, 3) + disc(95, 40, 15, "#00f"),
        expected="cc?",
        why="The plate holds its hole and is a piece; the other colour is asked about.",
    ),
    File(
        name="inner outline much thinner",
        body=rect(5, 5, 110, 70, width=0.25) + rect(20, 20, 60, 40, width=0.05),
        expected="c?",
        why="Another line width may be another purpose.",
    ),
    File(
        name="hairline lettering in a plate",
        body=PLATE + LETTERS,
        expected="c????",
        why="Letters cut through would fall out; scored or filled has to be said.",
    ),
    File(
        name="hairline lettering on a layer called Engrave",
        body=PLATE + group("engraving", LETTERS),
        expected="cssss",
        why="The layer says what is to be done with the letters.",
    ),
    File(
        name="large letters to cut out",
        body="".join(moved(line(d, width=0.02), -40 + 20 * i, -130, 4) for i, d in enumerate(WORD[:2])),
        expected="cc",
        why="Two letters, each 32 mm high, are pieces.",
    ),
    File(
        name="outline of 1 pt",
        body=rect(5, 5, 110, 70, width=0.353),
        expected="?",
        why="Over the line limit: to cut along its middle, or an area? It may not be filled unasked.",
    ),
    File(
        name="outline of 1 mm with a motif",
        body=rect(5, 5, 110, 70, width=1) + MOTIF,
        expected="?f",
        why="The plate is likely to be cut there, but it has to be asked.",
    ),
    File(
        name="frame of 1 mm inside a hairline outline",
        body=PLATE + rect(10, 10, 100, 60, width=1),
        expected="cf",
        why="The hairline frees the piece; the wide stroke inside is a border to clear.",
    ),
    File(
        name="outline of 1 mm on a layer called Cut",
        body=group("cut", rect(5, 5, 110, 70, width=1)),
        expected="c",
        why="However wide, its layer says cut.",
    ),
    File(
        name="wide open strokes",
        body=PLATE + line("M20 40H100", width=2) + line("M20 60H100", width=2),
        expected="cff",
        why="Strokes of 2 mm are areas to clear.",
    ),
    File(
        name="stroke of width 0 on an outline",
        body=rect(5, 5, 110, 70, width=0),
        expected="?",
        why="Nothing by the standard, a hairline in many files.",
    ),
    File(
        name="stroke of width 0 on a layer called Cut",
        body=group("Cut", rect(5, 5, 110, 70, width=0)),
        expected="c",
        why="A hairline on a layer called Cut is a cut line.",
    ),
    File(
        name="white plate with a stroke of width 0",
        body=rect(5, 5, 110, 70, width=0, fill="#fff") + MOTIF,
        expected="g?f",
        why="White inside a hairline is the ground; the hairline has to be asked about.",
    ),
    File(
        name="filled area with a thin line of another colour",
        body=PLATE + rect(40, 30, 20, 20, "#00f", fill="#fc0"),
        expected="cf?",
        why="The area is cleared; what its edge is for has to be asked.",
    ),
    File(
        name="filled area with a thin line of its own colour",
        body=PLATE + rect(40, 30, 20, 20, "#fc0", fill="#fc0"),
        expected="cf",
        why="A line of the fill's own colour only widens it.",
    ),
    File(
        name="plate filled with white and outlined",
        body=rect(5, 5, 110, 70, fill="#fff") + MOTIF,
        expected="gcf",
        why="White inside a dark line is the ground; the line frees the piece.",
    ),
    File(
        name="white paper under everything",
        body='<rect width="120" height="80" fill="#fff"/>' + PLATE + MOTIF,
        expected="gcf",
        why="A white page is paper.",
    ),
    File(
        name="white on dark",
        body=PLATE + MOTIF + '<circle cx="50" cy="40" r="4" fill="#fff"/>',
        expected="cfg",
        why="White over paint keeps the coat until somebody says otherwise.",
    ),
    File(
        name="border close to the edge",
        body=PLATE + rect(5.3, 5.3, 109.4, 69.4),
        expected="c?",
        why="A line 0.3 mm inside the edge can't be an opening.",
    ),
    File(
        name="outline that crosses another",
        body=rect(5, 5, 60, 50) + rect(40, 30, 60, 45),
        expected="??",
        why="Lines that cross can't both free a piece.",
    ),
    File(
        name="outline around a motif",
        body=PLATE + rect(36, 26, 28, 28) + MOTIF,
        expected="c?f",
        why="A piece to cut out with its motif, or a border to score.",
    ),
    File(
        name="hole inside a filled area",
        body='<rect x="20" y="20" width="60" height="40"/>' + disc(50, 40, 3, "#f00"),
        expected="f?",
        why="A hole to cut or a line to score in the cleared area.",
    ),
    File(
        name="many odd outlines",
        body=PLATE + "".join(moved(line(STAR + "Z"), -3 + 24 * (i % 4), 4 + 22 * (i // 4), 0.3) for i in range(12)),
        expected="c" + "?" * 12,
        why="A field of stars may be openings or a pattern.",
    ),
    File(
        name="many round openings",
        body=PLATE + "".join(disc(20 + 10 * i, 20 + 10 * j, 2) for i in range(9) for j in range(5)),
        expected="c" * 46,
        why="A grid of like round openings is a grille.",
    ),
    File(
        name="ring cut from a plate",
        body=disc(60, 40, 35) + disc(60, 40, 20),
        expected="cc",
        why="A ring is cut inside and outside.",
    ),
    File(
        name="there and back",
        body=line("M10 10H60H10Z"),
        expected="s",
        why="A closed line that goes round nothing is a line.",
    ),
    File(
        name="unpainted box",
        body=PLATE + MOTIF + line("M40 60H80"),
        expected="cfs",
        why="Cut, fill and score in one file, nothing named.",
    ),
    File(
        name="border with a narrow rim",
        body=PLATE + rect(9, 9, 102, 62),
        expected="c?",
        why="4 mm inside the edge all round: an ornamental border as likely as an opening.",
    ),
    File(
        name="unnamed outline in a file with a layer called Cut",
        body=group("Cut", PLATE) + group("Layer 2", disc(60, 40, 10)),
        expected="c?",
        why="Who has a layer for cuts would have put it there.",
    ),
    File(
        name="unnamed outline inside an engraved frame",
        body=PLATE + group("engraving", rect(20, 20, 60, 40)) + disc(50, 40, 5),
        expected="cs?",
        why="It lies in an outline that is only scored.",
    ),
    File(
        name="plate and lettering in one path",
        body=line("M5 5H115V75H5z" + "".join(WORD)),
        expected="?",
        why="To cut the plate along it would cut the letters, too.",
    ),
    File(
        name="plate and holes in one path",
        body=line("M5 5H115V75H5zM10 10h4v4h-4zM100 10h4v4h-4zM50 10h4v4h-4z"),
        expected="c",
        why="A compound path of an outline and plain openings is a plate.",
    ),
    File(
        name="white line on nothing",
        body=PLATE + disc(60, 40, 5, "#fff"),
        expected="c?",
        why="Nobody sees it on the screen.",
    ),
    File(
        name="outline drawn over the area that it goes round",
        body='<rect x="20" y="20" width="60" height="40" fill="#8ac"/>' + rect(20, 20, 60, 40, "#246"),
        expected="f?",
        why="Two objects, but the same as a filled shape with a line of another colour.",
    ),
    File(
        name="rings in a picture without a plate",
        body=MOTIF + disc(80, 30, 3) + disc(90, 40, 3),
        expected="f??",
        why="The motif lies beside the rings: they are as likely to be parts of the picture as pieces.",
    ),
    File(
        name="centre lines",
        body=PLATE + disc(60, 40, 5) + group("Centerlines", line("M60 30V50"), line("M50 40H70")),
        expected="ccgg",
        why="They tell where the hole is; they are not burned.",
    ),
    File(
        name="page frame around a plate",
        body=rect(0, 0, 120, 80) + rect(10, 10, 100, 60) + disc(20, 20, 2),
        expected="?cc",
        why="A line on the page's edge around the real piece may be the sheet's edge.",
    ),
    File(
        name="outline with its two ends meeting unflagged",
        body=line("M5 5H115V75H5V5"),
        expected="c",
        why="Ends that meet close an outline, flag or no flag.",
    ),
    File(
        name="plate with motif of strokes and fills",
        body=PLATE + MOTIF + disc(90, 40, 8, width=0.8) + line("M20 65H100", width=0.6),
        expected="cfff",
        why="Wide strokes inside a piece are areas.",
    ),
    File(
        name="room number of two digits",
        body=PLATE
        + line("M30 50v-14l-3 2v-2l4-3h1v17z")
        + line("M40 35a5 5 0 0 1 8 4l-5 8h5v3h-9v-3l6-9a2 2 0 0 0-3-1z"),
        expected="c??",
        why="Two hairline digits are lettering, not openings.",
    ),
    File(
        name="room number of one digit",
        body=PLATE + line("M50 30h12v3l-6 17h-3l5-16h-8z"),
        expected="c?",
        why="One form of the size of a letter may be a letter.",
    ),
    File(
        name="the same letter in a row",
        body=PLATE + "".join(line(f"M{20 + 7 * i} 40v-8h5v2h-3v1h3v2h-3v3z") for i in range(6)),
        expected="c" + "?" * 6,
        why="A row of one odd form may be letters or a border of openings.",
    ),
    File(
        name="two keyholes far apart",
        body=PLATE + "".join(line(f"M{x} 14a3 3 0 1 1 2 0v5h-2z") for x in (20, 98)),
        expected="ccc",
        why="The same odd opening at both ends hangs the plate on screws.",
    ),
    File(
        name="letter with its counter as another path",
        body=PLATE + line("M40 65L55 20H65L80 65H70L60 45L50 65z") + line("M56 38L60 26L64 38z"),
        expected="c??",
        why="An outline in an opening would fall out with it: a letter's counter, or a part inside a hole.",
    ),
    File(
        name="plate drawn as four lines",
        body=line("M5 5H115") + line("M115 5V75") + line("M115 75H5") + line("M5 75V5"),
        expected="????",
        why="Loose lines that make an outline: to join and cut, or to score? It has to be asked.",
    ),
    File(
        name="plate whose outline misses its start",
        body=line("M5 5H115V75H5V5.3"),
        expected="?",
        why="A gap of 0.3 mm is a slip: the outline of the plate has to be asked about.",
    ),
    File(
        name="four lines inside a plate",
        body=PLATE + line("M15 15H105") + line("M105 15V65") + line("M105 65H15") + line("M15 65V15"),
        expected="cssss",
        why="Open lines inside a plate mark, whatever they go round.",
    ),
    File(
        name="group of lettering called opening hours",
        body=PLATE + group("Opening hours", LETTERS),
        expected="c????",
        why="The name says what is written there, not that it is an opening.",
    ),
)
