"""A page a stage of the work; a stage of several parts is a folder."""
