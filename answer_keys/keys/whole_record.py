"""Everything that the answer key holds of an exercise: what is graded, and its proof.

Grading reads the part that is a `KeyRecord`, and leaves out the rest as it decodes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from msgspec import UNSET, UnsetType, json

from answer_keys.keys.key_record import Band, KeyRecord, TestKey, records_read
from generator.model.circuit import SheetRow
from generator.model.network import Branch, Network


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilRecord:
    """What of a coil only a transient shows; without a diode its two are None.

    A reversed diode conducts while the coil is fed, beside it as the network has it,
    and blocks when the driver opens.
    """

    inductance_h: float
    loss_ohm: float
    stray_f: float
    diode_v: float | None
    diode_ohm: float | None
    is_diode_reversed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundCircuit:
    """The circuit without its fault, commanded on; open branches are left out."""

    variant: str
    branches: tuple[Branch, ...]
    ground: str
    coil: CoilRecord

    @property
    def network(self) -> Network:
        """The circuit to be solved."""
        return Network(branches=self.branches, ground=self.ground)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What a test measures: a branch's current, or between two nodes.

    A state is of a thing. What the kind has none of is unset, and not written.
    """

    kind: str
    branch: str | UnsetType = UNSET
    node_plus: str | UnsetType = UNSET
    node_minus: str | UnsetType = UNSET
    of: str | UnsetType = UNSET

    @property
    def nodes(self) -> tuple[str, str]:
        """The two nodes of a voltage or a resistance, plus first."""
        return str(self.node_plus), str(self.node_minus)


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeTest(TestKey):
    """A test with what must be true before it, and the network that it was solved in.

    Attributes
    ----------
    setup : Network
        Under the actual fault; nonlinear parts at their operating point.
    true_value : float, str or None
        In `unit`; a state's word; None for an endless resistance.
    expected_band : tuple of float or None
        In `unit`; None where the reading is a word, or misleads.
    peak_to_peak_v : float
        Of a scope's test only, as is `coil`.
    """

    before: str
    hazards: tuple[str, ...]
    setup: Network
    measures: Measured
    true_value: float | str | None
    unit: str
    expected_band: Band | None
    peak_to_peak_v: float | UnsetType = UNSET
    coil: CoilRecord | UnsetType = UNSET


@dataclass(frozen=True, kw_only=True)
class WholeRecord(KeyRecord):
    """One exercise of one student with its circuit, its sheet and its difficulty.

    ``difficulty`` holds the predicted ``percent`` of the marks that are lost, the
    features that it is predicted from, and ``observed``, what of it comes from graded
    classes.
    """

    set_id: str
    circuit: SoundCircuit
    specification: tuple[SheetRow, ...]
    difficulty: Mapping[str, float] = field(hash=False)
    tests: tuple[WholeTest, ...]

    # Said again, because a dataclass else makes a hash of all that it holds.
    __hash__ = KeyRecord.__hash__


_RECORDS = json.Decoder(tuple[WholeRecord, ...])


def whole_records_read(text: bytes) -> tuple[WholeRecord, ...]:
    """Read a list of records whole; raises as `records_read`."""
    return records_read(text, _RECORDS)
