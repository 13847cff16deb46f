"""The page: its parts and where they stand. All words and numbers come from the same values as the screen and JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import get_args
from xml.etree.ElementTree import Element, tostring

from beltplan.checks.belt import none_can_be_put_on
from beltplan.checks.card import Card, card_of
from beltplan.checks.comparison import Comparison, compare
from beltplan.checks.limits import Finding, begun
from beltplan.checks.plan import OnBelt, Plan
from beltplan.checks.slip import used_words
from beltplan.drive.belt import MM_PER_INCH, outside_length_mm
from beltplan.drive.fit import is_sprung
from beltplan.drive.layout import Layout, Units
from beltplan.layoutfile.document import FIRST_LINE, LAYOUT_ID
from beltplan.layoutfile.layout_file import BASE
from beltplan.page.charts import reserves_of, slip_curves, slip_dots
from beltplan.page.elements import Child, either, element, elements_of, lengths, side_by_side, table_of, told
from beltplan.page.routing import Setting, routing_of, settings_of, signs_of, sketches_of
from beltplan.picture.page import marks_of
from beltplan.report.answer import grouped, title_words
from beltplan.report.card import card_parts
from beltplan.report.check_text import buy_blocks, not_judged_words, pulleys_table
from beltplan.report.full_text import full_blocks
from beltplan.report.rows import MARKS, compare_rows, unjudged_words
from beltplan.report.screen import Block, Column, Columns, Footnotes, Paragraph, Table
from beltplan.report.words import KEPT, SAFETY, role_words

_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:"
_BASE = "as it stands"
"""Name of a layout beside its variants."""
_SIGNS = {"problem": "\N{MULTIPLICATION X}", "caution": "!", "note": "i", "": "\N{CHECK MARK}"}


@dataclass(frozen=True)
class Origin:
    """Where a page comes from. name: of the layout's file; text: all of it, empty where it has no room.

    drawings: names of files that it reads. source: its name and day, and the version.
    """

    name: str
    text: str
    drawings: tuple[str, ...]
    source: str


def page_text(
    plan: Plan, origin: Origin, variants: Sequence[Layout] = (), others: Sequence[tuple[str, Layout]] = ()
) -> str:
    """All of it. variants: every layout of the file, the base first; others: named layouts to set this one beside."""
    notes = Footnotes()
    parts = [
        *_head(plan, origin),
        _section("Routing", "routing-part", *_routing(plan)),
        _section("What to do", "to-do", *_findings(plan, notes)),
        *_answer(plan, notes),
        _section("For the fitter", "card", *_card(card_of(plan), notes)),
        element("div", *_variants(variants), *_beside(plan, origin, others), _end(notes), class_="compared"),
        _section("The layout file", "file", *_file(origin, plan.layout.variant)),
    ]
    script = element("script", _own("page.js"))
    body = element("body", element("main", *parts), script, class_=plan.layout.units)
    root = element("html", _document_head(plan), body, lang="en")
    return f"{FIRST_LINE}\n{tostring(root, encoding='unicode', method='html')}\n"


def _document_head(plan: Plan) -> Element:
    return element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("link", rel="icon", href="data:,"),
        element("title", f"{title_words(plan.layout)}: belt plan"),
        element("style", _own("page.css")),
    )


def _own(name: str) -> str:
    return files("beltplan.page").joinpath(name).read_text(encoding="utf-8")


def _section(heading: str, name: str, *children: Child, class_: str | None = None) -> Element:
    return element("section", element("h2", heading), *children, id=name, class_=class_)


def _folded(words: str, *children: Child) -> Element:
    """Open until the page is live, so that all is there without a script."""
    return element("details", element("summary", words), *children, class_="fold", open="open")


def _end(notes: Footnotes) -> Element:
    """What ends a print, together, so that it may stand beside a narrow table."""
    sources = _section("Sources", "sources", *(_source(note) for note in notes.legend()))
    return element("div", sources, _section("Safety", "safety", element("p", SAFETY)))


# The answer first.


def _head(plan: Plan, origin: Origin) -> Iterator[Element]:
    worst = plan.findings[0].severity if plan.count("problem") or plan.count("caution") else ""
    mark = element("span", _SIGNS[worst], class_=f"sign {worst or 'good'}", aria_hidden="true")
    verdict = f"{begun(plan.verdict)}."
    unjudged = not_judged_words(plan)
    verdict += f" {begun(unjudged)}." if unjudged else ""
    yield element("header", element("h1", title_words(plan.layout)), element("p", origin.source, class_="made"),
                  element("p", mark, " ", verdict, class_="verdict"))  # fmt: skip
    first, *lengths = [each.text for each in buy_blocks(plan) if isinstance(each, Paragraph)]
    yield _section("The belt to order", "belt", element("p", *told(first), class_="order"),
                   *(element("p", *told(each), class_="interval") for each in lengths), _sizes(plan))  # fmt: skip


def _sizes(plan: Plan) -> Element:
    """What is told over the counter; of a layout for which nothing can be bought, the length that it is drawn with."""
    route, belt = plan.route, plan.layout.belt
    sold = route.judged is not None and not none_can_be_put_on(route)
    outside = outside_length_mm(route.belt, route.length_mm)
    rows = [
        ("profile", belt.profile.name),
        ("ribs" if belt.profile.is_ribbed else "belts side by side", str(belt.ribs)),
        (f"{belt.profile.line_name} length" if sold else "drawn and judged with", _both(route.length_mm)),
        *([("outside length", _both(outside))] if sold and outside is not None else []),
    ]
    return _list((head, told(text)) for head, text in rows)


def _both(mm: float) -> str:
    return f"{mm:.1f} mm ({mm / MM_PER_INCH:.2f} in)"


def _list(rows: Iterable[tuple[str, list[Child]]]) -> Element:
    return element("dl", *(element("div", element("dt", head), element("dd", *words)) for head, words in rows))


# The drawing, its switches, and a card for each pulley.


def _routing(plan: Plan) -> Iterator[Element]:
    settings = settings_of(plan.route)
    units = (("mm", "mm"), ("in", "inch"))
    switches = [element("button", words, type="button", data_units=name) for name, words in units]
    for layer in ("dimensions", "obstacles"):
        box = element("input", type="checkbox", checked="checked", data_layer=layer)
        switches.append(element("label", box, f" {layer}", class_=layer))
    yield element("div", *switches, class_="controls")
    yield element("div", *routing_of(plan, settings), class_="drawing")
    if settings:
        yield element("div", *_slider(plan, settings), class_="controls")
    yield element("div", *(_pulley_card(plan, n, row) for n, row in enumerate(plan.pulleys, 1)), class_="cards")
    signs = ", ".join(f"{sign}{KEPT}{name}" for name, sign in signs_of(plan.route).items())
    yield element("p", f"{signs}.", class_="narrow")
    yield element("p", "Touch a pulley, a span or a finding: what belongs to it lights up.", class_="hint touching")
    yield element("p", "Drawn to scale, seen from the front; x right, y up.", class_="hint")


def _slider(plan: Plan, settings: Sequence[Setting]) -> Iterator[Element]:
    at = next(number for number, each in enumerate(settings) if each.is_judged)
    head = f"Move {plan.route.moving.name if plan.route.moving else 'the adjuster'}"
    slide = {"type": "range", "min": 0, "max": len(settings) - 1, "step": 1, "value": at, "id": "setting"}
    yield element("label", f"{head} ", element("input", **slide))
    yield element("output", *told(settings[at].words), id="at-setting", for_="setting")


def _pulley_card(plan: Plan, number: int, row: OnBelt) -> Element:
    diameter = row.pulley.line_diameter_mm(plan.layout.belt)
    speeds = ", ".join(f"{name} {rpm:.0f} rpm" for name, rpm in row.rpm.items())
    hub = next((each for each in plan.hubs if each.pulley == row.name), None)
    rows = [
        ("wrap", f"{row.wrap_deg:.1f} deg, minimum {row.minimum_deg:.0f}"),
        ("ratio", f"{row.ratio:.2f}"),
        ("speed", speeds or "not known"),
        ("hub load", "not known" if hub is None else hub.words(is_sprung(plan.route.circuit))),
        ("grip used", _slip(plan, row.name)),
    ]
    head = element("h3", f"{number} {row.name}", element("small", f" {role_words(row.pulley.role)}"))
    lies = [("diameter", either(*lengths(diameter))), ("x, y", either(*lengths(*row.at_mm)))]
    told_rows = ((each, told(text)) for each, text in rows)
    return element("article", head, _list([*lies, *told_rows]), class_="pulley", data_part=row.name)


def _slip(plan: Plan, name: str) -> str:
    found = next((each for each in plan.slip if each.pulley == name), None)
    if found is None:
        return "not judged" if plan.operation is None else "carries no load"
    uses = ", ".join(f"{each.condition} {used_words(each.utilisation)}" for each in found.points)
    return f"{uses} (1 slips)"


# What to do.


def _findings(plan: Plan, notes: Footnotes) -> Iterator[Element]:
    if not plan.findings:
        yield element("p", "Nothing was found against it.")
    numbers = {id(mark.finding): mark.number for mark in marks_of(plan.findings)}
    for group in grouped(plan.findings):
        items = [_finding(each, numbers.get(id(each)), notes) for each in group]
        advice = [element("p", *told(group[0].advice), class_="advice")] if group[0].advice else []
        yield element("div", element("ul", *items), *advice, class_="group")


def _finding(finding: Finding, number: int | None, notes: Footnotes) -> Element:
    letter = notes.mark(finding.source)
    mark = element("span", str(number or _SIGNS["note"]), class_=f"sign {finding.severity}", aria_hidden="true")
    words = [mark, " ", element("b", finding.severity), " ", *told(finding.about), " "]
    link = element("a", letter, href=f"#source-{letter.strip('()')}")
    return element("li", *words, link, class_="finding", data_parts=json.dumps(finding.parts))


def _source(note: Paragraph) -> Element:
    return element("p", note.first, *told(note.text), id=f"source-{note.first.strip(' ()')}")


# The rest of the answer, in tables.


def _answer(plan: Plan, notes: Footnotes) -> Iterator[Element]:
    full = full_blocks(plan, notes)
    own = pulleys_table(plan, full=True)
    # The numbers by which the drawing calls the pulleys stand before their names.
    rows = [(str(number), *row) for number, row in enumerate(own.rows, 1)]
    pulleys = table_of(Table((Column("no"), *own.columns), rows), "Pulleys in the belt's travel")
    signed = ["! beside a wrap: see What to do"] * any(each.check == "wrap" for each in plan.findings)
    frame = _folded("How to read it", *elements_of(full["frame"], ""))
    yield _section("Pulleys", "pulleys", pulleys, *(element("p", words) for words in signed), frame)
    if full["adjuster"]:
        yield _section("Adjuster", "adjuster", *elements_of(full["adjuster"][1:], "Adjuster"))
    bars = [reserves_of(plan.route.stock[:8])] if plan.route.stock and plan.route.window else []
    yield _section("Belts that fit", "belts", _pair(bars, _bare(full["belts"]), "Belts that fit, best first"))
    yield _section("Tension and spans", "tension", *elements_of(_bare(full["tension"]), "Tension"),
                   _folded("Every span", *elements_of(full["spans"], "Spans")))  # fmt: skip
    if plan.slip:
        curves = _folded("Over the engine's speed", *slip_curves(plan))
        yield _section("Slip", "slip", _pair([slip_dots(plan)], full["slip"], "Grip used by each pulley"), curves)
    elif full["slip"]:
        yield _section("Slip", "slip", *elements_of(full["slip"], "Grip used"))
    if full["hubs"]:
        yield _section("Hub loads", "hubs", _folded("Pull on every hub", *elements_of(full["hubs"], "Hub loads")))
    if full["bolted"]:
        yield _section("Holes and marks", "bolted", *elements_of(full["bolted"], "Holes and marks"))


def _card(card: Card, notes: Footnotes) -> list[Element]:
    captions = ("Planes of the pulleys", "", "Tension, and how it shows", "Pull on the brackets")
    parts = zip(card_parts(card, notes), captions, strict=True)
    return [each for part, caption in parts for each in elements_of(part, caption)]


def _pair(charts: list[Element], blocks: Iterable[Block], caption: str) -> Element:
    return element("div", *charts, element("div", *elements_of(blocks, caption)), class_="pair")


def _bare(blocks: list[Block]) -> list[Block]:
    return [replace(each, first="") if isinstance(each, Paragraph) else each for each in blocks]


# Layouts side by side.


def _variants(variants: Sequence[Layout]) -> Iterator[Element]:
    if len(variants) > 1:
        named = [(each.variant or _BASE, each) for each in variants]
        yield _section("Variants", "variants", *_side_by_side(compare(named), "Variants of this layout"))


def _beside(plan: Plan, origin: Origin, others: Sequence[tuple[str, Layout]]) -> Iterator[Element]:
    own = origin.name if plan.layout.variant is None else f"{origin.name}, {plan.layout.variant}"
    every, heading = [(own, plan.layout), *others], "Side by side"
    if len(others) == 1:
        every = [(f"{when}: {name}", each) for when, (name, each) in zip(("before", "after"), every, strict=True)]
        heading = "Before and after"
    if others:
        yield _section(heading, "beside", *_side_by_side(compare(every), heading))


def _side_by_side(comparison: Comparison, caption: str) -> Iterator[Element]:
    mm, inches = (_columns(comparison, units) for units in get_args(Units))
    yield from sketches_of(comparison)
    yield side_by_side(mm, inches, caption)
    yield from (element("p", words) for words in (MARKS, unjudged_words(comparison)) if words)


def _columns(comparison: Comparison, units: Units) -> Columns:
    told_in = [replace(each, layout=replace(each.layout, units=units)) for each in comparison.columns]
    rows = compare_rows(replace(comparison, columns=tuple(told_in)), pounds=True)
    return Columns(tuple(column.name for column in told_in), tuple((row.label, row.cells) for row in rows))


# The layout's own text, to be read back.


def _file(origin: Origin, variant: str | None) -> Iterator[Element]:
    if not origin.text:
        yield element("p", f"{origin.name} is too long to lie in this page: it belongs beside it.")
        return
    words = "This page can be read as the layout file: `beltplan check PAGE.html`."
    if variant is not None:
        words += f" It is of the variant {variant}; `--variant {BASE}` takes the file as it stands."
    if origin.drawings:
        words += f" The drawings that it names must then lie beside it: {', '.join(origin.drawings)}."
    yield element("p", *told(words))
    yield _folded(f"{origin.name}", element("pre", origin.text, id=LAYOUT_ID, data_variant=variant))
