"""Kinds of DXF entities that are drawn with a word, passed over, or can't be read."""

ANNOTATIONS = {"DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MULTILEADER", "ACAD_TABLE"}
"""Drawn, but told apart: they speak about the piece and are seldom meant to be burned."""

LEFT_OUT = frozenset({"dxf-invisible", "dxf-points", "dxf-paper-space", "dxf-hidden"})
"""Codes of what the file itself keeps out of sight, or has without extent."""

UNREADABLE = frozenset({
    "dxf-text-too-long", "dxf-no-font", "dxf-bad-entity", "dxf-not-read", "dxf-bad-coordinates", "dxf-external",
    "dxf-too-many-copies", "dxf-block-cycle", "dxf-block-scale",
})  # fmt: skip
"""Codes of what the file has and could not be read."""

LETTERING = {"TEXT", "MTEXT", "ATTRIB", "ATTDEF"}

NOT_ARTWORK = {
    "VIEWPORT",
    "SEQEND",
    "ATTDEF",
    "LIGHT",
    "SUN",
    "CAMERA",
    "ACIDBLOCKREFERENCE",
    "GEODATA",
    "SECTIONOBJECT",
}

MAX_NAMED_PICTURES = 40
"""So many get a finding of their own with their size."""

NO_OUTLINE = {
    "3DSOLID": "a solid body",
    "BODY": "a solid body",
    "REGION": "a region stored as modelling data",
    "SURFACE": "a surface",
    "PLANESURFACE": "a surface",
    "EXTRUDEDSURFACE": "a surface",
    "LOFTEDSURFACE": "a surface",
    "REVOLVEDSURFACE": "a surface",
    "SWEPTSURFACE": "a surface",
    "MESH": "a mesh",
    "IMAGE": "a raster picture",
    "WIPEOUT": "a cover-up area",
    "RAY": "a line without end",
    "XLINE": "a line without end",
    "TOLERANCE": "a tolerance frame",
    "SHAPE": "a shape-font symbol",
    "OLEFRAME": "an embedded object",
    "OLE2FRAME": "an embedded object",
    "PDFUNDERLAY": "an underlay",
    "DWFUNDERLAY": "an underlay",
    "DGNUNDERLAY": "an underlay",
}
