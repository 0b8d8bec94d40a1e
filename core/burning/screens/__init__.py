"""Tones as spans of scan rows: lines, dots and grain, compensated by what a span really bares."""
