"""One spec file on its way to trusted values: the faults found in it and the values it left to bayloft."""

from __future__ import annotations

from collections.abc import Mapping

from bayloft.errors import Fault, KeyPath
from bayloft.spec.text.given import Assumed
from bayloft.spec.text.source import Source
from bayloft.spec.text.vocabulary import Key, Place, place_of, toml
from bayloft.units import both


class Reading:
    """The faults and assumptions of one file, gathered while its tables are read.

    Made, filled and emptied inside loading; nothing of it outlives the load.
    """

    def __init__(self, source: Source, keys: Mapping[Place, Key]) -> None:
        self.source = source
        self.keys = keys
        self.faults: list[Fault] = []
        self.assumed: list[Assumed] = []
        self._explained: set[KeyPath] = set()  # with all that is around each

    def fault(self, path: KeyPath, problem: str, *, allowed: str = "", hint: str = "", mm: float | None = None) -> None:
        """Add a fault; `mm` is what a length was read as."""
        typed = self.source.typed(path)
        value = "" if typed is None else toml(typed)
        if mm is not None:
            value = f"{value} = {both(mm)}" if value else f"nothing, so {both(mm)} is assumed"
        self.faults.append(self.source.fault(path, value, problem, allowed, hint))
        self.meant(path)

    def missing(self, path: KeyPath) -> None:
        """Add the fault of a key that must be there, unless another fault says why it is not."""
        if self.explained(path):
            return
        key = self.keys.get(place_of(path))
        meaning = key.meaning.rstrip(".") if key else ""
        # Behind a line that can be copied into the file it stands as a remark.
        joint = "  # " if key and "=" in key.example else ": "
        self.fault(path, "missing", hint=joint.join(filter(None, (key.example, meaning))) if key else "")

    def meant(self, path: KeyPath) -> None:
        """Remember that a fault already told of this key: it was there under another name."""
        self._explained.update(path[:end] for end in range(len(path) + 1))

    def explained(self, path: KeyPath) -> bool:
        """Whether a fault at this key, or at one inside it, has been told."""
        return path in self._explained

    def assume(self, path: KeyPath, value: str, reason: str) -> None:
        """Note a value the file does not give."""
        self.assumed.append(Assumed(path=path, value=value, reason=reason))

    def assume_mm(self, path: KeyPath, mm: float, reason: str) -> float:
        """Note and return a length the file does not give."""
        self.assume(path, both(mm), reason)
        return mm
