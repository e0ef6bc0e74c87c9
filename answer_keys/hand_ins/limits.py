"""Limits of what the hand-in reader takes; a returned file is hostile input.

A journal of ten exercises has about 300 lines of 300 bytes; every limit leaves a
factor of ten or more above honest use.
"""

from __future__ import annotations

from answer_keys.errors import RefusedError
from workbook.texts import grouped

MAX_HAND_IN_BYTES = 2_000_000
MAX_LINES = 10_000
MAX_LINE_BYTES = 8_000
# A class of 200 with ten exercises types some 20,000 rows.
MAX_TYPED_ROWS = 50_000
# A line is one object; an order or lines of text are a list in it. The rest is room.
MAX_DEPTH = 4
MAX_NUMBER_DIGITS = 40
# A float holds every whole number of fifteen digits exactly.
MAX_INTEGER_DIGITS = 15
MAX_INTEGER = 10**MAX_INTEGER_DIGITS - 1
MAX_ID_LENGTH = 100
MAX_RAW_LENGTH = 200
# Far more than any question has options or lines.
MAX_ANSWER_ITEMS = 20

# Learning platforms pack a whole class, with every attempt, into one archive.
MAX_ZIP_BYTES = 50_000_000
MAX_ZIP_MEMBERS = 500
MAX_ZIP_TOTAL_BYTES = 200_000_000
# Journals, full of hashes, pack to a third; what packs a hundredfold is a bomb.
MAX_ZIP_RATIO = 100
# An archive of the class may hold what students have zipped themselves.
MAX_ZIP_NESTING = 1

# All are read again at each grading, half an hour's work of two processors. Of each its
# name lies in memory, and of those beyond that are listed.
MAX_FILES = 200_000
MAX_LISTED_FILES = 3 * MAX_FILES
# Downloads sort by course, assignment, student and attempt.
MAX_FOLDER_DEPTH = 8

# Of the process that reads: seconds without a sign of life, and memory that it may
# ask for. An archive at its limits takes a tenth of either.
MAX_SILENT_S = 60.0
MAX_READER_BYTES = 3_000_000_000


def refuse_above(most: int, count: int, told: str) -> None:
    """Refuse what has more than a limit, in words that name it as ``{most}``."""
    if count > most:
        raise RefusedError(told.format(most=grouped(most)))
