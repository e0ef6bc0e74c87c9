"""A class set as it lies on disk: its files, what was asked for, its opened key."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, Field, TypeAdapter, ValidationError

from answer_keys.checked_toml import read_toml
from answer_keys.errors import FileError, Problem
from answer_keys.interchange.school_class import OneRosterClass
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.class_secret import ClassSecret, read_class_secret
from answer_keys.keys.sealing import read_sealed_key
from answer_keys.method import DEFAULT_METHOD, Step, step_from_text
from answer_keys.needs import Needs
from answer_keys.observed import NOTHING, Observed
from answer_keys.own_command import typed
from answer_keys.written_files import write_private
from generator.drawing.request import Causes, Mode, Request
from generator.errors import ClassSetError
from generator.sets.roster import read_roster
from workbook.texts import ENGLISH, LANGUAGES

NEEDS_NAME = "practises.json"
OBSERVED_NAME = "difficulty.json"

_NEEDS = TypeAdapter(Needs)
_OBSERVED = TypeAdapter(Observed)
# Nobody can lose more than all.
_MOST_PERCENT = 100.0


def write_asked(path: Path, asked: Needs | Observed) -> None:
    """Write what a set is drawn from as JSON, which `read_needs` and others read."""
    text = json.dumps(asdict(asked), indent=1, sort_keys=True)
    write_private(path, f"{text}\n".encode())


def _place_in(error: ValidationError) -> str:
    return ".".join(map(str, error.errors()[0]["loc"])) or "the whole file"


def read_needs(path: Path) -> Needs | None:
    """Read needs; None where a set came after no other.

    Raises
    ------
    ClassSetError
        Where the file was changed into something else.
    """
    if not path.is_file():
        return None
    try:
        return _NEEDS.validate_json(path.read_bytes())
    except ValidationError as error:
        raise ClassSetError(
            path,
            f"cannot be used: “{_place_in(error)}” is not what belongs there; put back "
            f"the file as '{typed('generate --after')}' has written it",
        ) from error


def read_observed(path: Path) -> Observed:
    """Read observed difficulty.

    Raises
    ------
    ClassSetError
        Where the file is not there, or no such file.
    """
    own = typed("report SET SET --training FOLDER")
    try:
        observed = _OBSERVED.validate_json(path.read_bytes())
    except OSError as error:
        raise ClassSetError(
            path,
            f"cannot be read ({error.strerror}). Name the difficulty.json that "
            f"'{own}' has written.",
        ) from error
    except ValidationError as error:
        raise ClassSetError(
            path,
            f"cannot be used: “{_place_in(error)}” is not what belongs there. Name the "
            f"difficulty.json that '{own}' has written, as it is.",
        ) from error
    if not observed.after:
        raise ClassSetError(
            path, f"tells nothing. Name the difficulty.json that '{own}' has written."
        )
    worst = [*observed.faults.values(), *observed.families.values()]
    worst += observed.tests.values()
    # So asked, a NaN is refused as well.
    if not all(abs(each) <= _MOST_PERCENT for each in worst):
        raise ClassSetError(
            path, f"says more than {_MOST_PERCENT:.0f} % of the marks of something"
        )
    return observed


FORMAT = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassSet:
    """A class set as it lies on disk."""

    folder: Path
    set_id: str
    request: Request

    @property
    def secret_file(self) -> Path:
        """The class secret."""
        return self.folder / "for-instructor" / "class-secret.txt"

    @property
    def key_file(self) -> Path:
        """The sealed answer key."""
        return self.folder / "for-instructor" / "answer-key.sealed"

    @property
    def rubric_file(self) -> Path:
        """The weights of the steps, for the instructor to change."""
        return self.folder / "for-instructor" / "rubric.toml"

    @property
    def invented_file(self) -> Path:
        """Of which kind each invented student is, once a set was simulated."""
        return self.folder / "for-instructor" / "invented-students.json"

    @property
    def checked_file(self) -> Path:
        """What the last check of the set has found."""
        return self.folder / "for-instructor" / "checked.json"

    @property
    def needs_file(self) -> Path:
        """What the set practises after an earlier one."""
        return self.folder / "for-instructor" / NEEDS_NAME

    @property
    def observed_file(self) -> Path:
        """How hard exercises had proved to be when the set was drawn."""
        return self.folder / "for-instructor" / OBSERVED_NAME

    def handout_file(self, student: str) -> Path:
        """One student's exercises on paper."""
        return self.folder / "for-students" / student / "handout.html"

    @property
    def handed_in(self) -> Path:
        """Where returned files are put."""
        return self.folder / "handed-in"

    @property
    def examination(self) -> Path:
        """Where the record of an examination is kept."""
        return self.folder / "examination"

    @property
    def results(self) -> Path:
        """Where gradebook and reports are written."""
        return self.folder / "results"

    @property
    def gradebook_file(self) -> Path:
        """Every grading, once a set was graded."""
        return self.results / "gradebook.sqlite"

    def workbook_file(self, student: str, spoken: str = "") -> Path:
        """One student's workbook, in the student's folder."""
        is_main = spoken in {"", self.request.language}
        end = ".ipynb" if is_main else f".{spoken}.ipynb"
        name = f"clampbook-{self.set_id}-{student}{end}"
        return self.folder / "for-students" / student / name

    def workbook_names(self, student: str) -> dict[str, str]:
        """Names of one student's workbooks by language; the first is the main one."""
        return {
            spoken: self.workbook_file(student, spoken).name
            for spoken in self.request.languages
        }

    @property
    def roster(self) -> list[tuple[str, str]]:
        """Id and name of every student."""
        return [(student.id, student.name) for student in self.request.students]

    @property
    def summary(self) -> dict[str, Any]:
        """What was written, as JSON for a program."""
        request = self.request
        return {
            "set_id": self.set_id,
            "folder": str(self.folder),
            "mode": request.mode,
            "causes": "own" if request.has_own_causes else "same",
            "language": request.language,
            "lessons": list(request.lessons),
            "exercises": request.exercises,
            "after": request.needs.after if request.needs else None,
            "students": [
                {
                    "id": student.id,
                    "workbook": str(
                        self.workbook_file(student.id).relative_to(self.folder)
                    ),
                }
                for student in request.students
            ],
        }


