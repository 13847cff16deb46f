"""Does a belt fit, can it be put on, is travel left, and does the adjuster work where it stands?"""

from __future__ import annotations

import numpy as np

from beltplan.checks.limits import NOT_MEASURED, Bound, Check, Finding, Severity, against, demanded, problems_of
from beltplan.checks.overrun import overruns
from beltplan.drive.belt import Belt, any_words, format_designation, length_words, line_length_mm, rim_reading_spread_mm
from beltplan.drive.fit import (
    BUILT_IN_SOURCE,
    Window,
    adjuster_word,
    begins_over,
    built_in_lengths_mm,
    ends_put_on,
    ends_sure_to_go_on,
    good_ends,
    is_arm,
    is_sprung,
    seat_mm,
    setting_words,
    stock_of,
)
from beltplan.drive.mends import shortest_move
from beltplan.drive.profiles import PRACTICE, Profile
from beltplan.drive.pulleys import stops_of
from beltplan.drive.route import Route
from beltplan.drive.way_round import why_not_at

_NEEDED = "computed path length of this layout"


def _belt_fit_findings(route: Route) -> list[Finding]:
    if route.judged is not None:
        return []
    if route.to_ask_for_mm is not None:
        wrong, advice = ask_words(route, route.to_ask_for_mm)
        return [BELT_FIT.find("caution", "belt", wrong, advice, source=BUILT_IN_SOURCE)]
    if route.window is None:
        return _nothing_fits_fixed(route)
    if not route.named_outside:
        return _nothing_in_window(route, route.window)
    off, takes = _outside(route.length_mm, route.window), f"this drive takes {_window_words(route, route.window)}"
    words = "short to be put on" if off < 0.0 else f"long for the {adjuster_word(route.circuit)} to take up"
    wrong = f"{route.designation} is {abs(off):.1f} mm too {words}; {takes}"
    return [_off(wrong, too_short_words(route), off, route.length_mm)]


def unlisted_words(profile: Profile) -> str:
    """Why no belt of the built-in list is named, although there may be one."""
    if not built_in_lengths_mm(profile.name):
        return f"no list of {profile.name} lengths is built in"
    return f"no {profile.name} belt on the built-in list fits, and the list is short"


def no_belt_words(route: Route) -> str:
    """Why no belt is named, in short."""
    if route.to_ask_for_mm is not None:
        return unlisted_words(route.layout.belt.profile)
    return f"no belt {'of any length can be put on' if none_put_on_words(route) else 'on the list fits'}"


def ask_words(route: Route, lengths: tuple[float, float]) -> tuple[str, str]:
    """Where no belt of the built-in list fits, which is from memory: that, and what to ask a supplier for."""
    belt = route.layout.belt
    profile, known = belt.profile, unlisted_words(belt.profile)
    wanted = length_words(profile, *lengths, inches=True) + ("" if profile.is_classical else f", {profile.line_name}")
    if begins := _begins_words(belt, lengths[1]):
        return f"{known}; {begins}, and this drive takes {wanted}", _LONGER
    begins = _begins_words(belt, lengths[0])
    reserve = "; it can be put on, but without full reserve" * (route.acceptable_mm is None)
    return known, f"ask a supplier for {wanted}{begins and f'; {begins}'}{reserve}"


_LONGER = "look for another profile or a longer path"


def _begins_words(belt: Belt, length_mm: float) -> str:
    over = begins_over(belt, length_mm)
    return "" if over is None else f"as far as known, {belt.profile.name} begins at {over:.0f} mm"


def good_words(
    route: Route, what: str, does: str, inches: bool = False, good: tuple[float, float] | None = None
) -> str:
    """Which lengths do, of those with full reserve; where the travel leaves none, or as far as known none is sold, what
    to do instead."""
    belt, good = route.layout.belt, good or route.acceptable_mm
    if good is None:
        return too_short_words(route)
    if route.judged is None and (begins := _begins_words(belt, good[1])):
        return f"{begins}: {_LONGER}"
    unlisted = route.stock and not any(good[0] <= each.line_mm <= good[1] for each in route.stock)
    return any_words(what, belt.profile, good, does, inches) + "; none on the list has such a length" * bool(unlisted)


