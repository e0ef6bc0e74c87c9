"""Which of several hand-ins counts: what goes on from another, what nobody knows."""

import itertools
import json
import os
import random
import zipfile
from datetime import UTC, datetime, timedelta

import pytest

from answer_keys.errors import ChoiceError
from answer_keys.gradebook.choices import choices_from
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.hand_ins.continuation import goes_on_from, heads_of, lacking
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.reports.report import class_in
from generator.grading.class_grading import grade_into
from tests.answer_keys.hand_ins.test_typed_answers import steps_of, table
from tests.answer_keys.samples import (
    ROSTER,
    SET_ID,
    TEST_IDS,
    Writer,
    sample_key,
    work_through,
)

KEY = sample_key()
RECORDS = KEY.of_student("s01")
MONDAY = datetime(2026, 11, 30, 8, tzinfo=UTC)
DAY = timedelta(days=1)
FIRST, LAST, BEST = (f'counts = "{word}"\n' for word in ("first", "last", "best"))
DEADLINE = "deadline = 2026-12-01T12:00:00+00:00\n"


def worked(exercises=(1, 2), *, care=1.0, session="honest", start=MONDAY, lines=()):
    """A hand-in of s01, as its lines."""
    writer = Writer(session=session, start=start)
    writer.lines += lines
    for number in exercises:
        work_through(writer, RECORDS[number], TEST_IDS[2:3], care=care)
    return writer.lines


def wrong(start=MONDAY, session="wrong", item="coil_current"):
    """A hand-in in the name of s01 with one wrong prediction and nothing else."""
    writer = Writer(session=session, start=start)
    writer.answer(1, "prediction", item, 9999.0)
    return writer.lines


