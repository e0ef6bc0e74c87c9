"""Texts that are translated where they are shown, though no code marks them."""

from itertools import product
from types import SimpleNamespace
from typing import get_args

from answer_keys.gradebook.standings import Status
from answer_keys.marking.rubric import MARKED_STEPS
from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.reports.exam_view import _VERDICTS
from answer_keys.reports.skills import RULE, SKILLS
from generator.drawing.vehicle import _SEEN
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import _SECTIONS, Branch, repair_text
from generator.model.catalogue.tests import TESTS, as_done_on
from generator.model.catalogue.wrong_state import WRONG_STATES
from generator.model.complaints import COMPLAINTS
from generator.model.diagnostics import PROVES_NOTHING
from generator.model.places import USUAL
from generator.model.variant import LoadKind
from generator.questions.asked import KIND_TITLES
from generator.questions.reasons import WHYS
from generator.workbooks.feedback import _FUSE_OUT, _MEANS
from lessons.loader import lesson_ids, read_lesson
from workbook.cautions import CAUTIONS
from workbook.judging.statements import State
from workbook.measuring.bands import WORDS
from workbook.measuring.offered import _FUSES, _LOOKS
from workbook.texts import sentences


def data_texts():
    """Every such text, with the module that holds it."""
    for source, texts in _sources():
        yield from ((source, text) for text in texts if text)


def _with_fuse():
    """What a clamp reads with a lead in place of a fuse that is not as it should be."""
    words = [word for sorting, word in _MEANS if sorting in CURRENTS]
    kinds = product(dict.fromkeys(words), _FUSE_OUT)
    return [f"{word}, fuse {fuse}" for word, fuse in kinds]


def _of_set_ups():
    """What a reading of a set-up is taken for, also with a fuse that is out."""
    for words in WORDS.values():
        yield from words
        yield from (f"{word}, fuse {fuse}" for word in words for fuse in _FUSES)
    yield from (f"{PROVES_NOTHING}, fuse {look}" for look in _LOOKS)


CURRENTS = ("control current", "load current", "presence")


def _sources():
    model, catalogue = "generator/model", "generator/model/catalogue"
    yield "workbook/cautions.py", CAUTIONS
    yield "workbook/judging/statements.py", get_args(State)
    yield f"{catalogue}/repairs.py", get_args(Branch)
    yield f"{catalogue}/repairs.py", [section.label for section in _SECTIONS.values()]
    yield f"{model}/variant.py", get_args(LoadKind)
    yield f"{model}/symptoms.py", COMPLAINTS
    yield (
        f"{model}/diagnostics.py",
        [*dict.fromkeys(word for _, word in _MEANS), PROVES_NOTHING],
    )
    yield f"{model}/diagnostics.py", _with_fuse()
    yield "workbook/measuring/bands.py", _of_set_ups()
    usual = USUAL.values()
    texts = [text for one in usual for text in (one.label, one.where, one.risk)]
    yield f"{model}/places.py", texts
    yield f"{catalogue}/tests.py", _of_tests(TESTS.values())
    wrong = (wrong.test for wrong in WRONG_STATES)
    yield f"{catalogue}/wrong_state.py", _of_tests(wrong)
    yield f"{catalogue}/faults.py", [fault.title for fault in FAULTS.values()]
    yield (
        f"{catalogue}/repairs.py",
        dict.fromkeys(repair_text(f.repair) for f in FAULTS.values()),
    )
    yield "generator/drawing/vehicle.py", _SEEN.values()
    yield "generator/workbooks/meanings.toml", _in_sentences(_MEANS.values())
    yield "generator/workbooks/meanings.toml", _FUSE_OUT.values()
    whys = [why for group in WHYS.values() for why in group]
    texts = [text for one in whys for text in (one.question, one.reason, one.because)]
    yield "generator/questions/reasons.toml", texts
    yield "generator/questions/asked.py", KIND_TITLES.values()
    yield "generator/pictures/labels.py", ("engine running", "engine off")
    yield "generator/pictures/labels.py", ("resistor", "diode")
    yield "answer_keys/misconceptions.toml", _of_misconceptions()
    skills = [text for one in SKILLS.values() for text in (one.title, one.means)]
    yield "answer_keys/reports/skills.py", (*skills, RULE)
    yield "answer_keys/marking/rubric.py", [one.capitalize() for one in MARKED_STEPS]
    yield "answer_keys/gradebook/standings.py", get_args(Status)
    yield "answer_keys/reports/exam_view.py", [words for _, words in _VERDICTS]
    kinds = [kind.replace("-", " ") for kind in KIND_TITLES]
    yield "generator/questions/asked.py", kinds
    for name in lesson_ids():
        yield from _of_lesson(name)


def _of_misconceptions():
    """What pages and sheets say of wrong rules."""
    for one in MISCONCEPTIONS.values():
        yield from (one.title, one.explanation, one.cure)


def _of_tests(tests):
    """What is said of tests, as they are done on every kind of circuit."""
    for test, shared, high, smart, stressed in product(tests, *[(False, True)] * 4):
        if high and smart:
            continue  # a smart switch has no driver beside a coil
        circuit = SimpleNamespace(
            is_fuse_shared=shared, is_high_side=high, is_smart=smart
        )
        done = as_done_on(circuit, test, is_stressed=stressed)
        said = (done.title, done.how, done.before, done.mistake, *done.hazards)
        yield from _in_sentences(said)


def _in_sentences(texts):
    return [sentence for text in texts for sentence in sentences(text)]


def _of_lesson(name):
    book = read_lesson(name)
    yield f"lessons/{name}/lesson.toml", (book.lesson.title, *book.lesson.aims)
    for family in book.families:
        source = f"lessons/parts/{family.id}.toml"
        names = (family.load, family.mechanism or "", family.work, *family.enable)
        yield source, (*names, *family.names.vehicle, family.secure or "")
        yield source, (family.hindrance,)
        own = [family.places.of(place) for place in USUAL]
        yield source, [text for one in own for text in (one.where, one.risk)]
        for complaints in family.complaint.model_dump().values():
            yield source, complaints
