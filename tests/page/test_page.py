"""The page as a file: one piece, nothing from outside, everything escaped, to be heard as well, and read back."""

import json
import math
import re
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree.ElementTree import Element

import pytest

from beltplan import __version__
from beltplan.faults import FaultList
from beltplan.layoutfile.document import FIRST_LINE, read_text
from beltplan.layoutfile.layout_file import read_layout
from beltplan.page.charts import reserves_of
from beltplan.picture.scene import text_width_pt
from tests.cli.running import Runner
from tests.for_each import for_each
from tests.page.pages import NAMES, has, page_named, path_named, plan_named, tree_of, words_of

MOST_BYTES = 400_000
HOSTILE = """\
title: "<script>document.title='taken'</script> & \\"Co\\""
belt: 6PK
pulleys:
  "<script>alert(1)</script>": {role: crankshaft, at: [0, 0], diameter: 100}
  "a\\"b' onclick=x": {role: alternator, diameter: 100, slide: {from: [300, 0], to: [360, 0]}}
route: ["<script>alert(1)</script>", "a\\"b' onclick=x"]
obstacles: {"</pre><b>&amp;": {circle: {at: [150, 200], diameter: 30}}}
variants: {"</script><i>": {title: "<!-- variant"}}
"""
BOLTED = """\
belt: 6PK1500
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 200}
  generator:
    role: alternator
    diameter: 80
    slide: {from: [440, 40], to: [520, 40], at: 0.5}
  pump:
    role: water_pump
    at: [200, 200]
    diameter: 100
    mount: {holes: [[-30, -90, 10], [30, -90, 10]], slots: [{from: [0, -110], to: [20, -110], width: 9}],
      outline: [[-50, -120], [50, -120], [50, 120], [-50, 120]]}
marks: {dowel: [-150, 100]}
route: [crank, pump, generator]
"""


@for_each(*NAMES)
def test_every_line_of_a_chart_is_seen(name: str) -> None:
    """A stroke from a point to itself marks nothing."""
    paths = [each.get("d", "") for each in tree_of(page_named(name)).iter("path")]
    ends = [found for path in paths if (found := re.fullmatch(r"M(\S+ \S+)L(\S+ \S+)", path))]
    assert ends and not [found[0] for found in ends if found[1] == found[2]]


@for_each(*NAMES)
def test_one_small_file_that_asks_for_nothing_from_outside(name: str) -> None:
    text = page_named(name)
    assert text.startswith(FIRST_LINE) and len(text.encode()) < MOST_BYTES
    outside = [value for each in tree_of(text).iter() for key, value in each.attrib.items() if key in ("src", "href")]
    assert outside and all(value.startswith(("#", "data:,")) for value in outside)
    style = "".join(next(tree_of(text).iter("style")).itertext())
    assert "url(" not in style and "@import" not in style
    policy = next(each for each in tree_of(text).iter("meta") if each.get("http-equiv") == "Content-Security-Policy")
    assert policy.get("content", "").startswith("default-src 'none'")


@for_each(*NAMES)
def test_it_can_be_heard(name: str) -> None:
    """HTML Living Standard: one h1, no level left out, a caption and scoped heads on tables, names on drawings."""
    page = tree_of(page_named(name))
    assert page.get("lang") == "en" and words_of(next(page.iter("title")))
    levels = [int(each.tag[1]) for each in page.iter() if re.fullmatch("h[1-6]", each.tag)]
    assert levels[0] == 1 and levels.count(1) == 1 and all(after - before <= 1 for before, after in pairwise(levels))
    for table in page.iter("table"):
        assert words_of(next(table.iter("caption")))
        assert all(cell.get("scope") in ("col", "row") for cell in table.iter("th"))
        assert all(row[0].tag == "th" or row[1].tag == "th" for row in next(table.iter("tbody")))
    roles = {each.get("role"): each.get("id") for each in page.iter("svg")}
    assert roles["group"] == "routing" and set(roles) <= {"group", "img"}
    assert all(each.get("aria-label") for each in page.iter("svg"))
    assert all(each.get("aria-hidden") == "true" for each in page.iter("span") if has(each, "sign"))