def put(path, lines, at=MONDAY + DAY):
    """Lay a file down, as old as is said."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"".join(line + b"\n" for line in lines))
    os.utime(path, (at.timestamp(), at.timestamp()))


class Class:
    """A folder with a gradebook, graded again and again, each time a day later."""

    def __init__(self, folder, text=""):
        self.folder = folder / "handed-in"
        self.folder.mkdir()
        self.place = folder / "book.sqlite"
        self.rubric = rubric_from_text(f"{rubric_text()}\n[hand_ins]\n{text}")
        self.at = MONDAY + DAY

    def grade(self, *taken, roster=ROSTER):
        """Grade; what became of the files, by name."""
        self.at += DAY
        with Gradebook(self.place) as book:
            chosen = choices_from(taken, book.known(SET_ID))
            book.choose(SET_ID, chosen, self.at)
            grade_into(book, KEY, dict(roster), self.rubric, self.folder, at=self.at)
            self.result = class_in(book, KEY, roster)
        return {one.name: one for one in self.result.receipts}

    @property
    def total(self):
        """The total of s01."""
        return self.result.students[0].total


def statuses(files):
    """Status of each file by name."""
    return {name: one.status for name, one in files.items()}


@pytest.fixture
def klass(tmp_path):
    """A class of the plain rule."""
    return Class(tmp_path)


# What is honest


def test_later_download_counts_without_a_word(klass):
    """It holds all of the earlier one, session by session, and more."""
    first = worked([1])
    later = first + worked([2], session="evening", start=MONDAY + DAY / 4)[1:]
    put(klass.folder / "hand-in-s01 (1).jsonl", later)
    put(klass.folder / "hand-in-s01.jsonl", first)
    files = klass.grade()
    assert statuses(files) == {
        "hand-in-s01 (1).jsonl": "graded",
        "hand-in-s01.jsonl": "superseded",
    }
    assert files["hand-in-s01 (1).jsonl"].reason == ""


def test_download_that_takes_the_place_of_the_earlier_one_counts(klass):
    """A platform keeps one file of each student: the gradebook knows the one before."""
    first = worked([1])
    put(klass.folder / "s01.jsonl", first)
    klass.grade()
    put(klass.folder / "b.jsonl", wrong())
    klass.grade()
    put(klass.folder / "s01.jsonl", first + worked([2], session="later")[1:])
    files = klass.grade()
    assert statuses(files) == {"b.jsonl": "undecided", "s01.jsonl": "graded"}


@pytest.mark.parametrize("ends", [b"\n", b"\r\n"])
def test_file_saved_again_by_a_platform_is_the_same_work(klass, ends):
    """With another line end and a byte order mark."""
    put(klass.folder / "a.jsonl", worked([1]))
    (klass.folder / "b.jsonl").write_bytes(
        b"\xef\xbb\xbf" + b"".join(line + ends for line in worked([1, 2]))
    )
    files = klass.grade()
    assert statuses(files) == {"a.jsonl": "superseded", "b.jsonl": "graded"}


# What nobody knows


@pytest.mark.parametrize("rule", [FIRST, LAST, BEST])
@pytest.mark.parametrize("year", [1970, 2026, 9999])
def test_stranger_takes_no_mark_whatever_the_date(tmp_path, rule, year):
    """Four files in a student's name with one wrong prediction each change nothing,
    neither before the honest one is known nor after; each is told."""
    klass = Class(tmp_path, rule)
    put(klass.folder / "honest.jsonl", worked())
    klass.grade()
    alone = klass.total
    items = [key.id for key in RECORDS[1].predictions]
    start = datetime(year, 12, 30, 23, 59, tzinfo=UTC)
    for number, item in enumerate(["coil_current", *items]):
        lines = wrong(start, session=f"x{number}", item=item)
        put(klass.folder / f"attacker {number}.txt", lines, at=MONDAY - 300 * DAY)
    files = klass.grade()
    assert klass.total == alone
    assert files.pop("honest.jsonl").status == "graded"
    assert set(statuses(files).values()) <= {"undecided", "superseded"}
    klass.place.unlink()
    if year != 2026:
        # A gradebook that knows neither has only the times of the files.
        for path in klass.folder.iterdir():
            os.utime(path, (MONDAY.timestamp(), MONDAY.timestamp()))
    else:
        put(klass.folder / "honest.jsonl", worked(), at=MONDAY - 400 * DAY)
    klass.grade()
    assert klass.total == alone


def test_both_are_shown_with_the_command_to_choose(klass):
    """On what counts until then, and on what does not."""
    put(klass.folder / "a.jsonl", worked([1]))
    put(klass.folder / "b.jsonl", worked([1, 2], session="other"), at=MONDAY + 2 * DAY)
    files = klass.grade()
    counting, other = files["a.jsonl"], files["b.jsonl"]
    assert (counting.status, other.status) == ("graded", "undecided")
    assert "Until you choose, this one counts for s01 and not “b.jsonl”" in (
        counting.reason
    )
    assert other.reason == (
        "Lacks 7 of the 7 entries of a.jsonl, which counts until you choose. To take "
        f"this one, type: clampbook grade SET --take s01 {other.code}. To take both as "
        f"one work, type: clampbook grade SET --take s01 {counting.code} "
        f"--take s01 {other.code}."
    )


def test_earlier_is_what_the_gradebook_saw_first(tmp_path):
    """Neither the date inside nor that of the file says more than somebody's word."""
    klass = Class(tmp_path, FIRST)
    put(klass.folder / "z.jsonl", worked(), at=MONDAY + DAY)
    klass.grade()
    older = worked([1], session="other", start=MONDAY - 9 * DAY)
    put(klass.folder / "a.jsonl", older, at=MONDAY - 9 * DAY)
    assert statuses(klass.grade()) == {"a.jsonl": "undecided", "z.jsonl": "graded"}


def test_work_begun_again_is_told(klass):
    """A deleted journal shows beside a hand-in of it, and where that is gone."""
    put(klass.folder / "a.jsonl", worked(care=0.5))
    klass.grade()
    again = worked(session="again")
    put(klass.folder / "b.jsonl", again)
    assert statuses(klass.grade()) == {"a.jsonl": "graded", "b.jsonl": "undecided"}
    (klass.folder / "a.jsonl").unlink()
    for _ in range(2):
        (only,) = klass.grade().values()
        assert only.status == "graded"
        assert "“a.jsonl”, which counted before, is not in handed-in/" in only.reason
    assert klass.grade(("s01", only.code))["b.jsonl"].reason == "Counts as you chose."


