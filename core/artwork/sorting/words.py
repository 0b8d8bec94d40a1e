"""Words by which people name layers, groups and objects, and what they say about the purpose.

The words are common usage in each language (no source). To add a language, add its words to ``WORDS``; accents, case,
digits and punctuation do not matter, words of a phrase are joined by blanks.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

Said = Literal["cut", "score", "engrave", "fill", "guide"]
"""What a name says. "engrave" leaves open whether lines are scored or areas filled: that follows from the shape."""

WORDS: dict[Said, dict[str, str]] = {
    "cut": {
        "English": "cut, cuts, cutting, cutline, cutlines, cutout, cutouts, diecut, dieline, dielines, through cut, "
        "hole, holes, drill, drills, drilling, pierce, pierced, piercing, openings",
        "German": "schneiden, schnitt, schnitte, schnittlinie, schnittlinien, schneidlinie, schneidlinien, ausschnitt, "
        "ausschnitte, ausschneiden, konturschnitt, außenschnitt, innenschnitt, schnittkontur, schnittkonturen, "
        "schneidkontur, schneidkonturen, zuschnitt, stanzkontur, stanzlinie, stanzlinien, loch, löcher, bohrloch, "
        "bohrlöcher, langloch, langlöcher, bohrung, bohrungen",
        "French": "coupe, coupes, couper, découpe, découpes, découper, découpage, trou, trous, perçage, perçages",
        "Spanish": "corte, cortes, cortar, recorte, recortes, recortar, troquel, troquelado, agujero, agujeros, "
        "taladro, taladros, taladrar",
        "Italian": "taglio, tagli, tagliare, ritaglio, ritagli, fustella, fustellatura, foro, fori, foratura, forature",
        "Dutch": "snij, snijden, snijlijn, snijlijnen, uitsnijden, snede, sneden, gat, gaten",
        "Portuguese": "corte, cortes, cortar, recorte, recortes, furo, furos",
        "Polish": "cięcie, cięcia, wycięcie, wycięcia, wycinanie, otwór, otwory",
        "Swedish": "skära, skärning, skärlinje, skärlinjer, hål",
        "Danish and Norwegian": "skære, skjære, skæring, skjæring, skærelinje, skjærelinje, huller, hull",
        "Czech": "řez, řezy, řezání, řezat, otvor, otvory",
        "Finnish": "leikkaus, leikkaa, leikkauslinja, reikä, reiät",
        "Russian": "рез, резка, резать, вырез, отверстие, отверстия",
        "Japanese": "カット, 切断, 切り抜き",
        "Chinese": "切割, 剪切",
    },
    "score": {
        "English": "score, scores, scored, scoring, scoreline, fold, folds, folding, foldline, foldlines, crease, "
        "creases, bend, bends, kiss cut, kisscut, half cut, halfcut",
        "German": "ritzen, ritzlinie, ritzlinien, anritzen, rillen, rilllinie, rilllinien, falz, falzen, falzlinie, "
        "falzlinien, falten, faltlinie, faltlinien, biegen, biegelinie, biegelinien, abkanten, kantlinie, kantlinien, "
        "halbschnitt",
        "French": "rainage, rainages, rainer, pli, plis, plier, pliage, pliages, pliure, pliures, mi chair, mi coupe",
        "Spanish": "hendido, hendidos, pliegue, pliegues, plegado, plegar, doblar, doblez, dobleces, medio corte",
        "Italian": "cordonatura, cordonature, cordonare, piega, pieghe, piegare, piegatura, piegature, mezzo taglio",
        "Dutch": "vouw, vouwen, vouwlijn, vouwlijnen, rillijn, rillijnen, rits, ritsen, ritslijn, ritslijnen",
        "Portuguese": "vinco, vincos, dobra, dobras, meio corte",
        "Polish": "bigowanie, zagięcie, zagięcia, nacięcie, nacięcia",
        "Swedish": "bigning, viklinje, viklinjer, ritsa, ritsning",
        "Danish and Norwegian": "foldelinje, brettelinje, ridse, risse",
        "Czech": "ohyb, ohyby, rylování",
        "Finnish": "taitos, taitto, nuuttaus",
        "Russian": "биговка, сгиб, сгибы",
        "Japanese": "折り線, 折り, 筋押し",
        "Chinese": "折线, 压痕",
    },
    "engrave": {
        "English": "engrave, engraved, engraving, engravings, etch, etched, etching, raster, mark, marks, marking",
        "German": "gravur, gravuren, gravieren, graviert, gravierung, gravierungen, gravurlinie, gravurlinien, "
        "gravurfläche, gravurflächen, flächengravur, liniengravur, ätzen, ätzung, markieren, markierung, markierungen",
        "French": "gravure, gravures, graver, gravé, gravée, gravés, gravées, marquage, marquages, marquer",
        "Spanish": "grabado, grabados, grabada, grabadas, grabar, grabación, marcado, marcados, marcar",
        "Italian": "incisione, incisioni, incidere, inciso, incisa, incisi, incise, marcatura, marcature, marcare",
        "Dutch": "gravure, graveren, graveer, gravering, markering, markeringen",
        "Portuguese": "gravação, gravações, gravar, gravura, marcação",
        "Polish": "grawer, grawerowanie, grawerka, grawerunek, znakowanie",
        "Swedish": "gravyr, gravera, gravering, märkning",
        "Danish and Norwegian": "gravering, gravere, mærkning, merking",
        "Czech": "gravírování, gravírovat, rytina, popis",
        "Finnish": "kaiverrus, kaiverra, merkintä",
        "Russian": "гравировка, гравировать, маркировка",
        "Japanese": "彫刻, 刻印",
        "Chinese": "雕刻, 刻字",
    },
    "fill": {
        "English": "fill, fills, filled, filling, infill",
        "German": "füllen, füllung, füllungen, fläche, flächen",
        "French": "remplir, remplissage, remplissages, aplat, aplats",
        "Spanish": "relleno, rellenos, rellenar",
        "Italian": "riempimento, riempimenti, riempire",
        "Dutch": "vulling, vullingen, vullen, vlak, vlakken",
        "Portuguese": "preenchimento, preenchimentos, preencher",
        "Polish": "wypełnienie, wypełnienia",
        "Swedish": "fyllning, fyllningar, fylla",
        "Danish and Norwegian": "fyld, fyll, udfyldning, utfylling",
        "Czech": "výplň, výplně",
        "Finnish": "täyttö, täytöt",
        "Russian": "заливка, заливки",
        "Japanese": "塗り, 塗りつぶし",
        "Chinese": "填充",
    },
    "guide": {
        "English": "guide, guides, guideline, guidelines, centerline, centerlines, centreline, centrelines, "
        "center line, center lines, centre line, centre lines, construction, dimension, dimensions, annotation, "
        "annotations, ignore, do not burn",
        "German": "hilfslinie, hilfslinien, hilfsgeometrie, mittellinie, mittellinien, konstruktion, bemaßung, "
        "bemaßungen, maßlinie, maßlinien, konstruktionslinie, konstruktionslinien, anmerkung, anmerkungen, ignorieren, "
        "nicht brennen",
        "French": "repère, repères, cote, cotes, cotation, cotations, ignorer",
        "Spanish": "guía, guías, cota, cotas, acotación, acotaciones, construcción, ignorar",
        "Italian": "guida, linee guida, quotatura, quotature, costruzione, ignorare",
        "Dutch": "hulplijn, hulplijnen, maatvoering",
        "Portuguese": "guia, guias, linhas guia",
        "Polish": "pomocnicze, linie pomocnicze, wymiary",
        "Swedish": "hjälplinje, hjälplinjer, måttsättning",
        "Danish and Norwegian": "hjælpelinje, hjælpelinjer, hjelpelinje, hjelpelinjer",
        "Czech": "vodítka, pomocné čáry, kóty",
        "Finnish": "apuviiva, apuviivat, mitoitus",
        "Russian": "направляющие, размеры",
        "Japanese": "ガイド, 寸法",
        "Chinese": "参考线, 尺寸",
    },
}

_NEGATIONS = frozenset({
    "not", "never", "dont", "without", "nicht", "kein", "keine", "keinen", "ohne", "pas", "sans", "sin", "senza",
    "non", "niet", "geen", "zonder", "nao", "sem", "nie", "bez", "inte", "utan", "ikke", "uden", "uten", "не", "без",
})  # fmt: skip
_MACHINE = "laser"
"""Written together with what it does: "lasercut", "Lasergravur"."""
_NO = re.compile(r"\bno\b(?![.°\s]*\d)", re.IGNORECASE)
"""No, but not in "No. 5"."""
_WIDE_NO = re.compile("[不勿禁]|ない")
_WIDE_SCRIPT = re.compile(r"[\u3040-\u30ff\u4e00-\u9fff]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """What one name says. ``denied``: it says what the shape is not for."""

    said: Said
    name: str
    denied: bool = False


def words_of(names: Iterable[str]) -> tuple[Word, ...]:
    """What the names say, the innermost (last) first; names that say nothing, or two things, are left out."""
    return tuple(word for name in reversed(tuple(names)) if (word := word_of(name)) is not None)


@lru_cache(maxsize=4096)
def word_of(name: str) -> Word | None:
    """What one name says; None where it says nothing or more than one thing."""
    plain = _plain(name[:200])
    if not plain:
        return None
    text = f" {plain} "
    found: set[Said] = set()
    for phrase, said in _phrases():
        if f" {phrase} " in text:
            found.add(said)
            text = text.replace(f" {phrase} ", " ")
    tokens = text.split()
    table = _single_words()
    known = (token if token in table else token.removeprefix(_MACHINE) for token in tokens)
    found |= {table[token] for token in known if token in table}
    found |= {said for token, said in _wide_words() if token in plain}
    if len(found) != 1:
        return None
    denied = not _NEGATIONS.isdisjoint(tokens) or any(no.search(name) for no in (_NO, _WIDE_NO))
    (said,) = found
    return Word(said=said, name=name, denied=denied)


def _plain(text: str) -> str:
    """Lower case without accents, digits and punctuation; words written together by capitals taken apart."""
    apart = re.sub(r"(?<=[^\W\d_])(?=[A-Z][a-z])|(?<=[a-z])(?=[A-Z])", " ", text)
    folded = apart.casefold().replace("ł", "l").replace("ø", "o").replace("æ", "ae").replace("'", "").replace("’", "")
    bare = "".join(one for one in unicodedata.normalize("NFKD", folded) if not unicodedata.combining(one))
    return " ".join(re.findall(r"[^\W\d_]+", unicodedata.normalize("NFC", bare)))


def _entries() -> Iterable[tuple[str, Said]]:
    for said, languages in WORDS.items():
        for listed in languages.values():
            for word in listed.split(","):
                yield _plain(word), said


@lru_cache(maxsize=1)
def _single_words() -> dict[str, Said]:
    return {word: said for word, said in _entries() if " " not in word and not _WIDE_SCRIPT.search(word)}


@lru_cache(maxsize=1)
def _phrases() -> tuple[tuple[str, Said], ...]:
    return tuple((word, said) for word, said in _entries() if " " in word)


@lru_cache(maxsize=1)
def _wide_words() -> tuple[tuple[str, Said], ...]:
    """Words of scripts that put no blanks between words."""
    return tuple((word, said) for word, said in _entries() if _WIDE_SCRIPT.search(word))
