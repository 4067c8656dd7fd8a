"""Photos: safe decoding, fingerprints, and the pairs that show the same picture.

Import the modules by name (decode, fingerprint, pairs ...); this file loads nothing, so that a
record type can be used without OpenCV.
"""