def too_short_words(route: Route) -> str:
    """By how much of belt the travel is too short for full reserve at both stops; empty where it is not."""
    if route.window is None:
        return ""
    least, most = good_ends(route.layout.belt, route.window)
    lacks, _, _ = against(float(least - most), 0.0)
    lacking = f"the {adjuster_word(route.circuit)}'s travel is {lacks} mm of belt too short"
    return f"{lacking} for fitting, length tolerance and wear together, with any belt" if least > most else ""


def _nothing_in_window(route: Route, window: Window[float]) -> list[Finding]:
    if none := none_put_on_words(route):
        return [BELT_FIT.find("problem", "belt", none, _more_travel(route))]
    wrong = f"no belt on the list is within the {_window_words(route, window)} that this drive takes"
    offs = [(_outside(line_length_mm(belt), window), belt) for belt in stock_of(route.layout)]
    if not offs:
        return [BELT_FIT.find("problem", "belt", wrong, "the list is empty: add belts to it")]
    nearest, belt = min(offs, key=lambda pair: abs(pair[0]))
    advice = "look for another length, or move a bracket"
    return [_off(f"{wrong}: {_near_words(offs)}", advice, nearest, line_length_mm(belt))]


def none_put_on_words(route: Route) -> str:
    """Why no belt of any length can be put on; empty where one can."""
    window = route.window
    if window is None or np.less_equal(*ends_put_on(window)):
        return ""
    takes = f"the {window.fitting:.1f} mm that fitting it over {route.last_over} last takes"
    if window.growth.pulled > 1.0:
        takes += f" and the {window.longest * (1.0 - 1.0 / window.growth.pulled):.1f} mm of its stretch as it is set"
    holds = f"{window.longest - window.shortest:.1f} mm of belt ({_window_words(route, window)})"
    return f"no belt of any length can be put on: the travel holds {holds}, less than {takes}"


def _more_travel(route: Route) -> str:
    return f"the {adjuster_word(route.circuit)} needs more travel"


def _window_words(route: Route, window: Window[float]) -> str:
    return length_words(route.layout.belt.profile, window.shortest, window.longest)


def _outside(length_mm: float, window: Window[float]) -> float:
    """How far a length lies outside a window: negative where too short."""
    return min(length_mm - window.shortest, 0.0) + max(length_mm - window.longest, 0.0)


def _off(wrong: str, advice: str, off: float, length_mm: float) -> Finding:
    limit = length_mm - off
    return BELT_FIT.find("problem", "belt", wrong, advice, numbers=(length_mm, limit, "mm", -abs(off) / limit))


def _nothing_fits_fixed(route: Route) -> list[Finding]:
    needed = route.needed_mm
    if needed is None:
        return []
    belts = (route.layout.belt,) if route.named_outside else stock_of(route.layout)
    offs = [(seat_mm(belt) - needed, belt) for belt in belts]
    if not offs:
        # An ordinary belt is a problem of its own here, whatever is on a list.
        empty = BELT_FIT.find("problem", "belt", f"the list is empty, and the path is {needed:.1f} mm")
        return [] if route.layout.stock is None else [empty]
    nearest, belt = min(offs, key=lambda pair: abs(pair[0]))
    wrong = f"there is no adjuster, and the path is {needed:.1f} mm: {_near_words(offs)}"
    advice = f"for {format_designation(belt)}, {_move_words(route, seat_mm(belt))}"
    return [_off(wrong, advice, nearest, seat_mm(belt))]


def _near_words(offs: list[tuple[float, Belt]]) -> str:
    short = max((pair for pair in offs if pair[0] < 0.0), key=lambda pair: pair[0], default=None)
    long = min((pair for pair in offs if pair[0] >= 0.0), key=lambda pair: pair[0], default=None)
    return " and ".join(
        f"{format_designation(pair[1])} is {abs(pair[0]):.1f} mm too {word}"
        for pair, word in ((short, "short"), (long, "long"))
        if pair is not None
    )


def _move_words(route: Route, length_mm: float) -> str:
    move = shortest_move(route, length_mm)
    if move is None:
        return "no single pulley moved a little makes it fit; add an adjuster"
    return (
        f"move {move.pulley} by {move.distance_mm:.1f} mm toward {np.degrees(move.direction_rad) % 360.0:.0f} deg "
        "(0 is right, 90 up), or better, add an adjuster"
    )


