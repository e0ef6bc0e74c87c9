"""Works an exercise by its key record, as a student who knows what to do."""

from tests.browser import page as student
from tests.keys import plan_of


def typed(value, unit, factor=1.0):
    """A number as a student with a decimal comma types it.

    With two decimals: three could be thousands.
    """
    value *= factor
    text = f"{value * 1000:.2f} m{unit}" if value < 1 else f"{value:.2f} {unit}"
    return text.replace(".", ",")


def predict(form, record, wrong=()):
    """Record all predictions, ten times too high those that are to be wrong."""
    for asked in record["predictions"]:
        factor = 10 if asked["id"] in wrong else 1
        text = typed(asked["value"], asked["unit"], factor)
        student.record_prediction(form, asked["label"], text)


def do(form, test):
    """Do a test, and find in it what it shows and proves."""
    assert student.do_test(form, test["title"], test["sound_outcome"])
    student.record_finding(form, test["outcome"], student.proof_of(test))


def all_causes(record):
    """Every cause, as the plan takes them."""
    return tuple(range(len(record["causes"])))


def planned(record, left):
    """The tests of the plan from a set of causes on."""
    plan, tests = plan_of(record["reasoning"]), record["tests"]
    while (number := plan.best_test(left)) is not None:
        yield tests[number]
        left = plan.after(left, number, tests[number]["outcome"])


def option(options, name, value):
    """The label of the option that has a value."""
    return next(one["label"] for one in options if one[name] == value)


def finish(form, record, cause=None):
    """Conclude, with the right cause or another, and verify."""
    cause = cause or option(record["causes"], "fault", record["fault"]["id"])
    correction = option(record["corrections"], "repair", record["fault"]["repair"])
    student.conclude(form, cause, correction)
    asked = record["verification"]
    student.verify(form, asked["label"], typed(asked["value"], asked["unit"]))
