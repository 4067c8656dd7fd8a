"""Draws the photos of demo_listings and writes its listings; run by hand, results are committed."""
