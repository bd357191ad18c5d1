"""The outcome of a check, as data: what was measured, against which limit, and what it means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.errors import BayloftError

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


def judged(code: str, where: str, measured: float, limit: float, unit: str, text: str, *, good: bool) -> Finding:
    """Return the outcome of a check: a note where it is good, else a failure."""
    return Finding(
        code=code,
        severity="note" if good else "failure",
        where=where,
        measured=measured,
        limit=limit,
        unit=unit,
        text=text,
    )


class CheckError(BayloftError):
    """A shape that did not pass its own checks: the findings that failed, and what would do where that is known.
    Nothing of it is written.
    """

    def __init__(self, name: str, findings: tuple[Finding, ...], hint: str = "") -> None:
        self.name, self.findings, self.hint = name, findings, hint
        lines = [f"{name}: {len(findings)} of its checks failed; nothing was written"]
        lines += [
            f"    {f.where}: {f.text} ({f.code}: {f.measured:.4g} {f.unit}, limit {f.limit:.4g})" for f in findings
        ]
        lines += [f"    try: {hint}"] if hint else []
        super().__init__("\n".join(lines))

    def __reduce__(self) -> tuple[type[CheckError], tuple[str, tuple[Finding, ...], str]]:
        return CheckError, (self.name, self.findings, self.hint)
