"""A benchmark of reused pictures: originals, edits, hard negatives, figures, training."""
