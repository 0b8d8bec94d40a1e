"""Which Tain this is. Imports nothing, so that ``tain --version`` starts nothing."""

VERSION = "0.2.0"
