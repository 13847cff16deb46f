"""What the words of reports mean, and what answers rest on: rules that are told once, here."""

from __future__ import annotations

from collections.abc import Mapping

from beltplan.checks.comparison import RULE
from beltplan.checks.limits import CAUTION_BAND, SEVERITIES
from beltplan.drive.profiles import PRACTICE
from beltplan.tolerance.study import BUYING

TERMS: Mapping[str, tuple[str, ...]] = {
    "frame": (
        "Seen from the front, facing the pulleys: x to your right, y up, origin anywhere.",
        "Angles in degrees, counter-clockwise from x: 0 is to your right, 90 straight up. Left and right are the "
        "viewer's, not the driver's.",
    ),
    "span": (
        "The free belt between two pulleys. Older keys have another word for it: `free_strand`, `min_strand_gap_mm`.",
    ),
    "wrap": ("The angle over which the belt lies on a pulley, in degrees. A minimum wrap is a first screen.",),
    "ribs, back": (
        "The ribs face the inside of the loop. A pulley inside the loop runs on the ribs and turns as the crankshaft "
        "does. One outside it runs on the smooth back (`belt_side: back`) and turns the other way.",
    ),
    "turns": ("cw is clockwise, ccw counterclockwise, seen from the front.",),
    "ratio": ("Speed of a pulley over that of the driving one, on pitch diameters, without creep: read it as about.",),
    "rim": (
        "The metal of a grooved pulley over its rib tips. On PK it is 0.4 mm under the effective diameter, up to 0.9 "
        "on a well-rounded rim. That makes the path uncertain by 2 to 3 mm on a usual drive.",
    ),
    "effective length, effective diameter": (
        "Effective, pitch, datum, inside and outside length are lines of the same belt, apart by fixed amounts. The "
        "number in a V-ribbed designation is the effective length; the effective diameter goes with it.",
        "The number of a classical V-belt (A, B) may be its inside, datum or outside length: say which by "
        "`length_kind`.",
    ),
    "outside length": ("What a tape reads round the outside of a belt.",),
    "path": (
        "The length of the way round all pulleys. At the design setting: where `at_deg` or `at` puts the adjuster, or "
        "the middle of its travel. It belongs to the adjuster: buy by BUY, not by it.",
    ),
    "chosen belt": (
        "The belt that fits best, or the one named by `belt`. All figures hold where it puts the adjuster, at its "
        "measuring tension; a belt in service is about 0.3 % longer.",
    ),
    "fits": (
        "The adjuster's travel holds length tolerance, slack to slip the belt over the easiest fixed rim, and wear in "
        "life. Where it is set by hand, it also holds the stretch up to its tension.",
        "Fits, but: it can be fitted, and one of these is short; the report says which, and by how much.",
        "Without an adjuster only a stretch belt (`stretch_fit_percent`) fits.",
    ),
    "reserve": (
        "Travel that is left after tolerance, fitting and wear, as mm of belt: to the short stop and to the long stop.",
        "Room in `tolerance`: the same of the belts drawn, whose tolerance is drawn too.",
    ),
    "fitting": (
        "The belt is slipped over the easiest fixed rim last, with the adjuster at its short stop. If it "
        "must go on in one go, buy longer: SAE J1596 (cancelled, for assembly lines) asks for 30 to 35 mm more.",
    ),
    "tensioner, adjuster": (
        "A tensioner is sprung. An adjuster is a slide or arm that is set by hand and locked, or either of the two.",
        "Its position counts from the short stop, 0 %, to the long stop, 100 % of the usable travel.",
    ),
    "short stop, long stop": (
        "Ends of the usable travel. At the short stop the belt's path is shortest, and the belt is put on. At the long "
        "stop it is longest, and nothing is left for wear.",
    ),
    "design setting": (
        "Where the file puts the adjuster: an arm at `at_deg`, a slide at `at`, else the middle of its travel. The "
        "chosen belt may put it elsewhere.",
    ),
    "pointer": (
        "What some tensioners show their position by, against marks for a new and a worn belt. `fit` tells where it "
        "stands; with `pointer_radius_mm` in mm along its rim too.",
    ),
    "tired": (
        "Of a spring: so weak that the belt has less tension than a sound spring of these data could leave it. `fit` "
        "tells below which tension it is tired.",
    ),
    "take-up": ("Belt that an adjuster takes up for its movement, as a share of the best that this movement could.",),
    "hub, hub load": (
        "What belt tension pulls a shaft by, at rest and at its worst, in N, with its direction. Belt weight and "
        "misalignment are not in it.",
    ),
    "set tension": (
        "Tension of one span, engine stopped, to which a hand-set adjuster is locked with a run-in belt: `tension_N`. "
        "A new belt is set higher, 1.2 times for PK: `beltplan fit` tells it.",
    ),
    "damping ratio": (
        "Of a tensioner, 2 (A - B) / (A + B): A the torque against its spring, B the one with it. Half of it is the "
        "friction either way. A torque wrench reads both: `spring.readings`.",
    ),
    "tone": (
        "What a plucked span sounds, engine stopped, in Hz. A short one sounds higher than told, for a belt is stiff. "
        "It is about 15 % at 91 mm and 5 % at 233 mm of a 6PK (from memory, low confidence).",
    ),
    "grip used": (
        "What the load takes of that which tension, wrap and friction can carry, at the worst speed and duty. 1 slips, "
        "0.8 is a caution.",
        "Dry and wet are friction as it may be; friction varies by a factor of two with wear, water and dust.",
        "Grip falls with a pulley's radius, which is not modelled. An AV10 belt's tight side held 21 times its slack "
        "side on a radius of 51 mm, 5 times on 21 mm. Source: abstract of Childs and Cowburn, 1987.",
    ),
    "design friction": ("The low friction that industrial drives are laid out by. Slip at it alone is a caution.",),
    "revving": (
        "Grip used, wet, while the engine gains or loses `rev_up_rpm_per_s`, by the inertia of each accessory: the "
        "chirp. Other figures are of steady running.",
    ),
    "first mode": (
        "The slowest way in which pulleys turn to and fro against each other on the springy belt. Where the engine "
        "fires as often it swings widest. `vibration` tells where.",
    ),
    "swing of the crank": (
        "How far the crank runs ahead of even turning and falls behind, as it fires: `engine.swing_deg`, either way.",
    ),
    "duty": ("Loads that act together. Without `duty` all act.",),
    "see slip": (
        "In `squeal`, of a wrap: loads and speeds are given, so grip used tells whether the pulley slips; its wrap is "
        "a first screen only.",
    ),
    "draw": (
        "One layout out of thousands that `tolerance` makes by chance: every measurement off as far as its standard "
        "deviation makes likely. A chance is the share of draws. In `place`, a pair of places made by chance.",
    ),
    "margin, worst margin": (
        "Distance to a limit on its good side, as a share of that limit. The worst margin is the smallest of a layout.",
    ),
    "tightest of what its place changes": (
        "In `place`, the smallest margin of those limits that moving the pulley changes: it tells which position is "
        "better. 20 % inside its limit: 20 % over a minimum, or under a maximum.",
    ),
    "severity": (
        f"{', '.join(SEVERITIES)}. A problem: it will not work so. A caution: beyond a limit that is a guideline, or "
        f"within {100 * (CAUTION_BAND - 1):.0f} % of a limit ({PRACTICE}). A note: what an answer rests on.",
    ),
    "sigmas": (
        "How far a reading is off, in its standard deviations as all the others make it: over 3 is rare. Shows from: "
        "smaller errors would go unnoticed. Never: no other reading checks it.",
    ),
    "misread": ("A reading that the others contradict. It is not used; measure it again.",),
    "loop": (
        "A wire or string laid round pulleys, or a belt on them with the arm at a known angle. Its length is one "
        "reading more: `loops` in a file of measurements.",
    ),
    "plumb, level, levels": (
        "What an angle is counted from: level, to the right, or plumb, straight up; both counterclockwise. In a file "
        "of measurements: `angles: {crank - pump: {value: 7.4, from: plumb}}`.",
    ),
    "mirror solution": ("Another way for the points to lie that fits as well. A word of `sides` decides.",),
    "standard deviation": ("How far a reading may be off: two of three lie within one, 19 of 20 within two.",),
    "ranking": (RULE[0].upper() + RULE[1:] + ".",),
    "buying": (BUYING,),
    "left out": (
        "Belts lie in one plane, but for misalignment. Bending stiffness, creep, bending of shafts, belt flap and heat "
        "beyond `block` are not computed: keep clear by more than the minimum.",
    ),
    "numbers": (
        "In every --json lengths and angles are rounded to 1e-6 mm and deg, others to 9 significant digits; `export` "
        "keeps more.",
    ),
    "exit status": (
        "0: no problem. 1: at least one. 2: an input error, told with the line, or no command given; nothing is "
        "written. 3: the program or the machine failed. 130: stopped by Ctrl-C.",
    ),
    "drawing of an obstacle": (
        "`block: {file: block.csv}`. A CSV holds one point a row round the edge, in columns x and y (or x_mm, y_mm, "
        "x_in, y_in). A DXF (text form) or SVG holds lines, arcs and curves.",
        "`at` and `turn_deg` place the drawing's origin; `outline` names the layer (DXF) or id (SVG); `units` is the "
        "drawing's. The origin of an SVG is the zero of its coordinates, y turned up.",
        "Gaps up to 0.05 mm are closed, larger ones are named; holes do not count. A trace of many points is thinned "
        "to 0.05 mm; a rough one is drawn larger by 1.6 mm at most, never smaller. Look at the picture.",
    ),
}
"""By the word, or words, that a report has; a paragraph each."""
