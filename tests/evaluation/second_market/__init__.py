"""A second made-up market, written in another voice than evaluate_ranking's; half is kept back."""
