"""Dialogs of our own."""