@pytest.mark.parametrize("rule", [LAST, BEST])
def test_lines_that_were_taken_out_are_told(tmp_path, rule):
    """Whoever takes hints or tests out of a journal lacks what came after them, too."""
    klass = Class(tmp_path, rule)
    lines = worked()
    put(klass.folder / "a.jsonl", lines)
    put(klass.folder / "b.jsonl", lines[:5] + lines[7:])
    files = klass.grade()
    assert files["a.jsonl"].status == "graded"
    assert files["b.jsonl"].status != "graded"
    if rule == LAST:
        assert "Lacks 11 of the 14 entries of a.jsonl" in files["b.jsonl"].reason


def test_best_says_how_many_were_tried(tmp_path):
    """Of what was handed in by guessing, too; the same bytes twice are one try."""
    klass = Class(tmp_path, BEST)
    for number in range(5):
        guess = worked([1], care=0.5, session=f"guess{number}")
        put(klass.folder / f"guess-{number}.jsonl", guess)
    put(klass.folder / "good.jsonl", worked([1]))
    put(klass.folder / "good again.jsonl", worked([1]))
    files = klass.grade()
    (counting,) = [one for one in files.values() if one.status == "graded"]
    assert counting.name.startswith("good")
    assert counting.reason == "The best of 6 hand-ins."


# The instructor chooses


@pytest.fixture
def two(klass):
    """A student who worked one exercise on each of two computers; their codes."""
    put(klass.folder / "bench.jsonl", worked([1], session="bench"))
    home = worked([2], session="home", start=MONDAY + DAY / 4)
    put(klass.folder / "home.jsonl", home, at=MONDAY + 2 * DAY)
    files = klass.grade()
    assert statuses(files) == {"bench.jsonl": "graded", "home.jsonl": "undecided"}
    return klass, files["bench.jsonl"].code, files["home.jsonl"].code


def test_either_of_two_computers_can_be_taken(two):
    """The choice holds for later gradings, and going back is one, too."""
    klass, bench, home = two
    before = klass.total
    for taken in ([("s01", home)], []):
        files = klass.grade(*taken)
        assert statuses(files) == {"bench.jsonl": "superseded", "home.jsonl": "graded"}
        assert files["home.jsonl"].reason == "Counts as you chose."
        assert files["bench.jsonl"].reason.startswith(
            "Set aside, because you chose home.jsonl. To take this one, type:"
        )
    klass.grade(("s01", bench))
    assert klass.total == before
    assert statuses(klass.grade(("s01", "none"))) == {
        "bench.jsonl": "graded",
        "home.jsonl": "undecided",
    }


def test_both_of_two_computers_are_one_work(two, tmp_path):
    """As if the student had put both journals into one folder."""
    klass, bench, home = two
    one_folder = tmp_path / "one"
    one_folder.mkdir()
    whole = Class(one_folder)
    both = worked([1], session="bench")
    both += worked([2], session="home", start=MONDAY + DAY / 4)[1:]
    put(whole.folder / "a.jsonl", both)
    whole.grade()
    for taken in ([("s01", bench), ("s01", home)], []):
        files = klass.grade(*taken)
        assert set(statuses(files).values()) == {"graded"}
        assert files["bench.jsonl"].reason == (
            "Counts together with “home.jsonl”, as you chose."
        )
        assert klass.total == whole.total
        assert klass.result.students[0].file == "bench.jsonl + home.jsonl"


def test_choice_goes_on_with_what_was_chosen(two):
    """A later hand-in of the chosen work counts; another one is set aside."""
    klass, bench, home = two
    klass.grade(("s01", home))
    later = worked([2, 3], session="home", start=MONDAY + DAY / 4)
    put(klass.folder / "home later.jsonl", later)
    put(klass.folder / "third.jsonl", worked([3], session="third"))
    files = klass.grade()
    assert [name for name, one in files.items() if one.status == "graded"] == [
        "home later.jsonl"
    ]
    assert files["third.jsonl"].reason.startswith("Set aside, because you chose")
    klass.grade(("s01", bench), ("s01", home))
    assert klass.result.students[0].file.count("home later.jsonl") == 1
    for path in klass.folder.glob("home*"):
        path.unlink()
    klass.grade(("s01", home))
    (counting,) = [one for one in klass.grade().values() if one.status == "graded"]
    assert "What you chose is not in handed-in/ any more." in counting.reason


