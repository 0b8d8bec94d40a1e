"""Which optional content of a PDF shows (ISO 32000-1, 8.11): groups off, memberships by policy and by expression."""

import pikepdf
import pytest

from core.artwork.pdf.optional_content import hidden_groups, name_of, shows


@pytest.fixture
def file():
    with pikepdf.new() as pdf:
        on, off = (pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=name)) for name in ("on", "off"))
        pdf.Root.OCProperties = pikepdf.Dictionary(
            OCGs=pikepdf.Array([on, off]), D=pikepdf.Dictionary(OFF=pikepdf.Array([off]))
        )
        yield pdf, on, off


def test_a_group_is_on_unless_it_is_listed_as_off(file):
    pdf, on, off = file
    hidden = hidden_groups(pdf.Root)
    assert shows(on, hidden) and not shows(off, hidden) and shows(None, hidden)
    pdf.Root.OCProperties.D = pikepdf.Dictionary(BaseState=pikepdf.Name.OFF, ON=pikepdf.Array([off]))
    hidden = hidden_groups(pdf.Root)
    assert not shows(on, hidden) and shows(off, hidden)


def test_a_group_that_is_not_meant_for_viewing_hides_nothing(file):
    pdf, _, off = file
    off.Intent = pikepdf.Name.Design
    assert shows(off, hidden_groups(pdf.Root))


@pytest.mark.parametrize(
    ("policy", "members", "seen"),
    (
        ("AnyOn", "both", True), ("AllOn", "both", False), ("AnyOff", "both", True), ("AllOff", "both", False),
        ("AnyOn", "off", False), ("AllOff", "off", True), ("AnyOn", "none", True), (None, "both", True),
    ),
)  # fmt: skip
def test_a_membership_shows_by_its_policy(file, policy, members, seen):
    pdf, on, off = file
    groups = {"both": [on, off], "off": [off], "none": []}[members]
    content = pikepdf.Dictionary(Type=pikepdf.Name.OCMD, OCGs=pikepdf.Array(groups))
    if policy:
        content.P = pikepdf.Name("/" + policy)
    assert shows(content, hidden_groups(pdf.Root)) is seen


def test_an_expression_goes_before_the_policy(file):
    pdf, on, off = file
    word = pikepdf.Name
    content = pikepdf.Dictionary(Type=word.OCMD, OCGs=pikepdf.Array([off]), P=word.AllOn)
    for expression, seen in (
        ([word.Not, off], True), ([word.And, on, off], False), ([word.Or, on, off], True),
        ([word.And, on, pikepdf.Array([word.Not, off])], True),
    ):  # fmt: skip
        content.VE = pikepdf.Array(expression)
        assert shows(content, hidden_groups(pdf.Root)) is seen


def test_a_membership_is_called_as_its_first_group(file):
    _, on, off = file
    assert name_of(off) == "off" and name_of(pikepdf.Dictionary(OCGs=pikepdf.Array([on, off]))) == "on"
    assert name_of(None) == "without a name"
