"""``clampbook hub``: class sets on a school's JupyterHub."""

from __future__ import annotations

import os
import shlex
from importlib.util import find_spec
from pathlib import Path

import click

from answer_keys.own_command import extra_hint, typed
from generator.commands.console import passphrase_option, progress, sets_argument, tell
from generator.week.opened import opened_set

_NEEDED = ("JUPYTERHUB_SERVICE_PREFIX", "JUPYTERHUB_SERVICE_URL")
_CONFIGURATION = """\
c.JupyterHub.services = [
    {{
        "name": "clampbook",
        "url": "http://127.0.0.1:10460",
        "command": {command},
        "oauth_no_confirm": True,
    }}
]
c.JupyterHub.load_roles = [
    {{"name": "user", "scopes": ["self", "access:services!service=clampbook"]}}
]
c.JupyterHub.default_url = "/services/clampbook/"
"""


@click.command()
@sets_argument
@passphrase_option
def hub(folders: tuple[Path, ...], passphrase: str | None) -> None:
    """Give sets to the users of a JupyterHub, as a service that the hub starts.

    Whoever logs in there gets their own workbook, which runs in their browser, and
    hands in on the same page, without a server of their own. The hub's name for a user
    is the student's id, or stands in the column login of the class list. Typed by
    yourself, it says what to write into jupyterhub_config.py. It needs the extra hub.

    Example: clampbook hub week-3 week-4
    """
    missing = [name for name in _NEEDED if name not in os.environ]
    if missing:
        words = shlex.split(typed("hub"))
        command = [*words, *(str(folder.resolve()) for folder in folders)]
        click.echo(_CONFIGURATION.format(command=command), nl=False)
        raise click.UsageError(
            "A JupyterHub starts this. Write the lines above into its "
            "jupyterhub_config.py, and start the hub."
        )
    if find_spec("jupyterhub") is None:
        raise click.ClickException(f"JupyterHub is not there: {extra_hint('hub')}")
    # Only where the library is there.
    from generator.serving.hub import serve_hub
    from generator.week.hub import hub_set

    with progress() as show:
        sets = [hub_set(opened_set(folder, passphrase), show) for folder in folders]
    for its in sets:
        tell(f"Serving {its.title} (set {its.id}) to {len(its.links)} students.")
    serve_hub(sets)
