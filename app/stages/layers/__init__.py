"""Layers: what is filled, cut, scored or left out, and why."""
