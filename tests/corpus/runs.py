"""The runs: every command over every file that it can take in a fair time, as text, as JSON and into a file."""

from collections.abc import Iterator
from itertools import chain, product

from tests.corpus.files import CASES, DAMAGED, DAMAGED_MEASUREMENTS, EXTREMES, LAYOUTS, NUDGED, RINGS

Run = tuple[str, ...]
"""The words behind `beltplan`."""

COMMANDS = (
    *("measure", "check", "compare", "cure", "export", "fit", "place", "route", "squeal", "template", "tolerance"),
    *("vibration", "new", "words"),
)
FORMS = ("dxf", "svg", "csv", "json")
VARIANTS: dict[str, tuple[str, ...]] = {"camper": ("with idler",), "workboat": ("alternator low", "sides swapped")}
SLOW_TO_MEASURE = {"slip_0.8", "photo_two_slips", "loose30"}
SLOW_TO_STUDY = {"r30", "r64", "obst"}
"""Files among the cases that some commands take long for."""
MEASURED = {"buggy_measured", "carrier_measured", "cr", "drawn_measured", "m2_mirror", "m3_photo", "m4_blunders",
            "mark_tiny", "overlap_measured", "photo_card", *SLOW_TO_MEASURE}  # fmt: skip
CURED = ("a_belt_stock", "asym", "carrier", "fixed", "gokart", "hand_set_1425", "pj_1000N", "squeal")
"""Cases whose cures are looked for: the search is the longest run of all."""
PLACES: dict[Run, tuple[str, ...]] = {
    ("layouts/workboat.yaml",): ("alternator", "steering_pump"),
    ("layouts/railcar.yaml",): ("alternator", "guide"),
    ("layouts/camper.yaml",): ("house_alternator",),
    ("layouts/camper.yaml", "--variant", "with idler"): ("idler", "air_conditioning"),
    ("layouts/orchard_sprayer.yaml",): ("alternator",),
    ("layouts/too_tight.yaml",): ("steering_pump",),
    ("cases/findings.yaml",): ("alt", "wp"),
}
"""Which pulleys are moved in which layouts."""
PAIR = ("layouts/railcar.yaml", "--pulley", "alternator", "--pulley", "guide")


def every_run() -> list[Run]:
    """All, the longest first, so that no worker is left alone with a long one."""
    slow = (_cures(), _places(), _pictures(), _templates(), _measures(), _routes(), _tolerances(), _compares(), _full())
    quick = (_checks(), _squeals(), _fits(), _vibrations(), _exports(), _damaged(), _plain(), _refused())
    return list(chain(*slow, *quick))


def _shipped() -> list[Run]:
    """Every shipped layout and every variant of it, as words of a command."""
    names = [path.stem for path in sorted(LAYOUTS.glob("*.yaml")) if path.stem not in MEASURED]
    own: list[Run] = [(f"layouts/{name}.yaml",) for name in names]
    return own + [(f"layouts/{name}.yaml", "--variant", each) for name in names for each in VARIANTS.get(name, ())]


def _cases() -> list[Run]:
    found = [path for path in sorted(CASES.rglob("*.yaml")) if path.stem not in MEASURED]
    return [(f"cases/{path.relative_to(CASES).as_posix()}",) for path in found]


def _quick_cases() -> list[Run]:
    return [case for case in _cases() if not any(f"/{name}.yaml" in case[0] for name in SLOW_TO_STUDY)]


def _made(kind: str, count: int, step: int = 1) -> list[Run]:
    return [(f"made/{kind}_{number:02}.yaml",) for number in range(0, count, step)]


def _cures() -> Iterator[Run]:
    for each in (*_shipped(), *((f"cases/{name}.yaml",) for name in CURED), *_made("ring", RINGS, 10)):
        yield "cure", *each
    for each in (
        ("layouts/camper.yaml",),
        ("layouts/workboat.yaml", "--variant", "sides swapped"),
        ("cases/asym.yaml",),
    ):
        yield "cure", *each, "--json", "--write", "out/cured.yaml"
    yield "cure", "layouts/camper.yaml", "--picture", "out/picture.svg"
    yield "cure", "layouts/camper.yaml", "--smallest", "--full"