def test_words_of_the_file_are_marked_as_code() -> None:
    page = tree_of(page_named("camper"))
    assert {"beltplan words swing_deg", "output"} <= {words_of(each) for each in page.iter("code")}
    assert not any("`" in words_of(each, units) for each in page.iter("p") for units in ("mm", "in"))


@for_each(*NAMES)
def test_every_pulley_and_span_has_a_group_with_an_id_and_a_title(name: str) -> None:
    page, plan = tree_of(page_named(name)), plan_named(name)
    groups = [each for each in page.iter("g") if each.get("data-part") is not None]
    assert all(group[0].tag == "title" and group[0].text for group in groups)
    named = {each.get("id"): each.get("data-part") for each in groups if each.get("id")}
    assert [named[f"pulley-{n}"] for n, _ in enumerate(plan.pulleys, 1)] == [row.name for row in plan.pulleys]
    assert [named[f"span-{n}"] for n, _ in enumerate(plan.spans, 1)] == [f"{s.start} to {s.end}" for s in plan.spans]
    assert {named[f"obstacle-{n}"] for n, _ in enumerate(plan.layout.obstacles, 1)} == {
        each.name for each in plan.layout.obstacles
    }
    ids = Counter(each.get("id") for each in page.iter() if each.get("id"))
    assert max(ids.values()) == 1
    links = [each.get("href", "").removeprefix("#") for each in page.iter("a")]
    assert all(link in ids for link in links)


def test_names_stay_text_wherever_they_go(run: Runner, here: Path) -> None:
    Path("drive.yaml").write_text(HOSTILE)
    assert run("page", "drive.yaml", "--out", "drive.html").code in (0, 1)
    text = Path("drive.html").read_text(encoding="utf-8")
    page = tree_of(text)
    assert len(list(page.iter("script"))) == 2 and len(list(page.iter("b"))) == len(re.findall(r"<b[ >]", text))
    assert not [each for each in page.iter() if "onclick" in each.attrib or each.tag == "i"]
    assert "<script>document.title='taken'</script> & \"Co\"" in words_of(next(page.iter("h1")))
    assert "<script>alert(1)</script>" in {each.get("data-part") for each in page.iter("g")}
    data = next(each for each in page.iter("script") if each.get("id") == "settings")
    assert "<script>alert(1)</script>" in json.loads(data.text or "")[0]["mm"] and "<" not in (data.text or "")
    assert text.count("<script>alert(1)</script>") == 0


@for_each("railcar", "workboat", "camper")
def test_commands_answer_for_the_page_as_for_its_layout(run: Runner, here: Path, name: str) -> None:
    Path("page.html").write_text(page_named(name), encoding="utf-8")
    for command in (("check", "--json"), ("fit",), ("check", "--full")):
        ran = [run(command[0], path, *command[1:]) for path in ("page.html", path_named(name))]
        assert ran[0] == ran[1] and ran[0].err == ""


def test_the_layouts_text_comes_back_as_it_was(run: Runner, here: Path) -> None:
    """Through a page, and through the page of that page; with what HTML and YAML hold dear."""
    text = HOSTILE.replace("\n", "\r\n", 1) + "# &lt;pre&gt; </pre> <!-- \N{GREEK CAPITAL LETTER OMEGA}  \n\n"
    Path("drive.yaml").write_bytes(text.encode())
    assert run("page", "drive.yaml", "--out", "one.html", "--variant", "</script><i>").code in (0, 1)
    assert run("page", "one.html", "--out", "two.html").code in (0, 1)
    for page in ("one.html", "two.html"):
        assert read_text(page, FaultList()) == text
    assert "of the variant </script><i>;" in words_of(tree_of(Path("two.html").read_text(encoding="utf-8")))