BELT_FIT = Check(
    "belt_fit",
    "no belt on the list fits, or the named belt lies outside what the drive can take",
    _belt_fit_findings,
    source=_NEEDED,
)


# Is there anything that takes up what an ordinary belt is short, long or worn?

_HOOKE = "Hooke: measuring force + stiffness x (path / length - 1); length tolerance "


def none_can_be_put_on(route: Route) -> bool:
    """Whether nothing adjusts the drive and its belts do not stretch over it either."""
    return route.travel is None and route.layout.belt.stretch_fit is None


def _no_adjuster_findings(route: Route) -> list[Finding]:
    belt, needed = route.layout.belt, route.needed_mm
    if not none_can_be_put_on(route) or needed is None:
        return []
    line = needed if route.judged is None else route.judged.line_mm
    name = "A belt of just this length" if route.judged is None else route.judged.designation
    off, source = belt.tolerance_of(line), _HOOKE + belt.profile.sources["tolerance_share"]
    tight, loose = (fixed_tension_N(belt, needed, line + way * off) for way in (-1.0, 1.0))
    most = belt.profile.span_limit_N * belt.ribs
    short = f"{name} made {off:.1f} mm short is pulled"
    short += " far too tight" if tight is None else f" with about {tight:.0f} N a span (maximum {most:.0f})"
    hangs = f"it is {line + off - needed:.1f} mm longer than the path" if not loose else f"about {loose:.0f} N are left"
    wrong = (
        "no adjuster, and this is no stretch belt: it can neither be slipped on nor tightened. "
        f"{short}; made {off:.1f} mm long, {hangs}"
    )
    numbers = (tight, None, "" if tight is None else "N", NOT_MEASURED)
    advice = "add an adjuster, or take a stretch belt made for this path (`belt.stretch_fit_percent`)"
    return [NO_ADJUSTER.find("problem", "belt", wrong, advice, source=source, numbers=numbers)]


def fixed_tension_N(belt: Belt, path_mm: float, line_mm: float) -> float | None:
    """Tension in every span of a belt on a path that nothing adjusts, N, 0 where it hangs loose; None where the
    stiffness is not known. A belt as long as the path still carries the force at which its length is measured.
    """
    stiffness = belt.full_stiffness_N
    if stiffness is None or line_mm <= 0.0:
        return None
    return max(belt.measuring_N + stiffness * (path_mm / line_mm - 1.0), 0.0)


NO_ADJUSTER = Check(
    "no_adjuster",
    "an ordinary belt on a drive without an adjuster: only a stretch belt may do without one",
    _no_adjuster_findings,
)


# Can the belt be put on, and is there travel in hand for tolerance, fitting and wear?

_STRETCH = "Hooke: length x (set tension - measuring force) / stiffness"
_CLIMB = "derived: wrap x height to climb, least of the fixed rims"


def _reserve_findings(route: Route) -> list[Finding]:
    """What is missing of the reserves of the belt that is judged.

    No length is advised: which bring no new problem only every check together can say, `lengths_words`.
    """
    fitted, window, found = route.judged, route.window, _too_short(route)
    if fitted is None or window is None or fitted.verdict == "good" or problems_of(found):
        return found
    why = too_short_words(route)
    if not found:
        negative = [reserve for reserve in (fitted.short_reserve_mm, fitted.long_reserve_mm) if reserve < 0.0]
        for reason, reserve in zip(fitted.reasons, negative, strict=True):
            found.append(_lacks("caution", route, window, f"{fitted.designation} has {reason}", why, reserve))
    over = fitted.line_mm * window.growth.pulled - window.longest
    if not over > 0.0:
        return found
    # The same shortage at the long-path end, only worse.
    wrong = (
        f"{fitted.designation} cannot be tightened: pulled to its set tension it is {over:.1f} mm longer than the "
        "longest path"
    )
    numbers = (window.longest + over, window.longest, "mm", -over / window.longest)
    return [*found[:-1], RESERVE.find("problem", "belt", wrong, why, source=_STRETCH, numbers=numbers)]


