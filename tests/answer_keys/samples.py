"""An answer key written by hand, and journals of students who work through it."""

import hashlib
import json
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from tests.keys import answer_key_of
from workbook.record.progress import Answer, ExerciseProgress, TestDone, replay

SET_ID = "k7m2q"
ROSTER = (("s01", "Mira Aldeen"), ("s02", "Jonas Ferrant"), ("s03", "Ilse Okafor"))

# id, prior, repair, what the cause is called
FAULTS = (
    ("control_fuse_open", 0.10, "replace_control_fuse", "Control fuse blown"),
    ("coil_open", 0.14, "replace_relay", "Relay coil open"),
    ("contacts_open", 0.16, "replace_relay", "Relay contacts do not close"),
    ("driver_stuck_off", 0.08, "replace_module", "Module's driver does not switch"),
    ("load_fuse_open", 0.12, "replace_load_fuse", "Load fuse blown"),
    ("load_wire_open", 0.12, "repair_load_wire", "Wire from 87 to the fan open"),
    ("load_ground_high", 0.18, "clean_load_ground", "Fan ground has high resistance"),
    ("motor_seized", 0.10, "replace_load", "Fan motor seized"),
)
REPAIRS = {
    "replace_control_fuse": "Replace the control fuse",
    "replace_relay": "Replace the relay by one of the same part",
    "replace_module": "Replace the control module",
    "replace_load_fuse": "Replace the load fuse",
    "repair_load_wire": "Repair the wire from 87 to the fan",
    "clean_load_ground": "Clean and tighten the fan ground",
    "replace_load": "Replace the fan",
}
WORDS = ("none", "low", "expected", "high")
YES_NO = ("yes", "no")
# id, title, minutes, words, sound outcome, outcome under each of the eight faults
TESTS: tuple[tuple[str, str, float, tuple[str, ...], str, str], ...] = (
    ("look_control_fuse", "Look at the control fuse", 2, YES_NO, "yes", "nyyyyyyy"),
    ("look_load_fuse", "Look at the load fuse", 2, YES_NO, "yes", "yyyynyyy"),
    (
        "control_current",
        "Control current at its fuse",
        6,
        WORDS,
        "expected",
        "00e0eeee",
    ),
    ("load_current", "Load current at fuse", 6, WORDS, "expected", "000000lh"),
    (
        "load_current_bridged",
        "Load current with 30-87 bridged",
        8,
        WORDS,
        "expected",
        "eeee00lh",
    ),
    ("drop_load_ground", "Voltage drop load to ground", 5, WORDS, "low", "000000hl"),
    ("load_current_new_relay", "Substitute a relay", 10, YES_NO, "yes", "nyynnnnn"),
    ("turn_by_hand", "Turn the fan by hand", 4, YES_NO, "yes", "yyyyyyyn"),
)
SORTED_AS = {
    "control_current": "control current",
    "load_current": "load current",
    "load_current_bridged": "load current",
    "drop_load_ground": "drop",
}
LETTERS = {
    "0": "none",
    "l": "low",
    "e": "expected",
    "h": "high",
    "y": "yes",
    "n": "no",
}
DISPLAYS = {
    "none": "0.1 mV",
    "low": "41.2 mV",
    "expected": "164.9 mV",
    "high": "613 mV",
    "yes": "yes",
    "no": "no",
}
IDS = tuple(fault[0] for fault in FAULTS)
# One section a fault, in the order of the faults.
SECTIONS = (
    "control fuse",
    "coil",
    "contacts",
    "driver",
    "load fuse",
    "wire from 87",
    "ground of the fan",
    "fan rotor",
)
NOTHING, RELAY_BLAMED = "nothing", "blames-relay"


def record_content(
    student: str = "s01", exercise: int = 1, fault: str = "load_ground_high"
) -> dict[str, Any]:
    """One record of the answer key, as JSON holds it."""
    row = IDS.index(fault)
    return {
        "set_id": SET_ID,
        "student": student,
        "exercise": exercise,
        "lesson": "mixed-diagnosis",
        "title": f"Groomer {exercise}: the cooling fan stands",
        "kind": "diagnosis",
        "family": "cooler-fan",
        "questions": [],
        "planned": [],
        "given": None,
        "vehicle": f"Groomer {exercise}",
        "complaint": "The cooling fan does not run as it should.",
        "fault": {"id": fault, "repair": FAULTS[row][2]},
        "predictions": [
            number("coil_current", "Control current", "A", 0.165, wrong_factor=0.5),
            number("load_current", "Load current", "A", 16.5, wrong_factor=2.0),
            number("clamp_v", "Clamp reading", "V", 0.165, wrong_factor=10.0),
        ],
        "verification": number(
            "load_current_after", "Load current after", "A", 16.5, wrong_factor=2.0
        ),
        "sections": [
            {"id": label, "label": label, "branch": "load circuit"}
            for label in SECTIONS
        ],
        "tests": [test_content(test, row) for test in TESTS],
        "causes": [
            {"id": f"c{n:02}", "label": label, "fault": id_}
            for n, (id_, _, _, label) in enumerate(FAULTS, 1)
        ],
        "corrections": [
            {"id": f"r{n:02}", "label": label, "repair": id_}
            for n, (id_, label) in enumerate(REPAIRS.items(), 1)
        ],
        "reasoning": reasoning_content(),
        "circuit": {"ignored": "by grading"},
    }


