"""PLAN.toml: every fault at once, each with its line, and what is to be written."""

import pytest

from answer_keys.observed import Observed
from generator.classes.done import class_secret
from generator.classes.plan import read_plan
from generator.errors import PlanError
from generator.sets.class_set import write_asked
from tests.classes.school import PLAN, new_school
from tests.drawn import SECRET
from tests.sets.test_oneroster_roster import BUNDLE, write_bundle


def faults_of(folder, plan):
    """What is said of a plan, without the folder."""
    school = new_school(folder, plan)
    with pytest.raises(PlanError) as error:
        read_plan(school / "plan.toml")
    return str(error.value).replace(f"{school}/", "")


def test_classes_take_the_defaults_and_say_what_differs(tmp_path):
    """Lessons, mode and exercises stand once for all."""
    own = PLAN + 'exercises = 3\nlanguages = ["de", "en"]\n'
    plan = read_plan(new_school(tmp_path / "school", own) / "plan.toml")
    first, second = plan.classes
    assert (plan.title, plan.folder.name) == ("Week 3", "week")
    assert (first.title, second.title) == ("Mechatronics 10 a", "10b")
    assert (first.request.exercises, second.request.exercises) == (1, 3)
    assert second.request.languages == ("de", "en")
    assert {one.request.mode for one in plan.classes} == {"practice"}
    assert [one.id for one in first.request.students] == ["a1", "a2"]


def test_classes_are_drawn_by_how_hard_exercises_have_proved_to_be(tmp_path):
    """One file for all, or another of a class; it belongs to what makes its secret."""
    own = PLAN.replace("[defaults]", '[defaults]\ndifficulty = "term.json"', 1)
    school = new_school(tmp_path / "school", own)
    observed = Observed(after=("k7m2q",), tests={"load_current": 2.0})
    write_asked(school / "term.json", observed)
    (school / "plain.toml").write_text(PLAN)
    plan, plain = read_plan(school / "plan.toml"), read_plan(school / "plain.toml")
    assert [one.request.observed for one in plan.classes] == [observed, observed]
    for with_it, without in zip(plan.classes, plain.classes, strict=True):
        assert class_secret(SECRET, with_it) != class_secret(SECRET, without)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("exercises = 1", "exercises = 0", "line 7: defaults.exercises: must be 1 or"),
        ("exercises = 1", "examples = 1", "line 7: defaults.examples: there is no"),
        ('"practice"', '"exam"', "line 8: defaults.mode: must be 'practice', 'graded'"),
        ('name = "10a"', 'name = "10/a"', "line 11: classes.0.name: '10/a' cannot"),
        ('name = "10b"', 'name = "10A"', "name '10A' stands for two classes"),
        ('name = "10b"\n', "", "classes.1.name: is missing. Write a text."),
        ('"10b.csv"', '"none.csv"', "none.csv"),
        ('["control-side"]', '["nothing"]', "nothing: there is no lesson"),
        (
            '["control-side"]',
            '["control-side", "control-side"]',
            "line 6: defaults.lessons: control-side, control-side: one comes twice",
        ),
        ("[defaults]", '[defaults]\nrubric = "own.toml"', "own.toml: there is no such"),
        (
            "[defaults]",
            '[defaults]\ndifficulty = "term.json"',
            "line 6: defaults.difficulty: term.json: cannot be read",
        ),
        ("[school]", "[school", "line 1: is not valid TOML"),
    ],
)
def test_fault_is_told_with_its_place(old, new, said, tmp_path):
    """A plan is written by hand, and mended by what is said of it."""
    assert PLAN.count(old)
    assert said in faults_of(tmp_path / "school", PLAN.replace(old, new, 1))


def test_all_faults_are_told_at_once(tmp_path):
    """Of the plan and of the class lists, whatever is wrong with them."""
    bad = PLAN.replace("10a.csv", "plan.toml").replace("10b.csv", "gone.csv")
    told = faults_of(tmp_path / "school", bad)
    assert "plan.toml" in told
    assert "gone.csv" in told


def test_plan_without_a_class_says_what_to_write(tmp_path):
    """Nothing would be done."""
    told = faults_of(tmp_path / "school", PLAN[: PLAN.index("[[classes]]")])
    assert "Write [[classes]] with name and roster" in told


def test_bundle_gives_a_set_to_each_class(tmp_path):
    """By itself it is a plan, and a class without students is left out."""
    empty = BUNDLE["classes"] + "class-c,,,Körbe,,c,,scheduled,,school-1,term-1,,,\r\n"
    write_bundle(tmp_path / "export", classes=empty)
    plan = read_plan(tmp_path / "export")
    assert plan.folder == tmp_path / "export-sets"
    names = [(one.name, len(one.request.students)) for one in plan.classes]
    assert names == [("Relays", 2), ("Brakes", 1), ("Korbe", 0)]
    assert plan.classes[0].request.school_class.id == "class-a"
    assert "no student in class 'class-c'" in plan.classes[2].left_out


def test_class_of_a_bundle_may_have_a_table_of_its_own(tmp_path):
    """All others take the defaults; of two with one title each has its id behind."""
    school = new_school(
        tmp_path / "school",
        '[school]\noneroster = "export"\n[[classes]]\nname = "a"\n'
        'roster = "export"\nclass = "class-a"\nexercises = 9\n',
    )
    twice = BUNDLE["classes"] + "class-c,,,Brakes,,c,,scheduled,,school-1,term-1,,,\r\n"
    write_bundle(school / "export", classes=twice)
    plan = read_plan(school / "plan.toml")
    assert [(one.name, one.request.exercises) for one in plan.classes] == [
        ("a", 9),
        ("Brakes-class-b", 4),
        ("Brakes-class-c", 4),
    ]


@pytest.mark.parametrize(
    ("titles", "begin"),
    [
        (("Pumps", "pumps"), ("Pumps", "pumps")),
        (("Pumps" * 9, "Pumps" * 9 + "s"), ("PumpsPumpsPumpsPumpsPumpsPumpsPu",) * 2),
    ],
)
def test_titles_that_differ_too_little_have_the_id_behind(titles, begin, tmp_path):
    """Small and capital letters are the same, and the id is never cut."""
    more = "".join(
        f"class-{id_},,,{title},,{id_},,scheduled,,school-1,term-1,,,\r\n"
        for id_, title in zip("cd", titles, strict=True)
    )
    write_bundle(tmp_path / "export", classes=BUNDLE["classes"] + more)
    names = [one.name for one in read_plan(tmp_path / "export").classes]
    assert names == ["Relays", "Brakes", f"{begin[0]}-class-c", f"{begin[1]}-class-d"]
