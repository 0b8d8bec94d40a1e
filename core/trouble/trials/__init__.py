"""The trial that settles a cause: planned by lot, laid on an offcut, read on scales, told with its chances."""
