"""What is wrong with artwork before it is burned, and what can be mended."""
