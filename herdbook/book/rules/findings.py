"""What the rules find: things that cannot be (refuse) and things hard to believe (ask)."""

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
