"""Scripts that are run by hand, some with packages that the tests do not need, are no tests."""

collect_ignore = ["benchmarks", "evaluation", "fuzz"]
