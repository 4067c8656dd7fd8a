"""Readers: a folder of saved things in, listings and problems out."""
