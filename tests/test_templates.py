"""Templates stay readable: no line is longer than an editor shows."""

from pathlib import Path

TEMPLATES = Path(__file__).resolve().parent.parent / "templates"
LONGEST = 200


def test_no_line_is_too_long_to_read():
    long = [
        f"{path.relative_to(TEMPLATES)}:{number}"
        for path in sorted(TEMPLATES.rglob("*.html"))
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if len(line) > LONGEST
    ]
    assert not long