def _places() -> Iterator[Run]:
    for layout, pulleys in PLACES.items():
        for pulley in pulleys:
            yield "place", *layout, "--pulley", pulley, "--step", "20mm"
            yield "place", *layout, "--pulley", pulley, "--step", "25mm", "--json", "--csv", "out/places.csv"
        if len(pulleys) > 1:
            yield "place", *layout, *(word for pulley in pulleys for word in ("--pulley", pulley))
    yield "place", *PAIR, "--json"
    yield "place", "layouts/workboat.yaml", "--pulley", "alternator", "--step", "20mm", "--write", "out/placed.yaml"
    yield "place", "layouts/camper.yaml", "--pulley", "house_alternator", "--step", "20mm", "--full", "--belt", "any"
    yield "place", "layouts/workboat.yaml", "--pulley", "alternator", "--step", "12mm", "--picture", "out/picture.svg"
    yield "place", "layouts/railcar.yaml", "--pulley", "guide", "--within", "-60,60,150,300", "--step", "10", "--json"


def _pictures() -> Iterator[Run]:
    for each in (*_shipped(), ("cases/stationary.yaml",), ("cases/findings.yaml",), ("cases/tiny.yaml",)):
        yield "check", *each, "--picture", "out/routing.svg"
    for each in _shipped():
        yield "check", *each, "--slip-picture", "out/slip.svg"
    for command, name in (("compare", "workboat"), ("route", "railcar"), ("tolerance", "workboat")):
        yield command, f"layouts/{name}.yaml", "--picture", "out/picture.svg"
    yield "measure", "layouts/buggy_measured.yaml", "--picture", "out/picture.svg"
    yield "measure", "cases/m3_photo.yaml", "--picture", "out/picture.svg"


def _templates() -> Iterator[Run]:
    for each in (*_shipped(), ("cases/non_ascii.yaml",), ("cases/tiny.yaml",)):
        yield "template", *each, "--out", "out/template.pdf", "--paper", "A2"
    for paper in ("A4", "letter"):
        yield "template", "layouts/railcar.yaml", "--out", "out/template.pdf", "--paper", paper
    yield "template", "layouts/railcar.yaml", "--out", "out/template.pdf", "--only", "guide", "--json"


def _measures() -> Iterator[Run]:
    cases = [path.relative_to(CASES).as_posix() for path in sorted(CASES.rglob("*.yaml")) if path.stem in MEASURED]
    quick = [f"cases/{case}" for case in cases if not any(name in case for name in SLOW_TO_MEASURE)]
    for name in ("layouts/buggy_measured.yaml", *quick):
        yield "measure", name
        yield "measure", name, "--json"
        yield "measure", name, "--write", "out/layout.yaml"


def _routes() -> Iterator[Run]:
    for each in (*_shipped(), *_quick_cases(), *_made("ring", RINGS, 4)):
        yield "route", *each
    for each in _shipped():
        yield "route", *each, "--json", "--most", "3"
    yield "route", "layouts/railcar.yaml", "--keep-order-of", "crank,alternator,water_pump"


def _tolerances() -> Iterator[Run]:
    for each in (*_shipped(), *_quick_cases(), *_made("ring", RINGS, 3)):
        yield "tolerance", *each, "--draws", "1000"
    for each in (*_shipped(), *_quick_cases()):
        yield "tolerance", *each, "--draws", "500", "--seed", "7", "--json"


def _compares() -> Iterator[Run]:
    own = sorted({each[0] for each in _shipped()})
    rings = [each[0] for each in _made("ring", RINGS)]
    several = [own, ["cases/hand_set_1425.yaml", "cases/hand_set_1449.yaml"], ["cases/squeal.yaml", *own[:2]]]
    for files in (*([name] for name in own), *several, *(rings[first : first + 4] for first in range(0, RINGS, 4))):
        yield "compare", *files
        yield "compare", *files, "--json"


def _full() -> Iterator[Run]:
    """Everything that a command can tell, and once each in the other unit."""
    for each in (*_shipped(), ("cases/findings.yaml",), ("cases/stationary.yaml",)):
        for command in ("check", "route", "squeal"):
            yield command, *each, "--full"
        yield "tolerance", *each, "--draws", "1000", "--full"
    for command in ("check", "compare", "route", "tolerance"):
        yield command, "layouts/workboat.yaml", "--full", "--units", "mm"
    yield "compare", "layouts/camper.yaml", "--full"
    yield "measure", "layouts/buggy_measured.yaml", "--full"
    yield "page", "layouts/camper.yaml", "--out", "out/page.html"


