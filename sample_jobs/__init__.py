"""Samples of artwork, drawn for this project; README.md says what each shows."""
