"""Run `tests.bench.class_graded`: ``python -m tests.bench.grading`` with its numbers.

Processes that mark import the module again which was started, so that this one, as the
command does, imports nothing that they do not need.
"""

import sys

if __name__ == "__main__":
    from tests.bench.class_graded import main

    main(*map(int, sys.argv[1:]))