def _checks() -> Iterator[Run]:
    made = (*_made("ring", RINGS), *_made("nudged", NUDGED), *_made("extreme", EXTREMES))
    for each in (*_shipped(), *_cases(), *made):
        yield "check", *each
        yield "check", *each, "--json"


def _squeals() -> Iterator[Run]:
    for each in (*_shipped(), *_quick_cases()):
        yield "squeal", *each
    for each in _shipped():
        yield "squeal", *each, "--json", "--when", "wet,idle", "--water", "louder"
    yield "squeal", "layouts/camper.yaml", "--full", "--units", "in"


def _vibrations() -> Iterator[Run]:
    yield from (("vibration", *each) for each in (*_shipped(), ("cases/carrier.yaml",), ("cases/no_loads.yaml",)))
    yield "vibration", "layouts/railcar.yaml", "--full", "--units", "in"
    yield "vibration", "layouts/orchard_sprayer.yaml", "--json"


def _fits() -> Iterator[Run]:
    for each in (*_shipped(), *_quick_cases()):
        yield "fit", *each
    for each in _shipped():
        yield "fit", *each, "--json", "--press", "50"
    yield "fit", "layouts/workboat.yaml", "--units", "mm"


def _exports() -> Iterator[Run]:
    for each, form in product(_shipped(), FORMS):
        yield "export", *each, "--out", f"out/belt.{form}"
    for number, each in enumerate((*_cases(), *_made("ring", RINGS, 2))):
        yield "export", *each, "--out", f"out/belt.{FORMS[number % len(FORMS)]}"


def _damaged() -> Iterator[Run]:
    """Each is judged, and put to one other command; what is damaged mildly may pass."""
    others: tuple[Run, ...] = (
        ("compare",),
        ("route",),
        ("tolerance", "--draws", "200"),
        ("export", "--out", "out/a.dxf"),
    )
    for number, each in enumerate(_made("damaged", DAMAGED)):
        yield "check", *each
        command, *options = others[number % len(others)]
        yield command, *each, *options
    for each in _made("measured", DAMAGED_MEASUREMENTS):
        yield "measure", *each


def _plain() -> Iterator[Run]:
    yield ("words",)
    yield "words", "--all"
    yield "words", "wrap"
    yield "words", "wrp"
    yield "words", "--schema"
    yield "words", "--schema", "--measurements"
    yield "new", "out/layout.yaml"
    yield "new", "--measurements", "out/measurements.yaml"
    yield ("--version",)
    yield ("--help",)
    yield from ((command, "--help") for command in COMMANDS)


def _refused() -> Iterator[Run]:
    """Options that make no sense, files that are not there."""
    railcar = "layouts/railcar.yaml"
    yield ()
    yield ("plan",)
    yield from ((command, "layouts/none.yaml") for command in COMMANDS if command not in ("new", "words"))
    yield "new", railcar
    yield "check", railcar, "--variant", "none"
    yield "check", railcar, "--picture", "out/picture.txt"
    yield "check", "cases/no_loads.yaml", "--slip-picture", "out/slip.svg"
    yield "measure", railcar
    yield "check", "layouts/buggy_measured.yaml"
    yield "compare", railcar, railcar
    yield "cure", "layouts/camper.yaml", "--write", "layouts/camper.yaml"
    yield "export", railcar, "--out", "out/belt.dwg"
    yield "template", railcar, "--out", "out/template.svg", "--paper", "B5"
    yield "template", railcar, "--out", "out/template.pdf", "--only", "gide,none"
    yield "place", railcar, "--pulley", "none"
    yield "place", railcar, "--pulley", "guide", "--within", "0,0,1", "--step", "-1"
    yield "route", railcar, "--most", "0", "--keep-order-of", "crank,none"
    yield "squeal", railcar, "--when", "wett", "--water", "loud"
    yield "tolerance", railcar, "--draws", "1"
