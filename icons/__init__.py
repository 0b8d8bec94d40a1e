"""The line icons, drawn for this project; app/icons.py shows them."""
