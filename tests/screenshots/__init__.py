"""Pictures made through the real window, without a screen."""
