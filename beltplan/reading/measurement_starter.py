"""Measurements to begin with: few, sound and invented, with a word on every measuring key."""

MEASUREMENT_STARTER = """\
# To begin with. INVENTED NUMBERS: replace every one with your own measurements.
# Seen from the front, facing the pulleys: x to your right, y up. Engine off, key out, battery disconnected.
# To use a line that begins with '#' and a key, take the '#' away.

title: Starter measurements, invented numbers    # name of the layout
units: in                    # lengths in this file: in or mm; a length may carry its own: 381.5 mm, 14 7/8 in

belt: 6PK                    # what the belt is, as in any layout (`beltplan new FILE` shows every key of one)
engine: {idle_rpm: 750, cruise_rpm: 1600, max_rpm: 2600, cylinders: 4}

pulleys:                     # the names are yours
  crank: {role: crankshaft, diameter: 6.3, grooves: 6, plane: 0}
  pump: {role: water_pump, grooves: 6, plane: 0}
  guide: {role: idler, diameter: 4, belt_side: back, plane: 0}
  generator: {role: alternator, diameter: 2.4, grooves: 6, plane: 0}
  tensioner:
    role: tensioner
    diameter: 4
    belt_side: back
    plane: 0
    arm: {length: 2.75, stops: [300, 340], at_deg: 320}

route: [crank, tensioner, pump, guide, generator]    # the order round the loop, any start

# What was measured. It takes the place of every `at`, of an arm's `pivot` and of a slide's `from` and `to`:
# `beltplan measure` finds them, and with `--write` makes a layout of this file in which they stand.
origin: crank                # the point that stands at [0, 0] (left out: the crankshaft, else the first name)
# Two points on a level line, the second to the right. It is taken as exact: give it instead of `angles` and `offsets`.
#level: [pump, guide]

# One standard deviation of each kind of measurement; left out: these (common practice, no source).
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
  crank - generator: 13 7/8
  crank - guide: [11 1/8, 11 3/16]
  pump - generator: {value: 15 3/8, accuracy_mm: 1.5}      # its own accuracy
  crank - pump: {value: 18 1/2, outside: true}             # over the two far rims
  guide - generator: {value: 3 1/8, gap: true}             # between the two near rims
  pump - guide: 9 1/16
  crank - tensioner.pivot: 9 1/8
  pump - tensioner.pivot: 3 15/16
  guide - tensioner.pivot: 7 5/16

# Diameters over the rim by calipers, for `outside` and `gap`; left out: the pulley's own.
# One that a pulley does not give itself (pump) goes into the layout.
diameters:
  pump: 4 11/16
#  guide: {value: 4, accuracy_mm: 0.1}

# Angles of the line from the first point to the second, in degrees, counter-clockwise.
angles:
  crank - generator: 55.5                                  # from level to the right
  crank - tensioner.pivot: {value: 32.5, from: plumb, accuracy_deg: 1}    # from straight up

# How far a point lies from another, as a square shows it: x to the right, y up, a minus to the left or down.
offsets:
  generator: {x: 7 7/8, y: 11 7/16, from: crank, accuracy_mm: 2}    # from left out: the origin

# Where points are seen from the origin: left, right, above, below. It picks one of two mirror images.
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
#    known: {card 1: [0, 0], card 2: [3 3/8, 0]}    # places on it whose coordinates are known, in a frame of their own
#    accuracy_mm: 0.2         # of those coordinates
# A rim traced on a picture, three places or more; `picture` may be left out where there is only one.
#circles:
#  generator: {picture: front photo, rim: [[1460, 409], [1361, 374], [1379, 477]]}
"""