@for_each("with idler", "</script><i>")
def test_a_page_of_a_variant_is_judged_as_that_variant(run: Runner, here: Path, variant: str) -> None:
    """By every command, and told in its first line; `base` and other variants are still to be had."""
    layout: Path | str = path_named("camper")
    if variant not in read_layout(str(layout)).variants:
        layout = "drive.yaml"
        Path(layout).write_text(HOSTILE)
    ran = run("page", layout, "--out", "my page.html", "--variant", variant)
    assert ran.code in (0, 1) and '`beltplan check "my page.html"` reads it back' in ran.out.replace("\n", " ")
    for command, *options in (("check",), ("check", "--json"), ("fit",), ("route", "--json")):
        own = run(command, layout, *options, "--variant", variant)
        assert run(command, "my page.html", *options) == own and variant in own.out
        assert run(command, "my page.html", *options, "--variant", "base") == run(command, layout, *options)
    assert run("page", "my page.html", "--out", "again.html", "--variant", "base").code in (0, 1)
    assert run("check", "again.html") == run("check", layout)
    assert run("page", layout, "--out", "both.html", "--with", "my page.html").code in (0, 1)
    heads = words_of(tree_of(Path("both.html").read_text(encoding="utf-8")))
    assert f"after: my page.html, {variant}" in heads
    ran = run("page", "my page.html", "--out", "both.html", "--with", "my page.html")
    assert ran.code == 2 and "the layout of this page itself" in ran.err


def test_drawings_that_the_layout_names_are_told_and_wanted_beside_the_page(run: Runner, here: Path) -> None:
    """They cannot come along: the page says so, and reading it back elsewhere names the file that is missing."""
    Path("elsewhere").mkdir()
    Path("block.csv").write_text("x_mm,y_mm\n900,0\n950,0\n950,50\n")
    text = path_named("railcar").read_text(encoding="utf-8")
    Path("drive.yaml").write_text(text.replace("obstacles:\n", "obstacles:\n  block: {file: block.csv}\n"))
    assert run("page", "drive.yaml", "--out", "page.html").code == 0
    page = Path("page.html").read_text(encoding="utf-8")
    assert "must then lie beside it: block.csv." in words_of(tree_of(page))
    assert run("check", "page.html", "--json") == run("check", "drive.yaml", "--json")
    Path("elsewhere", "page.html").write_text(page, encoding="utf-8")
    ran = run("check", "elsewhere/page.html")
    assert (ran.code, ran.out) == (2, "") and "block.csv" in ran.err


def test_a_page_that_is_no_page_of_ours_is_refused_as_any_text(run: Runner, here: Path) -> None:
    Path("other.html").write_text("<!DOCTYPE html>\n<html><pre id='layout-file'>belt: 6PK</pre></html>\n")
    ran = run("check", "other.html")
    assert (ran.code, ran.out) == (2, "") and "other.html" in ran.err and "Traceback" not in ran.err


def test_the_faults_of_every_file_are_told_at_once(run: Runner, here: Path) -> None:
    Path("one.yaml").write_text("belt: 6PK\n")
    Path("page.html").write_text("kept")
    ran = run("page", "one.yaml", "--out", "page.html", "--with", "one.yaml", "gone.yaml")
    assert (ran.code, ran.out) == (2, "") and "one.yaml:1: pulleys" in ran.err and "gone.yaml" in ran.err
    ran = run("page", path_named("railcar"), "--out", "page.html", "--with", "page.html")
    assert (ran.code, ran.err.partition(";")[0]) == (2, "--out: got 'page.html'")
    assert Path("page.html").read_text() == "kept"


