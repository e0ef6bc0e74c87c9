"""What is kept of one student is deleted, and does not come back by itself."""

import zipfile

from generator.week.collecting import PaperAnswer, keep_paper
from generator.week.marking import grade
from generator.week.overview import state_of
from generator.week.students import forget


def handed_in(class_set, student):
    """What a student handed in."""
    (path,) = class_set.handed_in.glob(f"*{student}*")
    return path


def test_hand_ins_go_with_the_rest_and_stay_away(reported):
    """Marking again finds nothing of the student; the class is still a marked one."""
    class_set = reported.class_set
    own = handed_in(class_set, "s01")
    forgotten = forget(class_set, "s01", with_hand_ins=True)
    assert f"handed-in/{own.name}" in forgotten.deleted
    assert not own.exists()
    assert not {place for place in forgotten.left if place.startswith("handed-in/")}
    state = state_of(class_set)
    assert (state.step, state.graded) == ("see", 1)
    assert [one.id for one in grade(reported).result.graded] == ["s02"]


def test_hand_ins_of_others_stay(reported):
    """Also what lies in one archive with them, and what only names the student."""
    class_set = reported.class_set
    folder = class_set.handed_in
    mine, other = (handed_in(class_set, id_) for id_ in ("s01", "s02"))
    with zipfile.ZipFile(folder / "class.zip", "w") as archive:
        for path in (mine, other):
            archive.write(path, path.name)
            path.unlink()
    (folder / "from s01.jsonl").write_text("{}")
    answer = PaperAnswer(exercise=1, step="prediction", item="1", answer="1 A")
    typed = [keep_paper(reported, id_, [answer]) for id_ in ("s01", "s02")]
    grade(reported)
    left = forget(class_set, "s01", with_hand_ins=True).left
    assert sorted(path.name for path in folder.iterdir()) == [
        "class.zip",
        "from s01.jsonl",
        typed[1].name,
    ]
    assert f"handed-in/class.zip/{mine.name}" in left
