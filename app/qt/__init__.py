"""What stands between Tain and Qt."""
