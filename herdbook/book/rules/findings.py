"""What the rules find: things that cannot be (refuse) and things hard to believe (ask)."""

from collections.abc import Iterable
from dataclasses import dataclass

REFUSE = "refuse"
ASK = "ask"


@dataclass(frozen=True)
class Finding:
    """One thing found.

    ``code`` names it, and the row it is about where a form has several (``heavy-pup:2``);
    ``field`` is the form field that it belongs to, empty for the whole.
    """

    kind: str
    code: str
    message: str
    field: str = ""


def refuse(code: str, message: str, field: str = "") -> Finding:
    return Finding(REFUSE, code, str(message), field)


def ask(code: str, message: str, field: str = "") -> Finding:
    return Finding(ASK, code, str(message), field)


class Refused(Exception):
    """The record cannot be: nothing was written."""

    def __init__(self, findings: Iterable[Finding]):
        self.findings = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))


class Asked(Exception):
    """The record is hard to believe: nothing was written until the keeper says that it is so."""

    def __init__(self, findings: Iterable[Finding]):
        self.findings = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))
