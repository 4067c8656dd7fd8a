"""python -m tests.evaluation.photo_benchmark: see evaluate.py."""

from tests.evaluation.photo_benchmark.evaluate import main

main()
