"""The exercise on the page: one widget that draws what a view describes."""

from __future__ import annotations

import gc
import logging
from contextlib import suppress
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from workbook.errors import WorkbookError
from workbook.page.clerk import Clerk
from workbook.page.finder import current_notebook
from workbook.page.page_texts import page_texts
from workbook.page.session import KernelSession
from workbook.texts import _
from workbook.views.beside_view import drawn_circuit
from workbook.views.view import trouble_view

# What is loaded by now stays: without this Python looks through all of it for what
# could go just when it reads the workbook, which takes as long as the reading.
gc.freeze()

_log = logging.getLogger(__name__)
_HERE = Path(__file__).parent
_clerks: dict[Path, tuple[Clerk, dict[int, Form]]] = {}


# Each knows what stands before it; the last one draws.
_SCRIPTS = (
    *("elements", "parts", "fields", "choice", "bench", "diagram", "signs", "beside"),
    *("way", "post", "room", "step_form", "own", "form"),
)
_STYLES = (
    *("colours", "form", "parts", "choice", "bench", "diagram", "beside"),
    *("way", "own", "print"),
)


def _text(*names: str) -> str:
    """Return files beside this module as one text, since a widget takes only one."""
    return "\n".join((_HERE / name).read_text(encoding="utf-8") for name in names)


class Form(anywidget.AnyWidget):
    """One exercise's form.

    Parameters
    ----------
    number : int
        Exercise number.
    clerk : Clerk or None
        Who answers the page; None where there is only trouble to show.

    Attributes
    ----------
    view : dict
        What the page draws.
    circuit : dict
        The diagram beside it, which stays as it is.
    book : dict
        All exercises of the workbook, each with its state.
    own : dict
        The student's note, and whether the exercise can be begun once more.
    hand_in : dict
        What the page says beside its hand-in button.
    texts : dict
        What the page says by itself, in the student's language.
    """

    _esm = _text(*(f"{name}.js" for name in _SCRIPTS))
    _css = _text(*(f"{name}.css" for name in _STYLES))
    view = traitlets.Dict().tag(sync=True)
    circuit = traitlets.Dict().tag(sync=True)
    book = traitlets.Dict().tag(sync=True)
    own = traitlets.Dict().tag(sync=True)
    hand_in = traitlets.Dict().tag(sync=True)
    texts = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        number: int,
        clerk: Clerk | None = None,
        **traits: Any,  # noqa: ANN401 - any trait
    ) -> None:
        if clerk is not None:
            # The page hears of a form with all that it draws: never of an empty one.
            traits = _drawn(clerk, number) | {
                "circuit": drawn_circuit(clerk.session.exercise(number))
            }
        super().__init__(texts=page_texts(), **traits)
        self.number = number
        self.clerk = clerk
        self.on_msg(self._on_message)

    def refresh(self) -> None:
        """Bring the page up to date; what has not changed is not sent."""
        if self.clerk is None:
            return
        for name, value in _drawn(self.clerk, self.number).items():
            setattr(self, name, value)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:  # noqa: ANN401 - from the page
        """Answer one message, the page first: a reply tells that it is up to date."""
        if self.clerk is None or not isinstance(content, dict):
            return
        reply = self.clerk.answer(self.number, content)
        if tail := reply.content.pop("tail", None):
            # The page has its copy before it shows the step as recorded.
            self.send({"tail": tail})
        is_changed = reply.content["status"] not in {"echo", "lines", "set-up"}
        if is_changed:
            self.refresh()
        self.send(reply.content, list(reply.buffers))
        if is_changed:
            # Nobody waits for the other pages: they are out of view.
            _refresh_all()
        if reply.content["status"] == "lines":
            # The page asks for these once it is drawn: there is time before the first
            # number is typed.
            self.clerk.prepare()

    def __repr__(self) -> str:
        """Return what is shown where no widget can be."""
        title = self.view.get("title") or _("not opened")
        text = _("Exercise {number}: {title} (run this cell in Jupyter to open it)")
        return text.format(number=self.number, title=title)


def _drawn(clerk: Clerk, number: int) -> dict[str, Any]:
    """Return all that a form draws and that a step can change."""
    state = {
        "hand_in": clerk.session.hand_in_state(),
        "book": clerk.session.way(),
        "own": clerk.own(number),
    }
    try:
        return state | {"view": clerk.view(number)}
    except Exception as error:
        # Whatever the mistake here is, the reply to the page must still go out.
        _log.exception("Exercise %s could not be drawn", number)
        return state | {"view": _broken_view(number, error)}


def get_ready() -> None:
    """Do ahead what the first exercise would wait for."""
    with suppress(WorkbookError):
        current_notebook()


def open_form(number: int, spoken: str = "") -> Form:
    """Return the form of one exercise of this kernel's workbook.

    Parameters
    ----------
    number : int
        Exercise number.
    spoken : str
        Language of the workbook, where its folder has it in several.

    Returns
    -------
    Form
        The same one every time; or one that says what is wrong. Never an exception.
    """
    try:
        return _opened(number, spoken)
    except WorkbookError as error:
        message = str(error)
    except Exception as error:
        # A student can do nothing with a traceback, the instructor can with this.
        _log.exception("Exercise %s could not be opened", number)
        return Form(number, view=_broken_view(number, error))
    return Form(number, view=trouble_view(number, message))


def _broken_view(number: int, error: Exception) -> dict[str, Any]:
    """Describe a page after a mistake of our own."""
    text = _(
        "Something went wrong ({error}). Your recorded answers are kept. Reload the "
        "page, or restart the kernel and run this cell again; if that does not help, "
        "show this text to your instructor."
    )
    return trouble_view(number, text.format(error=f"{type(error).__name__}: {error}"))


def _opened(number: int, spoken: str) -> Form:
    """Return the form; the clerk of the notebook, as it is on disk now, answers it."""
    notebook = current_notebook(spoken)
    clerk, forms = _clerks.get(Path.cwd(), (None, {}))
    if clerk is None or clerk.session.notebook != notebook:
        clerk, forms = Clerk(KernelSession(notebook, Path.cwd())), {}
        _clerks[Path.cwd()] = clerk, forms
    clerk.session.exercise(number)
    if number in forms:
        clerk.session.look_again()
        _refresh_all()
    else:
        forms[number] = Form(number, clerk)
    return forms[number]


def _refresh_all() -> None:
    """Bring every form up to date, since they share one journal and one hand-in."""
    for clerk_and_forms in _clerks.values():
        for form in clerk_and_forms[1].values():
            form.refresh()
