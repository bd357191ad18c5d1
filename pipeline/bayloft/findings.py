"""The outcome of a check, as data: what was measured, against which limit, and what it means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "warning", "failure"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One outcome of a check. `measured` and `limit` are in `unit`; `where` names the line, part or file."""

    code: str
    severity: Severity
    where: str
    measured: float
    limit: float
    unit: str
    text: str

    @property
    def passed(self) -> bool:
        """Whether a build may go on with this finding."""
        return self.severity != "failure"