def _too_short(route: Route) -> list[Finding]:
    """Travel that leaves no belt full reserve; a problem where it may not even be fitted, or not tightened."""
    window, belt, wrong = route.window, route.layout.belt, too_short_words(route)
    if window is None or not wrong or (route.judged is None and route.to_ask_for_mm is None):
        return []
    may_not = bool(np.greater(*ends_sure_to_go_on(belt, window)))
    if not may_not and route.judged is None:
        return []
    least, most = map(float, good_ends(belt, window))
    wrong += ". One bought may be too short to be fitted, or too long to be tightened" * may_not
    return [_lacks("problem" if may_not else "caution", route, window, wrong, _more_travel(route), most - least)]


def _lacks(
    severity: Severity, route: Route, window: Window[float], wrong: str, advice: str, reserve_mm: float
) -> Finding:
    numbers = (reserve_mm, 0.0, "mm", reserve_mm / max(window.longest - window.shortest, 1.0))
    return RESERVE.find(severity, "belt", wrong, advice, source=_sources(route), numbers=numbers)


def _sources(route: Route) -> str:
    sources = route.layout.belt.profile.sources
    words = f"length tolerance {sources['tolerance_share']}; wear {sources['wear_share']}"
    stretched = route.window is not None and route.window.growth.set
    return words + (f"; measuring force {sources['measuring_force_N']}" if stretched else "")


RESERVE = Check(
    "reserve",
    "too little travel left for length tolerance, fitting or wear; a problem where none surely fits and tightens",
    _reserve_findings,
)


def _fitting_findings(route: Route) -> list[Finding]:
    fitted, window, last = route.judged, route.window, route.last_over
    if fitted is None or window is None or last is None:
        return []
    slack = fitted.line_mm - window.shortest
    bound = Bound("lower", window.fitting, "mm", _CLIMB)
    has, _, needs = against(slack, window.fitting)
    wrong = f"fitting {fitted.designation} over it last takes {needs} mm of slack, and the short stop leaves {has} mm"
    return FITTING.judge(last, slack, bound, wrong, "more travel that way, or a longer belt")


FITTING = Check(
    "fitting",
    "the belt cannot be slipped over the last rim with the adjuster at its short-path stop",
    _fitting_findings,
)


# What limits how far the lengths can be relied on: unusable travel, and readings over the rim.

_WIDEST_SWEEP_DEG = 180.0


def too_wide_a_sweep(route: Route) -> list[Finding]:
    """An arm whose stops are farther apart than any arm sweeps."""
    adjuster, pulley = route.circuit.adjuster, route.moving
    if adjuster is None or pulley is None or adjuster.kind != "arm":
        return []
    low, high = stops_of(adjuster)
    if high - low <= _WIDEST_SWEEP_DEG:
        return []
    wrong = f"its stops are {high - low:g} deg apart, from {low:g} to {high:g}"
    advice = f"if the arm is meant to pass 0, write [{high - 360.0:g}, {low:g}]"
    return [TRAVEL.find("caution", pulley.name, wrong, advice, source=PRACTICE)]


def _travel_findings(route: Route) -> list[Finding]:
    """Travel of no use because the path fails or its length turns back, and arms that sweep too far to be true."""
    travel, window, pulley, adjuster = route.travel, route.window, route.moving, route.circuit.adjuster
    found = too_wide_a_sweep(route)
    if travel is None or window is None or pulley is None or adjuster is None or travel.whole:
        return found
    ends = (("long", travel.long, "longest", "slackens"), ("short", travel.short, "shortest", "tightens"))
    words = [
        f"past the {end} end it {does} the belt again"
        for end, at, path, does in ends
        if travel.ends_by(float(at)) == f"{path} path"
    ]
    runs = overruns(route)
    stops = {run.end: run for run in sorted(runs, key=lambda run: -run.end_mm) if run.overlap}
    for setting, fault in ((at, fault) for at in travel.fails_at for fault in why_not_at(route.circuit, at)):
        run = next((run for run in runs if run.between == frozenset(fault.pulleys)), None)
        end = "short" if abs(setting - travel.short) < abs(setting - travel.long) else "long"
        why = ", ".join(each.words for each in fault.crossings) or fault.got.removeprefix("on this side ")
        if run is not None:
            stops[run.end], why = run, f"{pulley.name} and {run.other} leave the belt no path"
            runs = tuple(each for each in runs if each is not run)
        words.append(f"past the {end} end {why}")
    words += [f"{run.where} {pulley.name} and {run.other} {run.overlap}" for run in runs if run.overlap]
    advice = "; ".join(run.advice for run in stops.values())
    part = length_words(route.layout.belt.profile, window.shortest, window.longest)
    wrong = f"only part of its travel can be used, path {part}: {'; '.join(dict.fromkeys(words))}"
    found.append(TRAVEL.find("caution", pulley.name, wrong, advice))
    if not travel.at_nominal:
        is_middle, key = adjuster.nominal == adjuster.middle, "`at_deg`" if is_arm(route.circuit) else "`at`"
        at = setting_words(route.circuit, adjuster.nominal)
        wrong = f"no belt path {'in mid-travel' if is_middle else f'where {key} puts it'}, at {at}"
        held = "pivot and stops" if is_arm(route.circuit) else "`from` and `to`"
        advice = f"look at its belt_side, {held}, and its position in `route`"
        found.append(TRAVEL.find("problem", pulley.name, wrong, advice))
    return found


