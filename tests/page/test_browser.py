"""The page in a real browser: Debian's chromium without a window, where it is installed (`.ci/run` does that)."""

import json
import re
import shutil
import subprocess
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from beltplan.checks.plan import plan_of
from beltplan.layoutfile.layout_file import read_every_layout
from beltplan.page.report import Origin, page_text
from tests.for_each import mostly_long
from tests.page.pages import SOURCE, page_named, path_named, plan_named
from tests.page.test_numbers import path_length
from tests.shipped import SHIPPED_LAYOUTS

CHROMIUM = shutil.which("chromium")
WHY = "chromium is not installed here: the page is not tried in a browser"
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason=WHY)

TOUCHING = Path(__file__).with_name("touching.js").read_text(encoding="utf-8")
FRAME = """<!DOCTYPE html><body style="margin:0"><iframe src="page.html" width="{width}" height="900" style="border:0">
</iframe><script>addEventListener("message", (event) => document.body.dataset.told = event.data);</script>"""


def browse(folder: Path, name: str, *options: str) -> subprocess.CompletedProcess[str]:
    fixed = (
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--enable-logging=stderr",
        f"--user-data-dir={folder / 'user'}",
    )
    return subprocess.run(
        [CHROMIUM or "chromium", *fixed, *options, (folder / name).as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip


def tried(folder: Path, text: str, width: int) -> dict[str, Any]:
    """What the page tells of itself in a window of that width, when everything in it is touched."""
    (folder / "page.html").write_text(text.replace("</body>", f"<script>{TOUCHING}</script></body>"), encoding="utf-8")
    (folder / "frame.html").write_text(FRAME.format(width=width))
    ran = browse(folder, "frame.html", "--virtual-time-budget=4000", "--window-size=1400,1000", "--dump-dom")
    assert "CONSOLE" not in ran.stderr, ran.stderr
    found = re.search(r'data-told="([^"]*)"', ran.stdout)
    assert found is not None
    told: dict[str, Any] = json.loads(unescape(found[1]))
    return told


@pytest.mark.parametrize(
    ("name", "width"), [("camper", 1280), ("workboat", 1000), ("camper", 390), ("no_adjuster", 390)]
)
def test_what_is_touched_answers(tmp_path: Path, name: str, width: int) -> None:
    told, plan = tried(tmp_path, page_named(name), width), plan_named(name)
    assert told["width"] <= width and told["requests"] == [] and plan.layout.title in told["title"]
    assert told["smallest"] >= 8.0 and told["hidden"] == [] and (width < 1000 or told["cut"] == [])
    assert told["before"] == [] and told["touched"] == [plan.pulleys[0].name] and told["again"] == []
    assert told["lit"] == sum(plan.pulleys[0].name in each.parts for each in plan.findings)
    if "parts" in told:
        assert set(told["parts"]) <= set(told["marked"])
    assert told["folded"] and not any(told["folded"])
    assert told["mm"] == 0 and told["obstacles"] == 0 and {"x, in", "y, in"} <= set(told["heads"])
    if plan.route.window is not None:
        assert told["shown"] is False and told["now"] is True and told["moved"] > 3.0
        assert told["words"] == told["last"][plan.layout.units]
        assert told["belt"] == pytest.approx(path_length(told["last"]["belt"]), rel=1e-3)


STEMS = [path.stem for path in SHIPPED_LAYOUTS]


@pytest.mark.parametrize("name", mostly_long(STEMS, 0, STEMS.index("railcar")))
def test_it_prints_on_two_sheets(tmp_path: Path, name: str) -> None:
    """Letter, which is the shorter, the first on A4 too: a variant, with the others, beside a layout or four."""
    layouts = [file.layout for file in read_every_layout(str(path_named(name)))]
    others = [path.stem for path in SHIPPED_LAYOUTS if path.stem != name][: 4 if name == "railcar" else 1]
    origin, beside = Origin(f"{name}.yaml", "", (), SOURCE), [(f"{o}.yaml", plan_named(o).layout) for o in others]
    page = page_text(plan_of(layouts[-1]), origin, layouts, beside)
    for paper in ("letter", "A4")[: 2 if name == SHIPPED_LAYOUTS[0].stem else 1]:
        (tmp_path / "page.html").write_text(page.replace("@page {", f"@page {{size: {paper}; "), encoding="utf-8")
        browse(tmp_path, "page.html", "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'page.pdf'}")
        printed = pypdfium2.PdfDocument(tmp_path / "page.pdf")
        assert len(printed) == 2, paper
        words = "".join(page.get_textpage().get_text_range() for page in printed)
        assert "Safety" in words and "The belt to order" in words


def test_a_wide_table_has_the_sheet_to_itself_and_a_narrow_one_the_end_beside_it(tmp_path: Path) -> None:
    """Six variants over the whole sheet; beside before and after, in the right half, sources and safety."""
    base = read_every_layout(str(path_named("railcar")))[0].layout
    variants = [base, *(replace(base, variant=f"mount {n}") for n in range(5))]
    beside = [("workboat.yaml", plan_named("workboat").layout)]
    page = page_text(plan_named("railcar"), Origin("railcar.yaml", "", (), SOURCE), variants, beside)
    (tmp_path / "page.html").write_text(page.replace("@page {", "@page {size: letter; "), encoding="utf-8")
    browse(tmp_path, "page.html", "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'page.pdf'}")
    printed = pypdfium2.PdfDocument(tmp_path / "page.pdf")
    (last,) = list(printed)[1:]
    text = last.get_textpage()
    left = {}
    for words in ("Variants", "mount 4", "Before and after", "Sources", "Safety"):
        found = text.search(words, match_case=True).get_next()
        assert found is not None, words
        left[words] = text.get_charbox(found[0])[0] / last.get_width()
    assert left["Variants"] < 0.1 and left["mount 4"] > 0.8
    assert left["Before and after"] < 0.1 and min(left["Sources"], left["Safety"]) > 0.5


def test_no_source_is_torn_over_two_columns(tmp_path: Path) -> None:
    """As printed, in windows of four widths: a torn paragraph has a rectangle in either column."""
    torn = "[...document.querySelectorAll('#sources p')].map((p) => p.getClientRects().length)"
    script = f"<script>document.body.dataset.pieces = {torn}.join(' ');</script></body>"
    text = page_named("camper").replace("@media print", "@media all").replace("</body>", script)
    (tmp_path / "page.html").write_text(text, encoding="utf-8")
    for width in (640, 700, 800, 1000):
        shown = browse(tmp_path, "page.html", f"--window-size={width},1000", "--dump-dom").stdout
        found = re.search(r'data-pieces="([^"]*)"', shown)
        assert found is not None and {*found[1].split()} == {"1"}, width


def test_without_a_script_all_is_there(tmp_path: Path) -> None:
    """Printed from a copy without its scripts: cards, folded parts and the layout's own text are on paper or open."""
    text = re.sub(r"<script.*?</script>", "", page_named("camper"), flags=re.DOTALL).replace(
        "@media print", "@media none"
    )
    (tmp_path / "page.html").write_text(text, encoding="utf-8")
    browse(tmp_path, "page.html", f"--print-to-pdf={tmp_path / 'page.pdf'}")
    printed = pypdfium2.PdfDocument(tmp_path / "page.pdf")
    words = " ".join("".join(page.get_textpage().get_text_range() for page in printed).split())
    plan = plan_named("camper")
    assert all(f"{n} {row.name}" in words for n, row in enumerate(plan.pulleys, 1))
    assert "Over the engine's speed" in words and "belt: 6PK" in words and "hub load" in words