def read_class_set(folder: Path) -> ClassSet:
    """Read what was asked for of a class set.

    Raises
    ------
    ClassSetError
        Where the folder is no class set.
    FileError
        With the faults of ``set.toml``; a `RosterError` with those of the class list.
    """
    if not folder.is_dir():
        raise ClassSetError(
            folder,
            "there is no such folder. Name one that "
            f"'{typed('generate')}' has written.",
        )
    if not (folder / "set.toml").is_file():
        raise ClassSetError(
            folder,
            "is no class set: it has no set.toml. Name a folder that "
            f"'{typed('generate')}' has written.",
        )
    problems = list[Problem]()
    file = read_toml(folder / "set.toml", problems)
    read = file.checked(_SetFile, problems) if file else None
    if read is None:
        raise FileError(problems)
    own = folder / "for-instructor"
    observed = own / OBSERVED_NAME
    request = Request(
        **read.set.model_dump(exclude={"format", "set_id", "students"}),
        students=read_roster(own / "roster.csv"),
        school_class=read.school_class,
        needs=read_needs(own / NEEDS_NAME),
        observed=read_observed(observed) if observed.is_file() else NOTHING,
    )
    return ClassSet(folder=folder, set_id=read.set.set_id, request=request)


class _SetTable(BaseModel):
    """What ``set.toml`` says of a set."""

    format: Literal[1]
    set_id: Annotated[str, Field(pattern=r"^[a-z0-9]{4,20}$")]
    edition: Annotated[int, Field(ge=1)]
    mode: Mode
    # Older sets do not say: they have the same causes for all.
    causes: Causes = "same"
    language: Annotated[str, Field(pattern=rf"^({'|'.join(LANGUAGES)})$")] = ENGLISH
    also_in: tuple[Literal["en", "de"], ...] = ()
    lessons: Annotated[tuple[str, ...], Field(min_length=1)]
    students: Annotated[int, Field(ge=1)]
    exercises: Annotated[int, Field(ge=1)]
    method: tuple[Annotated[Step, BeforeValidator(step_from_text)], ...] = (
        DEFAULT_METHOD
    )


class _SetFile(BaseModel):
    set: _SetTable
    school_class: Annotated[OneRosterClass | None, Field(alias="class")] = None


def open_key(
    class_set: ClassSet, passphrase: str | None = None
) -> tuple[ClassSecret, AnswerKey]:
    """Open secret and answer key of a class set; raises as the seals do.

    Raises
    ------
    ClassSetError
        Where ``set.toml`` says another edition or mode than the key, which is sealed.
    """
    secret = read_class_secret(class_set.secret_file, passphrase)
    key = read_sealed_key(class_set.key_file, secret, class_set.set_id)
    request = class_set.request
    # What set.toml says may have been changed; the key is sealed and counts.
    for name, told, sealed in (
        ("edition", request.edition, key.edition),
        ("mode", request.mode, key.mode),
    ):
        if told != sealed:
            raise ClassSetError(
                class_set.folder / "set.toml",
                f"says {name} {told}, but the answer key of this set is of {name} "
                f"{sealed}; write {sealed} there, or put back the key that belongs to "
                "it",
            )
    return secret, key
