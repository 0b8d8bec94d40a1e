"""DXF, R12 to R2018, ASCII and binary, to a Drawing (``reading``)."""
