"""Both engines, the system's and the one from the lock, and a small invented family."""

import re
import shutil
import sysconfig
from pathlib import Path
from xml.etree import ElementTree

import pytest

from herdbook.charts import Ancestor, Animal, Sex

ENGINES = {
    "dot": shutil.which("dot"),
    "graphviz-pure": shutil.which("graphviz-pure", path=sysconfig.get_path("scripts")),
}
SVG = "{http://www.w3.org/2000/svg}"


def path_of(name: str) -> str:
    """Skips the test where the engine is not installed, so that the report counts it."""
    path = ENGINES[name]
    if path is None:
        pytest.skip(f"no {name} is installed here: its charts were tested on another engine alone")
    return path


@pytest.fixture(scope="session", params=list(ENGINES))
def engine(request) -> str:
    """The path of an engine: each test that asks for it runs with every one there is."""
    return path_of(request.param)


@pytest.fixture(scope="session")
def engines() -> list[str]:
    """The paths of all engines, to be compared."""
    return [path_of(name) for name in ENGINES]


@pytest.fixture
def slow_engine(tmp_path: Path) -> str:
    """A binary that never answers."""
    program = tmp_path / "slow"
    program.write_text("#!/bin/sh\nexec sleep 600\n")
    program.chmod(0o755)
    return str(program)


def frame_of(box: ElementTree.Element) -> tuple[float, float, float, float]:
    """Left, right, top and bottom of a box."""
    frame = next(part for part in box if part.tag in (f"{SVG}polygon", f"{SVG}path"))
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", frame.get("points") or frame.get("d"))]
    return min(numbers[::2]), max(numbers[::2]), min(numbers[1::2]), max(numbers[1::2])


def overlap(one, other) -> bool:
    """Whether two frames lie over each other."""
    return one[0] < other[1] and other[0] < one[1] and one[2] < other[3] and other[2] < one[3]


class Picture:
    """A chart's SVG, read back."""

    def __init__(self, svg: str) -> None:
        self.svg = svg
        self.root = ElementTree.fromstring(svg)

    def boxes(self, *kinds: str) -> list[ElementTree.Element]:
        """The boxes that are of all these kinds, in the order of the chart."""
        return [
            part
            for part in self.root.iter()
            if {"box", *kinds} <= set(part.get("class", "").split())
        ]

    @staticmethod
    def words(part: ElementTree.Element) -> list[str]:
        """The words of a part as they stand in the picture, a line each, its symbol's aside."""
        lines = [text.text or "" for text in part.iter(f"{SVG}text")]
        return [line for line in lines if line != "?"]

    @staticmethod
    def title(part: ElementTree.Element) -> str:
        return part.findtext(f"{SVG}title") or ""

    def frames(self) -> dict[str, tuple[float, float, float, float]]:
        """Left, right, top and bottom of each box, by the first words of its title."""
        return {self.title(box).split(",")[0]: frame_of(box) for box in self.boxes()}

    def width(self) -> float:
        return float(self.root.get("width"))

    def lines(self, kind: str) -> list[ElementTree.Element]:
        return [part for part in self.root.iter(f"{SVG}path") if part.get("class") == kind]


@pytest.fixture
def picture():
    return Picture


def animal(name: str, sex: Sex = Sex.UNKNOWN, **more) -> Animal:
    return Animal(key=name, name=name, sex=sex, **more)


@pytest.fixture
def family() -> dict[str, Ancestor]:
    """Hazel's parents are half sibs: Bracken, the sire of both, comes twice.

    Bracken is by Aldo or Bran, nobody knows which; Hazel's dam has no known dam.
    """
    aldo, bran = (Ancestor(animal(name, Sex.BOAR)) for name in ("Aldo", "Bran"))
    bracken = Ancestor(
        animal("Bracken", Sex.BOAR, copies=2, died=True, link="/animals/3/"), (aldo, bran)
    )
    rowan = Ancestor(
        animal("Rowan", Sex.BOAR, copies=1), (bracken,), Ancestor(animal("Ivy", Sex.SOW))
    )
    fern = Ancestor(animal("Fern", Sex.SOW, copies=0), (bracken,), None)
    hazel = Animal(
        key="Hazel",
        name="Hazel",
        sex=Sex.SOW,
        number="TH 12",
        born="2025",
        look="cream, chocolate points",
        dose="one dose 98%",
        copies=1,
        link="/animals/1/",
    )
    return {"hazel": Ancestor(hazel, (rowan,), fern), "rowan": rowan, "fern": fern}
