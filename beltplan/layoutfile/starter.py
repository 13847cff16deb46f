"""Files to begin with, of a layout and of measurements: small, sound and invented, with a word on every key."""

from __future__ import annotations

import re

from beltplan.drive.layout import Units

_LAYOUT = """\
# A layout to begin with. INVENTED NUMBERS: replace every one with your own measurements.
# An editor can complete and check this file as you type: `beltplan words --schema > layout.schema.json` (JSON Schema)
# What a key means: `beltplan words KEY`.
# Seen from the front, facing the pulleys: x to your right, y up, origin anywhere.
# Angles in degrees, counter-clockwise from x.
# To use a line that begins with '#' and a key, take the '#' away.

title: Starter layout, invented numbers     # name of the layout
# lengths here: mm or in; a length may carry its own unit: 381.5 mm, 14 7/8 in. A bare number of a key in _mm is mm
# Other values may carry a unit of the shop: 1230 psi, 33 ft-lb, 150 lbf, 1.5 hp, 0.85 in3. Bare: the unit of the key
units: <mm|in>
rotation: clockwise          # the driving pulley, seen from the front: clockwise or counterclockwise

# A designation does as well: `belt: 6PK`, or `belt: 6PK1615` to test one belt.
belt:
  profile: PK                # PH, PJ, PK, PL, PM (V-ribbed), AV10, AV13, A, B (V-belts)
  ribs: 6                    # number of ribs; 1 for a V-belt
#  length_mm: 1615            # to test one belt
#  length_kind: effective     # classical V-belts must say which: inside, datum or outside
#  stretch_fit_percent: [0.5, 1.5]    # minimum and maximum stretch of a belt that needs no adjuster
#  back_over_rim_mm: 2.4      # measure: (diameter over the belt - rim diameter) / 2
#  cord_below_back_mm: 1.1    # depth of the pulling cord under the belt's back
#  tolerance_mm: 8            # length tolerance, either way
#  mass_kg_per_m: 0.105       # of the whole belt
#  stiffness_N: 168000        # of the whole belt: force that would double its length
#  friction: {dry: 1.0, wet: 0.65, design: 0.44}    # factors on the ribs, all three optional
#  loss_factor: 0.1           # what it damps as it is stretched and let go

engine:
  idle_rpm: 750              # speed of the driving pulley at idle
  cruise_rpm: 1900           # speed at which it runs most
  max_rpm: 2600              # maximum speed
  cylinders: 4               # number of cylinders, four-stroke
#  rev_up_rpm_per_s: 500      # how fast the engine gains speed: checks for slip then, by inertia_kgm2
# How far the crank swings either way of even turning, by engine speed; or one number, at idle (default: by cylinders)
#  swing_deg: {rpm: [750, 2600], deg: [0.5, 0.1]}

# What the pulleys are bolted to (iron or aluminium): its heat tightens a belt that is set by hand. rise_K: how much
# hotter it runs than when the belt was set (default: 80); negative: colder.
#block: {material: iron, rise_K: 80}

pulleys:                     # the names are yours
  crank:
    # role: crankshaft, alternator, steering_pump, hydraulic_pump, air_conditioning, water_pump, fan,
    # air_compressor, vacuum_pump, supercharger, idler, tensioner or other
    role: crankshaft
    at: [0, 0]               # centre: x, y
    diameter: <160|6.3>            # effective diameter, from a drawing; outside diameter of a smooth pulley
    grooves: 6               # at least as many as the belt's ribs
    drives: true             # the one pulley that drives the belt (default: the crankshaft)
    plane: 0                 # fore-and-aft position of its belt centre line, + toward the viewer
# Or as a stack of parts from a datum face toward the viewer, added up; to: first_groove, middle (of all), or a face:
#    plane: {stack: {hub: <19, spacer: 31.5|0.75, spacer: 1.24>}, to: face, face_to_first_groove: <4|0.157>}
#    first_groove_used: 1     # counted from the engine, where it has more grooves than the belt has ribs
#    tilt_deg: [0.3, 0]       # how its face leans: + where its right edge, and its top, stand nearer to the viewer
#    uncertainty: {position_mm: 0.2}    # its own: how far these measurements may be off
#    flange_height: <3  |1/8>       # height of a side flange over the rim
#    diameters: [<155, 165|6.1, 6.5>]    # others to be had, for `beltplan cure` (default: 5 mm or 3/16 in apart)
#    inertia_kgm2: 0.05       # moment of inertia of what turns with the pulley (default: usual for its role)
  pump:
    role: water_pump
    at: [<-190, 270|-7 1/2, 10 5/8>]
# What calipers read over the rib tips, never over side flanges; give it instead of `diameter`.
    rim_diameter: <119.6|4.71>
    grooves: 6
    turns: clockwise         # which way it may turn: clockwise, counterclockwise or either
    plane: 0
#    min_rpm: 700             # the speed it needs at idle
# What the shaft takes, at its own speed, in one form: a power that grows (constant, linear, square or cube) ...
    load: {power_kW: 0.6, at_rpm: 3500, grows: cube}
# ... or one of these instead:
#    load: {power_kW: 0.8}    # the same power at every speed
#    load: {torque_Nm: 2.5}   # the same torque at every speed
#    load: {pressure_bar: 80, displacement_cm3: 6, efficiency: 0.85}    # a hydraulic pump
#    load: {table: {rpm: [1000, 2000, 4000], torque_Nm: [1, 2, 5]}}     # torque by speed; beyond its ends as there
#    load: {fan_diameter: <420|16.5>}    # a fan: the usual power of that size
#    load: usual              # what its role usually takes (`beltplan words loads`); reported as assumed
#    max_hub_load_N: 2500     # the maker's maximum hub load
    overhang_mm: <62  |2.44 in>        # middle of the belt to its bearing, or to the nose it is bolted to
#    max_moment_Nm: 90        # the maker's maximum bending moment there
  guide:
    role: idler
    at: [<40, 280|1 9/16, 11>]
    diameter: <100|4>
    # The side of the belt that touches it: ribbed (default), back, or either: a smooth idler or tensioner that
    # `beltplan route` may lay both ways (all else judges it on the back).
    belt_side: back
#    optional: true           # whether `beltplan route` may leave this idler off the belt
    plane: 0
  generator:
    role: alternator
    at: [<200, 290|7 7/8, 11 7/16>]
    diameter: <60|2.4>
    grooves: 6
    turns: either
    max_rpm: 15000           # the maker's maximum speed
    rated_A: 90              # rated current
    load: {current_A: 50, voltage_V: 14, efficiency: 0.6}    # an alternator, at most its output at that speed
# What it can give at each shaft speed goes into its load; default: a usual curve for `rated_A`:
#    load: {current_A: 50, voltage_V: 14, output: {rpm: [1500, 3000, 6000], A: [35, 70, 90]}}
    mount:                   # what bolts it on, x and y from its centre (arm: its pivot; slide: its `from`), for prints
      holes: <[[-38, -45, 10.5], [38, -45, 10.5]]  |[[-1.5, -1.77, 0.41], [1.5, -1.77, 0.41]]>  # round: x, y, diameter
#      slots: [{from: <[-12, 62], to: [12, 62], width: 8.5|[-0.47, 2.44], to: [0.47, 2.44], width: 0.335>}]
#      turn_deg: 15           # turn of all of these, counter-clockwise
#      outline: <[[-18, -20], [18, -20], [0, 25]]  |[[-0.7, -0.8], [0.7, -0.8], [0, 1]]>  # metal which it must clear
#    one_way: true            # whether its pulley freewheels when the belt slows
#    movable_mm: <30    |1.2 in>       # how far `beltplan cure` may move it (default: 0, not at all)
#    planned: true            # its place is only planned: `beltplan tolerance` counts it as not placed yet
    plane: 0
  tensioner:                 # the one pulley with an adjuster: `arm` or `slide` instead of `at`
    role: tensioner
    diameter: <100|4>
    belt_side: back
    plane: 0
    arm:
      pivot: <[-125, 195]   |[-4 7/8, 7 11/16]>  # centre of the arm's pivot
      length: <70    |2 3/4>         # from the pivot to the pulley's centre
      stops: [300, 340]      # angles of the two stops, in either order
      at_deg: 320            # where the design has it (default: the middle)
#      marks: {new: 305, worn: 335}    # angles of its marks, if it has any: reserves run to them
#      inertia_kgm2: 0.002    # moment of inertia about the pivot, with the pulley (default: usual)
#    pointer_radius_mm: <39  |1.5 in>  # how far from the pivot its pointer is read against them
# Locked by hand (take out `spring` below), the span tension of a run-in belt, engine stopped. A new belt
# is set 1.2 times as high: `beltplan fit` tells how high.
#    tension_N: 500
    spring:                  # default: none, set by hand and locked. It pushes toward longer path
      torque_Nm: 40          # torque ...
      at_deg: 320            # ... at this angle of the arm
      rate_Nm_per_deg: 0.4   # and how much it falls for each degree
# Instead of these three what a torque wrench reads: angle, torque turned against the spring, torque turned with it
#      readings: [[300, 52, 44], [340, 36, 30]]
# A slide instead of an arm (take out `arm` and `spring` above):
#    slide:
#      from: <[-60, 140]     |[-2 3/8, 5 1/2]>  # the pulley's centre at one end
#      to: <[-90, 170]     |[-3 9/16, 6 11/16]>    # and at the other
#      at: 0.5                # where the design has it: a fraction of the way
#      mass_kg: 0.25          # what slides, with the pulley (default: usual)
#    spring: {force_N: 600, at_mm: 20, rate_N_per_mm: 5}    # force at a distance from `from`, and its fall for each mm

route: [crank, tensioner, pump, guide, generator]    # the order round the loop, any start

# Which loads act together, by names of your own; default: all act.
duty: {all on: [pump, generator], no charging: [pump]}

obstacles:                   # what the belt must keep clear of; the names are yours
  hose:
    circle: {at: <[300, 120], diameter: 30}  |[11.8, 4.7], diameter: 1 1/4}>         # centre and diameter
  bracket:
    polygon: [[<-60, 380], [60, 380], [60, 420], [-60, 420|-2.4, 15], [2.4, 15], [2.4, 16.5], [-2.4, 16.5>]]  # corners
# Or from a drawing beside this file: a .csv of points, x and y, or a .dxf or .svg. All but `file` have defaults:
# its layer or id, its unit, where its origin lies, and its turn about that.
#  block: {file: block.dxf, outline: edge, units: <mm, at: [-90, 60|in, at: [-3.5, 2.4>], turn_deg: 0}

# Belts that can be bought; default: the built-in list.
#stock: [6PK1605, 6PK1615, {profile: PK, ribs: 6, length_mm: 1625}]

# Points that are no pulleys: a dowel, a stud; each [x, y], or with one standard deviation of x and of y
#marks: {dowel: [<60, -45], stud: {at: [-70, -40|2.36, -1.77], stud: {at: [-2.76, -1.57>], uncertainty_mm: 0.5}}
# How far your measurements may be off, one standard deviation; default: these. A pulley may have its own.
#uncertainty: {position_mm: 1.0, diameter_mm: 0.2, angle_deg: 0.5}
# Diameters of idlers to be had, for `beltplan cure`; default: common ones.
#idler_sizes: [<70, 80, 90|2.75, 3, 3.5>]
limits:                      # limits of your own: one value for all, or by pulley name or role
  min_wrap_deg: {alternator: 120, pump: 90}

variants:                    # each is laid over the rest, key by key; lists are replaced, null deletes
  high generator: {pulleys: {generator: {at: [<200, 310|7 7/8, 12 3/16>]}}}
"""


