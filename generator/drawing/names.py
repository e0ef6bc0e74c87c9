"""What the parts of one circuit are called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from workbook.texts import _, translated


@dataclass(frozen=True, slots=True, kw_only=True)
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
    upstream: str
    coil_supply: str
    coil_return: str
    feed_from: str
    return_to: str
    enable: tuple[str, ...]
    secure: str
    hindrance: str
    colours: Mapping[str, str]

    @property
    def translated(self) -> Named:
        """The same in the language spoken; what is printed on a part stays."""
        return replace(
            self,
            vehicle=_(self.vehicle),
            load=_(self.load),
            work=_(self.work),
            mechanism=_(self.mechanism),
            upstream=_(self.upstream),
            feed_from=_(self.feed_from),
            return_to=_(self.return_to),
            enable=tuple(map(_, self.enable)),
            secure=_(self.secure),
            hindrance=_(self.hindrance),
        )

    def fill(self, text: str) -> str:
        """Translate a text, and put the names into it that it has in braces."""
        return self.put(translated(text))

    def fill_each(self, texts: Iterable[str]) -> tuple[str, ...]:
        """As ``fill`` for each text; what comes out empty is left out."""
        return tuple(filter(None, map(self.fill, texts)))

    def put(self, text: str) -> str:
        """Put the names into a text that has them in braces."""
        return text.format(
            load=self.load,
            work=self.work,
            mechanism=self.mechanism,
            control_fuse=self.control_fuse,
            load_fuse=self.load_fuse,
            relay=self.relay,
            load_connector=self.load_connector,
            module=self.module,
            upstream=self.upstream,
            coil_supply=self.coil_supply,
            coil_return=self.coil_return,
            # A text with names in it itself: ``{feed_from}`` is filled twice.
            feed_from=self.feed_from.format(
                control_fuse=self.control_fuse, module=self.module
            ),
            return_to=self.return_to,
            enable=", ".join(self.enable),
            secure=self.secure,
            hindrance=self.hindrance,
        )
