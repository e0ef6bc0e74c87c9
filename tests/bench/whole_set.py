"""What a set takes from its drawing to its paper, for classes of several sizes.

``python -m tests.bench.whole_set [STUDENTS] ...``: sets of one exercise a student are
generated, put on paper and validated as by ``clampbook generate``, ``handouts`` and
``validate``, each step by one process of its own. Where three sizes are given, or none,
it ends with what the largest class takes of each step's work and memory against what is
proportional. Each page is printed by itself, so that PDFs are made of small classes
alone.
"""

import sys
from collections import defaultdict
from pathlib import Path
from tempfile import TemporaryDirectory

from generator.drawing.request import Request
from generator.paper.pdf_files import print_pages
from generator.paper.printing import can_print
from generator.sets.roster import invented_roster
from generator.sets.set_writing import write_class_set
from generator.week import on_paper
from generator.week.checking import check
from generator.week.opened import opened_set
from tests.bench.large_class import of_proportional
from tests.bench.worked_class import alone, peak_mb, work_of_all
from tests.drawn import SECRET

SIZES = (10, 100, 1000)
MOST_PRINTED = 100


def generated(folder, students):
    """Draw and write a set."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(students),
        exercises=1,
        mode="practice",
    )
    write_class_set(folder, request, secret=SECRET)


def on_pages(folder, _students):
    """Write the pages of a set, and print none."""
    on_paper.can_print = lambda: False
    on_paper.paper(opened_set(folder), workers=1)


def validated(folder, _students):
    """Check a set with its pages."""
    assert check(opened_set(folder), workers=1).is_sound


def printed(folder, _students):
    """Print all pages of a set."""
    print_pages(sorted(folder.rglob("*.html")), lambda *_: None, workers=1)


def taken(step, folder, students):
    """Seconds of work and MB at most of one step."""
    step(folder, students)
    return work_of_all(), peak_mb()


def main(*sizes):
    sizes = sorted(sizes or SIZES)
    work_s, most_mb = defaultdict(dict), defaultdict(dict)
    with TemporaryDirectory() as place:
        for students in sizes:
            folder = Path(place) / f"{students}"
            for step in (generated, on_pages, validated, printed):
                is_small = students <= MOST_PRINTED
                if step is printed and not (is_small and can_print()):
                    continue
                name = step.__name__
                spent, most = alone(taken, step, folder, students)
                work_s[name][students], most_mb[name][students] = spent, most
                print(
                    f"{students:6} students {name:10} {spent:7.1f} s, {most:5.0f} MB",
                    flush=True,
                )
    for name, work in work_s.items():
        if len(work) == 3:
            print(
                f"{sizes[-1]} students, {name}, of what is proportional: work "
                f"{of_proportional(work):.2f}, "
                f"memory {of_proportional(most_mb[name]):.2f}"
            )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