def test_code_of_nothing_or_of_several_is_told(two):
    """With what there is to take; nothing is changed."""
    klass, bench, home = two
    for code in ("zz", ""):
        with pytest.raises(ChoiceError, match=f"{bench} .bench.jsonl., {home}") as told:
            klass.grade(("s01", code))
        assert f"“{code}” is the code of" in str(told.value)
    with pytest.raises(ChoiceError, match="Nothing of student “s99” was graded yet"):
        klass.grade(("s99", bench))
    assert statuses(klass.grade())["bench.jsonl"] == "graded"


def test_order_of_files_and_grading_again_change_nothing(klass):
    """Whatever names the files have, and however often they are graded."""
    works = [worked([1]), worked([1, 2]), worked([2], session="b"), wrong()]
    seen = set()
    for number, order in enumerate([*itertools.permutations(works)][::4]):
        for path in klass.folder.iterdir():
            path.unlink()
        klass.place.unlink(missing_ok=True)
        for place, lines in enumerate(order):
            put(klass.folder / f"{place}.jsonl", lines)
        klass.at = MONDAY + DAY
        first = klass.grade()
        counting = {one.code for one in first.values() if one.status == "graded"}
        seen.add((klass.total, *counting))
        if number == 0:
            assert klass.grade() == first
    assert len(seen) == 1


# Whose it is


@pytest.mark.parametrize(
    "name",
    [
        "s02.jsonl",
        "s02/hand-in-k7m2q-s01.jsonl",
        "FERRANT_Jonas_88123_file/hand-in-k7m2q-s01.jsonl",
        "class.zip/Jonas Ferrant/hand-in-k7m2q-s01.jsonl",
        "Jonas-Ferrant.zip/a.jsonl",
        "Ferrant Jonas_881_hand-in-k7m2q-s01.jsonl",
        "hand-in-k7m2q-s02.jsonl",
    ],
)
def test_place_that_names_another_is_told(klass, name):
    """And what lies there never takes the place of what lies elsewhere."""
    first, _, inner = name.partition(".zip/")
    lines = worked([1, 2, 3], care=0.5)
    if inner:
        with zipfile.ZipFile(klass.folder / f"{first}.zip", "w") as packed:
            packed.writestr(inner, b"".join(line + b"\n" for line in lines))
    else:
        put(klass.folder / name, lines)
    files = klass.grade()
    assert files[name].status == "graded"
    assert "It says that s01 wrote it, and “" in files[name].reason
    assert "” names s02: ask whose work it is." in files[name].reason
    put(klass.folder / "own.jsonl", worked([1]))
    files = klass.grade()
    assert statuses(files) == {name: "undecided", "own.jsonl": "graded"}
    assert "names s02" in files[name].reason


@pytest.mark.parametrize(
    "name",
    [
        "hand-in-k7m2q-s01.jsonl",
        "Aldeen Mira_77_hand-in-k7m2q-s01 (1).jsonl",
        "Jonas Ferrant and Mira Aldeen/hand-in-k7m2q-s01.jsonl",
        "week s0211/hand-in.jsonl",
    ],
)
def test_place_that_names_the_student_or_nobody_is_no_remark(klass, name):
    """As platforms and people call files and folders."""
    put(klass.folder / name, worked())
    assert klass.grade()[name].reason == ""


def test_empty_hand_in_gives_way_whatever_the_rule(tmp_path):
    """To what a student did on paper, too."""
    klass = Class(tmp_path, FIRST)
    put(klass.folder / "empty.jsonl", Writer().lines)
    klass.grade()
    (klass.folder / "notes.csv").write_bytes(table(steps_of(RECORDS[1])))
    assert statuses(klass.grade()) == {
        "empty.jsonl": "superseded",
        "notes.csv/s01": "graded",
    }


def test_typed_answers_are_set_aside_with_a_word(klass):
    """What a workbook says counts; it is told, with the way back."""
    (klass.folder / "notes.csv").write_bytes(table(steps_of(RECORDS[1])))
    put(klass.folder / "page.jsonl", wrong())
    files = klass.grade()
    typed = files["notes.csv/s01"]
    assert typed.status == "superseded"
    assert "Set aside for it is “notes.csv/s01”" in files["page.jsonl"].reason
    assert typed.reason.endswith(f"clampbook grade SET --take s01 {typed.code}.")
    assert klass.grade(("s01", typed.code))["notes.csv/s01"].status == "graded"


