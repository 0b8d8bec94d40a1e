"""The one immutable Job and the Plan derived from it."""