def number(
    id_: str, label: str, unit: str, value: float, *, wrong_factor: float
) -> dict[str, Any]:
    """A number that is asked for, with one wrong rule."""
    wrong = value * wrong_factor
    return {
        "id": id_,
        "label": label,
        "unit": unit,
        "value": value,
        "band": [0.92 * value, 1.08 * value],
        "misconceptions": [
            {
                "id": "tenth",
                "value": wrong,
                "band": [0.97 * wrong, 1.03 * wrong],
                "text": "That is what two loads in parallel would draw.",
            }
        ],
    }


def test_content(test: tuple[Any, ...], row: int) -> dict[str, Any]:
    """One test as the key holds it, with the outcome under a fault."""
    id_, title, minutes, words, sound, letters = test
    outcome = LETTERS[letters[row]]
    return {
        "id": id_,
        "title": title,
        "minutes": minutes,
        "hazards": [],
        "sorting": SORTED_AS.get(id_, "state"),
        "display": DISPLAYS[outcome],
        "unit": "V",
        "true_value": 0.0,
        "outcome": outcome,
        "sound_outcome": sound,
        "outcomes": list(words),
        "statement": outcome,
        "statements": statements_content(letters),
        "mistake": "",
    }


def statements_content(letters: str) -> list[dict[str, Any]]:
    """What each outcome proves, by its own name; nothing; and that the relay is bad."""
    suspects = {
        LETTERS[letter]: [
            section
            for section, shown in zip(SECTIONS, letters, strict=True)
            if shown == letter
        ]
        for letter in dict.fromkeys(letters)
    }
    said = [(word, suspect, [word]) for word, suspect in suspects.items()]
    said += [(NOTHING, [], []), (RELAY_BLAMED, ["coil", "contacts"], [])]
    return [
        {
            "id": id_,
            "text": f"Still suspect: {', '.join(suspect) or 'as before'}",
            "cleared": [s for s in SECTIONS if suspect and s not in suspect],
            "suspect": suspect,
            "outcomes": outcomes,
            "misconception": "none_blames_relay" if id_ == RELAY_BLAMED else "",
        }
        for id_, suspect, outcomes in said
    ]


test_content.__test__ = False  # type: ignore[attr-defined] # not a test of pytest's


def reasoning_content() -> dict[str, Any]:
    """Which outcome every test has under every fault."""
    return {
        "faults": [
            {"id": fault[0], "prior": fault[1], "repair": fault[2], "sections": [place]}
            for fault, place in zip(FAULTS, SECTIONS, strict=True)
        ],
        "tests": [test[0] for test in TESTS],
        "sound": [test[4] for test in TESTS],
        "reading_minutes": [test[2] for test in TESTS],
        "needs": [[] for _ in TESTS],
        "places": [],
        "open": [],
        "outcomes": [[LETTERS[test[5][n]] for test in TESTS] for n in range(len(IDS))],
        "repair_minutes": dict.fromkeys(REPAIRS, 30.0),
    }


def key_content(faults: tuple[str, ...] = IDS[:3]) -> dict[str, Any]:
    """Answer key of a set: every student has the faults in an order of their own."""
    turned = {
        student: faults[n % len(faults) :] + faults[: n % len(faults)]
        for n, (student, _) in enumerate(ROSTER)
    }
    return {
        "format": 1,
        "set_id": SET_ID,
        "edition": 1,
        "mode": "graded",
        "exercises": [
            record_content(student, exercise, fault)
            for student, order in turned.items()
            for exercise, fault in enumerate(order, 1)
        ],
    }


def sample_key(faults: tuple[str, ...] = IDS[:3]) -> AnswerKey:
    """The answer key of `key_content`."""
    return answer_key_of(key_content(faults))


def sample_record(fault: str = "load_ground_high") -> KeyRecord:
    """One record, with the circuit's fault as asked for."""
    content = key_content() | {"exercises": [record_content(fault=fault)]}
    return next(answer_key_of(content).exercises)


