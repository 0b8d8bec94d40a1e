"""Burn: recipes, dose window, advice."""