# Measurements to begin with: few, sound and invented, with a word on every measuring key.

_READINGS = """\
# Measurements to begin with. INVENTED NUMBERS: replace every one with your own measurements.
# An editor can complete and check this file as you type: `beltplan words --schema > layout.schema.json` (JSON Schema);
# while it holds measurements, `beltplan words --schema --measurements > measurements.schema.json`
# Seen from the front, facing the pulleys: x to your right, y up. Engine off, key out, battery disconnected.
# To use a line that begins with '#' and a key, take the '#' away.

title: Starter measurements, invented numbers    # name of the layout
units: <mm|in>                    # lengths in this file: in or mm; one may carry its own: 381.5 mm, 14 7/8 in
# Other values may carry a unit of the shop: 33 ft-lb, 150 lbf, 1.5 hp. A bare number is in the key's unit.

belt: 6PK                    # what the belt is, as in any layout (`beltplan new FILE` shows every key of one)
engine: {idle_rpm: 750, cruise_rpm: 1900, max_rpm: 2600, cylinders: 4}

pulleys:                     # the names are yours
  crank: {role: crankshaft, diameter: <160|6.3>, grooves: 6, plane: 0}
  pump: {role: water_pump, grooves: 6, plane: 0}
  guide: {role: idler, diameter: <101.6|4>, belt_side: back, plane: 0}
  generator: {role: alternator, diameter: <61|2.4>, grooves: 6, plane: 0}
  tensioner:
    role: tensioner
    diameter: <101.6|4>
    belt_side: back
    plane: 0
    arm: {length: <70|2.75>, stops: [300, 340], at_deg: 320}
# For a slide write `slide: {}` instead of the arm, and measure its ends: tensioner.from and tensioner.to.

route: [crank, tensioner, pump, guide, generator]    # the order round the loop, any start

# What was measured takes the place of every `at`, of an arm's `pivot` and of a slide's `from` and `to`:
# `beltplan measure` finds them, and with `--write` makes a layout of this file in which they stand.
origin: crank                # the point that stands at [0, 0] (default: the crankshaft, else the first name)
# Two points on a level line, the second to the right, taken as exact: give it instead of `angles` and `offsets`.
#level: [pump, guide]

# One standard deviation of each kind of measurement; default: these (common practice, no source). A bare number of a
# key ending in _mm is mm; 1/32 in may be written as well.
accuracy:
  distance_mm: 1.0           # of a distance
  angle_deg: 0.5             # of an angle
  offset_mm: 1.0             # of an offset
  diameter_mm: 0.2           # of a diameter
  place_px: 1.5              # of each coordinate of a place on a picture

# Points that are no pulleys: bolts, dowels, corners of a bracket.
#marks: [mount bolt]

# Distances between centres, as a tape reads them: 14 7/8, 14.875, 381.5 mm. Where one is read twice: a list of both.
# Two for each point are enough to find it; every further one checks the others.
# An arm is measured to its pivot, PULLEY.pivot; a slide to its ends, PULLEY.from and PULLEY.to.
distances:
  crank - generator: <352.5|13 7/8>
  crank - guide: [<282.5, 284|11 1/8, 11 3/16>]
  pump - generator: {value: <390.5, accuracy_mm: 1.5}      |15 3/8, accuracy_mm: 1/16 in}>  # its own accuracy
  crank - pump: {value: <470, outside: true}   |18 1/2, outside: true}>             # over the two far rims
  guide - generator: {value: <79.5, gap: true} |3 1/8, gap: true}>             # between the two near rims
  pump - guide: <230|9 1/16>
  crank - tensioner.pivot: <232|9 1/8>
  pump - tensioner.pivot: <100|3 15/16>
  guide - tensioner.pivot: <185.5|7 5/16>
  generator - tensioner.pivot: <338.5|13 5/16>

# Diameters over the rim by calipers, for `outside` and `gap`; default: the pulley's own.
# A pulley without a diameter of its own (pump) takes this one in the layout.
diameters:
  pump: <119|4 11/16>
#  guide: {value: <101.6|4>, accuracy_mm: 0.1}

# Angles of the line from the first point to the second, in degrees, counter-clockwise.
angles:
  crank - generator: 55.5                                  # from level to the right
  crank - tensioner.pivot: {value: 32.5, from: plumb, accuracy_deg: 1}    # from straight up; right of it with a minus

# How far a point lies from another, as a square shows it: x to the right, y up, a minus to the left or down.
offsets:
  generator: {x: <200, y: 290.5|7 7/8, y: 11 7/16>, from: crank, accuracy_mm: 2}    # default of `from`: the origin

# A wire or string laid round pulleys (default: the route), or a belt of known length on them: a check of all at once.
# Of an arm say its angle then, of a slide `slide_end: from` or `to`, at which end it stood.
loops:
  string:
    length: <1432  |56 3/8>           # of its middle line, or `along: inside` or `outside`
    along: middle
    thickness: <1.6|1/16>
    pulleys: [crank, generator, pump]
#  belt on hand: {belt: 6PK1620, arm_deg: 320, accuracy_mm: 3}    # arm_deg: how its arm stood, where one is on an arm

# Where points are seen from the origin: left, right, above, below. It picks one of two mirror solutions.
sides: {pump: above left, generator: above right}

# Places picked on a photo, scan or tracing; the distances scale it.
#points:
#  front photo:               # a name of your own
#    places: {crank: [1000, 1000], pump: [620, 460], generator: [1400, 420], card 1: [1000, 800], card 2: [1171, 788]}
#    y_runs: down             # the second coordinate runs down, as pixels do, or up
#    seen_from: front         # or back, where it shows them from behind or mirrored
#    slant: false             # true: taken at a slant; needs four or more places that are known from elsewhere
#    mm_per_px: 0.5           # its scale, where that is known, as of a scan; not with `slant: true`
#    accuracy_px: 1.5         # of each coordinate of its places
#    known: {card 1: [0, 0], card 2: [<85.6|3 3/8>, 0]}    # places whose coordinates are known, in a frame of their own
#    accuracy_mm: 0.2         # of those coordinates
# A rim traced on a picture, three places or more; `picture` is needed only where there are several.
#circles:
#  generator: {picture: front photo, rim: [[1460, 409], [1361, 374], [1379, 477]]}
"""


_EITHER = re.compile(r"<([^|<>\n]*)\|([^|<>\n]*)>")
"""What a file in mm has there, and one in inches."""


def starter_of(of_measurements: bool, units: Units = "mm") -> str:
    return _EITHER.sub(lambda found: found[1 + (units == "in")], _READINGS if of_measurements else _LAYOUT)