@dataclass(slots=True, kw_only=True)
class Writer:
    """Writes the hand-in of one student line by line, chained as a journal is."""

    student: str = "s01"
    set_id: str = SET_ID
    edition: int = 1
    session: str = "0a1b2c3d"
    start: datetime = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)
    lines: list[bytes] = field(default_factory=list)
    seq: int = 0

    def __post_init__(self) -> None:
        """Begin with the headers of the hand-in and of one journal."""
        self.add_raw(self.header("hand-in") | {"mode": "graded"})
        self.add_raw(self.header("journal") | {"session": self.session})

    def header(self, kind: str) -> dict[str, Any]:
        """A header of this student."""
        return {
            "kind": kind,
            "format": 1,
            "set_id": self.set_id,
            "student": self.student,
            "edition": self.edition,
            "software": "workbook 0.1.0",
        }

    def add_raw(self, line: dict[str, Any]) -> None:
        """Add a line as it is."""
        text = json.dumps(
            line, sort_keys=True, separators=(",", ":"), ensure_ascii=False
        )
        self.lines.append(text.encode("utf-8", "surrogatepass"))

    def add(self, exercise: int, kind: str, item: str, **values: Any) -> None:
        """Add an entry, chained to the line before."""
        self.seq += 1
        # Parts of a second, as clocks show them.
        time = self.start + timedelta(seconds=30 * self.seq, microseconds=1)
        self.add_raw(
            {
                "seq": self.seq,
                "time": time.isoformat(timespec="microseconds")[:-6] + "Z",
                "exercise": exercise,
                "kind": kind,
                "item": item,
                "prev": hashlib.sha256(self.lines[-1]).hexdigest(),
                **values,
            }
        )

    def answer(self, exercise: int, kind: str, item: str, value: float) -> None:
        """Add a number in amperes, or volts for the clamp."""
        unit = "V" if item == "clamp_v" else "A"
        self.add(exercise, kind, item, raw=f"{value} {unit}", value=value, unit=unit)

    def bytes(self) -> bytes:
        """The hand-in as a file holds it."""
        return b"".join(line + b"\n" for line in self.lines)


def work_through(
    writer: Writer, record: KeyRecord, tests: tuple[str, ...], *, care: float = 1.0
) -> None:
    """Work through an exercise; under full care every answer is right."""
    exercise = record.exercise
    for key in record.predictions:
        writer.answer(exercise, "prediction", key.id, key.value * care)
    for id_ in tests:
        test = record.tests[record.test_number(id_)]
        other = next(word for word in test.outcomes if word != test.outcome)
        writer.add(exercise, "test", id_, expected=test.sound_outcome)
        outcome, statement = test.outcome, test.statement
        if care != 1.0:
            outcome, statement = other, NOTHING
        writer.add(exercise, "finding", id_, outcome=outcome, statement=statement)
    if not tests:
        return
    wanted = record.fault.id if care == 1.0 else "contacts_open"
    cause = next(one for one in record.causes if one.fault == wanted)
    repair = record.repair_of(wanted)
    correction = next(one for one in record.corrections if one.repair == repair)
    writer.add(
        exercise,
        "conclusion",
        "conclusion",
        cause=cause.id,
        correction=correction.id,
    )
    key = record.verification
    writer.answer(exercise, "verification", key.id, key.value * care)


RUBRIC = rubric_from_text(rubric_text())
TEST_IDS = tuple(test[0] for test in TESTS)
BRIDGED = ("load_current_bridged",)


def progress_after(record, tests, **more):
    """The progress of a student who works through some tests without a slip."""
    writer = Writer()
    work_through(writer, record, tests)
    rows = read_hand_in("a", writer.bytes()).entries
    return replace(replay(rows)[record.exercise], **more)


def marks_of(record, progress, step, rubric=RUBRIC):
    """The marks of one step."""
    steps = grade_exercise(record, progress, rubric).steps
    return [one for one in steps if one.step == step]


def cause_of(record, fault):
    """The id under which a fault is on offer as a cause."""
    return next(one.id for one in record.causes if one.fault == fault)


def worked(record, tests, fault):
    """Right numbers and findings, and the cause and correction of a fault."""
    numbers = (*record.predictions, record.verification)
    answers = {k.id: Answer(raw="x", value=k.value, unit=k.unit) for k in numbers}
    verification = answers.pop(record.verification.id)
    repair = record.repair_of(fault)
    return ExerciseProgress(
        predictions=answers,
        tests=tuple(
            TestDone(
                item=t.id,
                expected=t.sound_outcome,
                outcome=t.outcome,
                statement=t.statement,
            )
            for t in tests
        ),
        cause=cause_of(record, fault),
        correction=next(c.id for c in record.corrections if c.repair == repair),
        verification=verification,
    )