@pytest.mark.parametrize("name", ["s02.zip", "s02/notes.csv"])
def test_typed_answers_come_from_the_instructor_alone(klass, name):
    """What lies in an archive or a folder is a student's, and gives nobody a mark."""
    data = table(steps_of(RECORDS[1]))
    path = klass.folder / name
    path.parent.mkdir(exist_ok=True)
    if name.endswith(".zip"):
        with zipfile.ZipFile(path, "w") as packed:
            packed.writestr("notes.csv", data)
    else:
        path.write_bytes(data)
    (receipt,) = klass.grade().values()
    assert receipt.status == "refused"
    assert "table lies in handed-in/ itself" in receipt.reason
    assert klass.result.graded == ()


# Times


@pytest.mark.parametrize("clock", ["file", "archive", "student"])
def test_future_dates_are_told(tmp_path, clock):
    """A day ahead may be a zone; more is none."""
    klass = Class(tmp_path, f'{DEADLINE}clock = "{clock}"\n')
    put(klass.folder / "a.jsonl", worked(start=MONDAY + 9 * DAY))
    (receipt,) = klass.grade().values()
    assert "yet it was here on 2026-12-02 08:00 UTC" in receipt.reason
    first = receipt.reason
    klass.at += 30 * DAY
    assert klass.grade()["a.jsonl"].reason == first


@pytest.mark.parametrize(
    ("ahead", "is_told"),
    [(timedelta(minutes=-5), False), (timedelta(minutes=5), False), (DAY, True)],
)
def test_entries_after_the_files_own_time_are_told(klass, ahead, is_told):
    """Clocks differ by minutes; files that were touched, by more."""
    lines = worked([1])
    end = datetime.fromisoformat(json.loads(lines[-1])["time"])
    put(klass.folder / "a.jsonl", lines, at=end - ahead)
    (receipt,) = klass.grade().values()
    assert ("after the time of its file" in receipt.reason) == is_told


def test_entries_after_the_deadline_are_told(tmp_path):
    """Of a file that was touched so that it came in time."""
    klass = Class(tmp_path, DEADLINE)
    put(klass.folder / "a.jsonl", worked(start=MONDAY + 60 * DAY), at=MONDAY)
    klass.at += 90 * DAY
    (receipt,) = klass.grade().values()
    assert klass.result.students[0].late_days == 0
    assert "after the time of its file, 2026-11-30 08:00 UTC" in receipt.reason
    assert "after the deadline, and yet it counts as in time" in receipt.reason


def test_zone_of_an_archive_is_no_remark(tmp_path):
    """Times in archives have none, so that hours say nothing."""
    klass = Class(tmp_path, 'clock = "archive"\n')
    data = b"".join(line + b"\n" for line in worked([1]))
    with zipfile.ZipFile(klass.folder / "class.zip", "w") as packed:
        stamp = (MONDAY - timedelta(hours=13)).astimezone().timetuple()[:6]
        packed.writestr(zipfile.ZipInfo("a.jsonl", stamp), data)
    (receipt,) = klass.grade().values()
    assert receipt.reason == ""


# How it is told


def trail_of(lines):
    return read_hand_in("a", b"".join(line + b"\n" for line in lines)).trail


def test_work_goes_on_from_its_beginnings_and_from_nothing_else():
    """For every place where it is cut, and every entry that is changed."""
    lines = worked([1]) + worked([2], session="b")[1:]
    whole = trail_of(lines)
    for end in range(2, len(lines) + 1):
        part = trail_of(lines[:end])
        assert goes_on_from(whole, heads_of(part))
        assert goes_on_from(part, heads_of(whole)) == (part == whole)
        assert (
            lacking(part, whole)
            == sum(len(v) for v in whole.values()) // 8
            - sum(len(v) for v in part.values()) // 8
        )
    dice = random.Random(1)
    for place in dice.sample(range(2, 9), 4):
        changed = [*lines[:place], *lines[place + 1 :]]
        assert not goes_on_from(trail_of(changed), heads_of(whole))
        changed[place - 1] = lines[place - 1].replace(b'"seq":', b'"seq":9')
        assert not goes_on_from(trail_of(changed), heads_of(whole))