def test_layouts_beside_it_are_told_apart_though_their_files_have_one_name(run: Runner, here: Path) -> None:
    for folder, name in ((".", "railcar"), ("a", "workboat"), ("b", "orchard_sprayer")):
        Path(folder).mkdir(exist_ok=True)
        Path(folder, "drive.yaml").write_text(path_named(name).read_text(encoding="utf-8"), encoding="utf-8")
    others = ("a/drive.yaml", "b/drive.yaml")
    assert run("page", "drive.yaml", "--out", "page.html", "--with", *others).code == 0
    page = tree_of(Path("page.html").read_text(encoding="utf-8"))
    beside = next(each for each in page.iter("section") if each.get("id") == "beside")
    assert words_of(next(beside.iter("h2"))) == "Side by side"
    figures = [words_of(next(each.iter("figcaption"))) for each in beside.iter("figure")]
    assert [each.partition(":")[0] for each in figures] == ["drive.yaml", *others]


def test_the_same_layout_gives_the_same_page(run: Runner, here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SOURCE_DATE_EPOCH (reproducible-builds.org): seconds since 1970, here 2024-02-29 12:00 UTC."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1709208000")
    for name in ("one.html", "two.html"):
        assert run("page", path_named("railcar"), "--out", name).code == 0
    assert Path("one.html").read_bytes() == Path("two.html").read_bytes()
    assert f"railcar.yaml of 2024-02-29; beltplan {__version__}" in Path("one.html").read_text(encoding="utf-8")


def test_a_layout_beside_itself_is_refused(run: Runner, here: Path) -> None:
    ran = run("page", path_named("railcar"), "--out", "page.html", "--with", path_named("railcar"))
    assert ran.code == 2 and "the layout of this page itself; allowed: other layouts" in ran.err
    assert not Path("page.html").exists()


