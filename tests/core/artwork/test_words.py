"""What names of layers, groups and objects say, language by language."""

import pytest

from core.artwork.sorting.words import word_of

SAID = {
    "cut": "Lasercut|laser_cut|Laserschnitt|Schnittkontur|Außenschnitt|AUSSENSCHNITT|Bohrlöcher|Thru cut|"
    "tracé de coupe|Contorno de corte|troquel|linea di taglio|foratura|snij|Löcher 3 mm",
    "score": "Kisscut|Biegen|pliure|plegar|piegatura|ritslijn|Halbschnitt|fold_line",
    "engrave": "Lasergravur|Gravurfläche|laserengrave|gravée|marcar|incisa|graveer|レーザー彫刻",
    "guide": "Center line|Hilfslinien|Konstruktionslinien|acotaciones",
}
NOTHING = "Opening hours|Quote|Cutlery|Marker|Durchschnitt|Querschnitt|Laser|Cut/Engrave|corte y grabado|uncut"
DENIED = "DO NOT CUT|nicht schneiden|non tagliare|ne pas couper|no cortar|不切割|切断しない"


@pytest.mark.parametrize(("said", "name"), [(said, name) for said, names in SAID.items() for name in names.split("|")])
def test_a_name_says_what_its_words_say(said: str, name: str) -> None:
    word = word_of(name)
    assert word is not None
    assert (word.said, word.denied) == (said, False)


@pytest.mark.parametrize("name", NOTHING.split("|"))
def test_a_name_without_such_words_or_with_two_says_nothing(name: str) -> None:
    assert word_of(name) is None


@pytest.mark.parametrize("name", DENIED.split("|"))
def test_a_name_may_say_what_a_shape_is_not_for(name: str) -> None:
    word = word_of(name)
    assert word is not None
    assert (word.said, word.denied) == ("cut", True)
