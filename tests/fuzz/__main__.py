"""``python -m tests.fuzz [CASES]``: a million cases, led by what code they reach.

Needs Atheris (``pip install atheris``), a fuzzer that is told which branches a case has
taken. A case that fails is written beside the folder that the program is started in,
and goes into ``test_found.py`` once it is mended.
"""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["answer_keys", "workbook"]):
    from tests.fuzz import targets

WORDS = ("NaN", "1e999", "\\ud800", "\\u202e", '"kind":"journal"', "PK\\x03\\x04", "--")


def main(cases="1000000"):
    with tempfile.TemporaryDirectory() as place:
        corpus = Path(place)
        for number, seed in enumerate(targets.seeds()):
            (corpus / str(number)).write_bytes(seed)
            # Libraries that are loaded late are loaded now: each case has its time.
            targets.on(seed)
        words = corpus.with_name(corpus.name + ".words")
        lines = (word.replace('"', '\\"') for word in WORDS)
        words.write_text(
            "".join(f'"{line}"\n' for line in lines).replace("\\u", "\\\\u")
        )
        options = [
            f"-runs={cases}",
            "-max_len=6000",
            "-len_control=0",
            "-timeout=5",
            "-seed=1",
        ]
        options += ["-rss_limit_mb=1500", f"-dict={words}", str(corpus)]
        atheris.Setup([sys.argv[0], *options], targets.on)
        atheris.Fuzz()


if __name__ == "__main__":
    main(*sys.argv[1:])
