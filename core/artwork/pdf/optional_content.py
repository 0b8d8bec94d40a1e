"""Which optional content of a PDF is switched off, by its default configuration (ISO 32000-1, 8.11.4)."""

import pikepdf

from core.artwork.pdf.objects import dictionaries, dictionary

Groups = frozenset[tuple[int, int]]
"""Object numbers of groups that are off."""

_MAX_DEPTH = 20


def hidden_groups(root: pikepdf.Object) -> Groups:
    """The groups that are off when the file is looked at."""
    properties = dictionary(dictionary(root).get("/OCProperties"))
    default = dictionary(properties.get("/D"))
    groups = dictionaries(properties.get("/OCGs"))
    off = {group.objgen for group in groups} if default.get("/BaseState") == "/OFF" else set()
    off |= {group.objgen for group in dictionaries(default.get("/OFF"))}
    off -= (
        {group.objgen for group in dictionaries(default.get("/ON"))} if default.get("/BaseState") == "/OFF" else set()
    )
    for group in groups:
        state = dictionary(dictionary(group.get("/Usage")).get("/View")).get("/ViewState")
        if state is not None:
            (off.add if state == "/OFF" else off.discard)(group.objgen)
        if not _meant_for_viewing(group):
            off.discard(group.objgen)
    return frozenset(off)


def shows(content: object, off: Groups, depth: int = 0) -> bool:
    """Whether a group, or a membership of groups, is on."""
    if not isinstance(content, pikepdf.Dictionary) or depth > _MAX_DEPTH:
        return True
    if content.get("/Type") != "/OCMD":
        return content.objgen not in off
    expression = content.get("/VE")
    if isinstance(expression, pikepdf.Array):
        return _holds(expression, off, depth)
    members = content.get("/OCGs")
    groups = [members] if isinstance(members, pikepdf.Dictionary) else dictionaries(members)
    states = [group.objgen not in off for group in groups]
    if not states:
        return True
    policy = str(content.get("/P", "/AnyOn"))
    if policy == "/AllOn":
        return all(states)
    if policy == "/AnyOff":
        return not all(states)
    if policy == "/AllOff":
        return not any(states)
    return any(states)


def name_of(content: object) -> str:
    """What a group, or the first of a membership, is called."""
    if not isinstance(content, pikepdf.Dictionary):
        return "without a name"
    name = content.get("/Name")
    if name is not None:
        return str(name)
    members = content.get("/OCGs")
    groups = [members] if isinstance(members, pikepdf.Dictionary) else dictionaries(members)
    return next((str(group["/Name"]) for group in groups if "/Name" in group), "without a name")


def _holds(expression: pikepdf.Object, off: Groups, depth: int) -> bool:
    if depth > _MAX_DEPTH or len(expression) == 0:
        return True
    said = [
        _holds(term, off, depth + 1) if isinstance(term, pikepdf.Array) else shows(term, off, depth + 1)
        for term in list(expression)[1:]
    ]
    operator = str(expression[0])
    if operator == "/Not":
        return not (said and said[0])
    return any(said) if operator == "/Or" else all(said)


def _meant_for_viewing(group: pikepdf.Object) -> bool:
    intent = group.get("/Intent", "/View")
    wanted = [str(one) for one in intent] if isinstance(intent, pikepdf.Array) else [str(intent)]
    return "/View" in wanted or "/All" in wanted