TRAVEL = Check("travel", "only part of the adjuster's travel can be used", _travel_findings, source=_NEEDED)


def _rim_reading_findings(route: Route) -> list[Finding]:
    read = np.array([pulley.reading == "rim" and not pulley.on_back for pulley in route.pulleys])
    if not read.any():
        return []
    least, most = rim_reading_spread_mm(route.layout.belt, float(route.loop.wrap[read].sum()))
    over = [pulley.name for pulley, over_rim in zip(route.pulleys, read, strict=True) if over_rim]
    measured = f"{', '.join(over)} {'was measured over its rim' if len(over) == 1 else 'were measured over their rims'}"
    wrong = f"{measured}: the path may be up to {abs(least):.1f} mm shorter or {most:.1f} mm longer"
    return [RIM_READING.find("note", "belt", wrong, source=route.layout.belt.profile.sources["rim_range_mm"])]


RIM_READING = Check(
    "rim_reading", "how far caliper readings over the rib tips leave the needed length open", _rim_reading_findings
)


# Does the adjuster work well where it works?


def _take_up_findings(route: Route) -> list[Finding]:
    """A weak take-up where the judged belt puts the adjuster."""
    percent, pulley = route.take_up_percent, route.moving
    if percent is None or pulley is None:
        return []
    bound = demanded(route.layout, "min_take_up_percent", (pulley.name,))
    advice = "turn the slide along the pull of its spans, or let it wrap more"
    if is_arm(route.circuit):
        advice = "mount the pivot so that the arm stands square to the pull"
    wears = "" if is_sprung(route.circuit) else ". A little wear uses up much of its travel"
    wrong = f"takes up {bound.words(percent, '% of the belt that a well placed one would', decimals=0)}{wears}"
    return TAKE_UP.judge(pulley.name, percent, bound, wrong, advice)


TAKE_UP = Check(
    "take_up",
    "an adjuster that takes up little belt for its movement where it works",
    _take_up_findings,
    limits=("min_take_up_percent",),
)


def _slack_side_findings(route: Route) -> list[Finding]:
    moving, pulley = route.circuit.moving, route.moving
    sprung = is_sprung(route.circuit)
    # An alternator swung out by hand stands where it is driven.
    if moving is None or pulley is None or not (sprung or pulley.guides_only):
        return []
    between = [other.name for other in route.pulleys[1:moving] if not other.guides_only]
    if not between:
        return []
    so = "Load will pull it back and slacken the belt"
    if not sprung:
        so = "Locked by hand it holds, but its bolt and bracket carry the pull of the load too"
    wrong = f"it sits on the tight side, past {', '.join(between)}. {so}"
    advice = f"put it on the span just after {route.pulleys[0].name}"
    if all(other.turns in (None, "either") for other in route.pulleys):
        advice += "; or is `rotation` the wrong way round?"
    return [SLACK_SIDE.find("caution" if sprung else "note", pulley.name, wrong, advice)]


SLACK_SIDE = Check(
    "slack_side",
    "a tensioner that is not on the slack span, just after the driver; a note where it is locked by hand",
    _slack_side_findings,
    source=PRACTICE,
)