def test_many_pictures_leave_no_short_layout_out(run: Runner, here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("beltplan.page.cli._MOST_BYTES", 10_000)
    ran = run("page", path_named("railcar"), "--out", "page.html")
    assert "reads it back" in " ".join(ran.out.split()) and run("check", "page.html").code == 0


def test_a_layout_too_long_for_the_page_is_left_out_in_words(run: Runner, here: Path) -> None:
    Path("long.yaml").write_text(path_named("railcar").read_text(encoding="utf-8") + "# & more\n" * 25_000)
    ran = run("page", "long.yaml", "--out", "page.html")
    text = Path("page.html").read_text(encoding="utf-8")
    assert ran.code == 0 and len(text.encode()) < MOST_BYTES and "# &amp; more" not in text
    assert "too long to lie in it: hand it over" in " ".join(ran.out.split()) and "reads it back" not in ran.out
    file = next(each for each in tree_of(text).iter("section") if each.get("id") == "file")
    assert "long.yaml is too long to lie in this page" in words_of(file)


def test_what_is_bolted_on_is_drawn(run: Runner, here: Path) -> None:
    """Bracket, holes and marks; a finding on the bracket shows its pulley."""
    Path("bolted.yaml").write_text(BOLTED)
    assert run("page", "bolted.yaml", "--out", "page.html").code == 1
    page = tree_of(Path("page.html").read_text(encoding="utf-8"))
    parts = {each.get("data-part"): each for each in page.iter("g") if each.get("data-part")}
    found = {name for each in page.iter("li") for name in json.loads(each.get("data-parts", "[]"))}
    assert "pump" in found <= parts.keys()
    routing = next(each for each in page.iter("svg") if each.get("id") == "routing")
    assert "dowel" in words_of(routing)
    assert any("url(#hatch)" in path.get("fill", "") for path in routing.iter("path"))
    # A mark's paper has no rim.
    holes = [each for each in routing.iter("circle") if each.get("fill") == "#ffffff" and each.get("stroke")]
    assert len(holes) == 2


# Contrast, as WCAG 2.2 computes it (1.4.3: 4.5 to 1 for text).


def _contrast(one: str, other: str) -> float:
    lights = sorted(_luminance(each) for each in (one, other))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def _luminance(colour: str) -> float:
    full = colour if len(colour) == 7 else "#" + "".join(2 * digit for digit in colour[1:])
    parts = [int(full[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_contrast_is_computed_as_it_should_be() -> None:
    assert _contrast("#000", "#ffffff") == pytest.approx(21.0) and _contrast("#777777", "#fff") == pytest.approx(
        4.48, abs=0.005
    )


@for_each(*NAMES)
def test_all_text_stands_out(name: str) -> None:
    """On paper, on the grey of pulleys and obstacles, and on the signs' own colours."""
    page = tree_of(page_named(name))
    style = "".join(next(page.iter("style")).itertext())
    ink = [each.get("fill", "") for each in page.iter("text") if each.get("fill") != "#ffffff"]
    ink += re.findall(r"--(?:ink|soft|blue): (#\w+)", style)
    assert len(ink) > 10 and min(_contrast(colour, "#ffffff") for colour in ink) >= 4.5
    for rule, colours in re.findall(r"([^{}]+)\{([^{}]*background: #\w+[^{}]*)\}", style):
        ground = re.search(r"background: (#\w+)", colours)
        own = re.search(r"(?:^|; ?)color: (#\w+)", colours)
        assert ground is not None and _contrast(own[1] if own else "#16202b", ground[1]) >= 4.5, rule


# Words in drawings: none over another, none beyond the edge.


@for_each(*NAMES)
def test_no_word_of_a_drawing_is_torn_or_lies_over_another(name: str) -> None:
    page = tree_of(page_named(name))
    for svg in page.iter("svg"):
        width, height = map(float, svg.get("viewbox", "").split()[2:])
        layers = [each for each in svg.iter("g") if has(each, "names") or has(each, "numbers")] or [svg]
        room = [width / 100.0 * float(each) for each in re.findall(r"([\d.]+)%", svg.get("style", ""))] or [0.0, 0.0]
        for layer in layers:
            # Where it is narrow, the page keeps room for the numbers that reach over or under the drawing.
            over_it, under_it = room if has(layer, "numbers") else (0.0, 0.0)
            least, most = -0.5 - over_it, height + 0.5 + under_it
            boxes = [_box(each) for each in layer.iter("text") if not has(each, "in") and each.get("transform") is None]
            assert all(x0 >= -0.5 and y0 >= least and x1 <= width + 0.5 and y1 <= most for x0, y0, x1, y1 in boxes)
            over = [(a, b) for n, a in enumerate(boxes) for b in boxes[:n] if _meet(a, b)]
            assert over == []


@for_each(9.9, 49.2, 149.2, -49.2, -1149.2)
def test_the_words_of_the_longest_bar_are_whole(longest_mm: float) -> None:
    """Whichever way it goes, in both units."""
    plan = plan_named("railcar")
    for ends in ((longest_mm, 5.0), (5.0, longest_mm)):
        belts = [replace(each, short_reserve_mm=ends[0], long_reserve_mm=ends[1]) for each in plan.route.stock]
        chart = reserves_of(belts)
        width = float(chart.get("viewBox", "").split()[2])
        names = [_box(each) for each in chart.iter("text") if each.get("font-weight")]
        words = [_box(each) for each in chart.iter("text") if each.get("class")]
        assert len(words) == 4 * len(names) > 0
        assert all(max(box[2] for box in names) <= box[0] and box[2] <= width for box in words)


def _box(text: Element) -> tuple[float, float, float, float]:
    size, x, y = (float(text.get(key, "nan")) for key in ("font-size", "x", "y"))
    assert math.isfinite(size + x + y)
    width = text_width_pt(text.text or "", size, text.get("font-weight") == "bold")
    left = x - {"middle": 0.5, "end": 1.0}.get(text.get("text-anchor", "start"), 0.0) * width
    return left, y - 0.75 * size, left + width, y + 0.2 * size


def _meet(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return min(a[2], b[2]) - max(a[0], b[0]) > 1.0 and min(a[3], b[3]) - max(a[1], b[1]) > 1.0
