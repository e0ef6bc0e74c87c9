"""What the parts of one circuit are called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

from workbook.texts import _, language, translated

# What is no print on a part, but words of a language.
_TOLD = (
    *("vehicle", "load", "work", "mechanism", "upstream", "feed_from", "return_to"),
    *("neighbour", "secure", "hindrance"),
)


# No slots: what is worked out once is kept beside the fields.
@dataclass(frozen=True, kw_only=True)
class Named:
    """What the parts of one circuit are called, on the diagram and in every text."""

    vehicle: str
    load: str
    work: str
    mechanism: str
    control_fuse: str
    load_fuse: str
    relay: str
    load_connector: str
    module: str
    neighbour: str
    upstream: str
    coil_supply: str
    coil_return: str
    pin_in: str
    pin_out: str
    feed_from: str
    return_to: str
    enable: tuple[str, ...]
    secure: str
    hindrance: str
    colours: Mapping[str, str]

    @property
    def translated(self) -> Named:
        """The same in the language spoken; what is printed on a part stays."""
        spoken = language()
        if spoken not in self._by_language:
            self._by_language[spoken] = self._translated()
        return self._by_language[spoken]

    @cached_property
    def _by_language(self) -> dict[str, Named]:
        return {}

    def _translated(self) -> Named:
        told: dict[str, Any] = {name: _(getattr(self, name)) for name in _TOLD}
        return replace(self, **told, enable=tuple(map(_, self.enable)))

    def fill(self, text: str) -> str:
        """Translate a text, and put the names into it that it has in braces."""
        return self.put(translated(text))

    def fill_each(self, texts: Iterable[str]) -> tuple[str, ...]:
        """As ``fill`` for each text; what comes out empty is left out."""
        return tuple(filter(None, map(self.fill, texts)))

    def put(self, text: str) -> str:
        """Put the names into a text that has them in braces."""
        return text.format_map(self._in_braces)

    @cached_property
    def _in_braces(self) -> dict[str, str]:
        own = {each.name: getattr(self, each.name) for each in fields(self)}
        own["enable"] = ", ".join(self.enable)
        # A text with names in it itself: ``{feed_from}`` is filled twice.
        own["feed_from"] = self.feed_from.format(**own)
        return own
