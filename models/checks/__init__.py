"""The checks: evidence against the reference sheet, the listing against itself."""
