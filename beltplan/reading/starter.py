"""A layout to begin with: small, sound and invented, with a word on every key."""

STARTER = """\
# A layout to begin with. INVENTED NUMBERS: replace every one with your own measurements.
# Seen from the front, facing the pulleys: x to your right, y up, origin anywhere.
# Angles in degrees, counter-clockwise from x.
# To use a line that begins with '#' and a key, take the '#' away.

title: Starter layout, invented numbers     # name of the layout
# lengths in this file: mm or in; a length may also carry its own: 381.5 mm, 14 7/8 in. Keys ending in _mm are always mm
units: mm
rotation: clockwise          # the driving pulley, seen from the front: clockwise or counterclockwise

# A designation does as well: `belt: 6PK`, or `belt: 6PK1615` to test one belt.
belt:
  profile: PK                # PH, PJ, PK, PL, PM (V-ribbed), AV10, AV13, A, B (V-belts)
  ribs: 6                    # number of ribs; 1 for a V-belt
#  length_mm: 1615            # to test one belt
#  length_kind: effective     # classical V-belts must say which: inside, datum or outside
#  stretch_fit_percent: [0.5, 1.5]    # least and most stretch of a belt that needs no adjuster
#  back_over_rim_mm: 2.4      # measure: (diameter over the belt - rim diameter) / 2
#  cord_below_back_mm: 1.1    # depth of the pulling cord under the belt's back
#  tolerance_mm: 8            # length tolerance, either way
#  mass_kg_per_m: 0.105       # of the whole belt
#  stiffness_N: 168000        # of the whole belt: force for a stretch of 1
#  friction: {dry: 1.0, wet: 0.65, design: 0.44}    # factors on the ribs, all three optional

engine:
  idle_rpm: 750              # speed of the driving pulley at idle
  cruise_rpm: 1600           # speed at which it runs most
  max_rpm: 2600              # highest speed
  cylinders: 4               # number of cylinders, four-stroke
#  rev_up_rpm_per_s: 500      # how fast the engine gains speed: checks for slip then, by inertia_kgm2

pulleys:                     # the names are yours
  crank:
    # role: crankshaft, alternator, steering_pump, hydraulic_pump, air_conditioning, water_pump, fan,
    # air_compressor, vacuum_pump, supercharger, idler, tensioner or other
    role: crankshaft
    at: [0, 0]               # centre: x, y
    diameter: 160            # effective diameter, from a drawing; outside diameter of a smooth pulley
    grooves: 6               # at least as many as the belt's ribs
    drives: true             # the one pulley that drives the belt (left out: the crankshaft)
    plane: 0                 # fore-and-aft place of its belt centre line, + toward you
#    uncertainty: {position_mm: 0.2}    # its own: how far these measurements may be off
#    flange_height: 3         # height of a side flange over the rim
#    diameters: [155, 165]    # others that can be had of it, for `beltplan cure` (left out: 5 mm steps)
#    inertia_kgm2: 0.05       # moment of inertia of what turns with the pulley (left out: usual for its role)
  pump:
    role: water_pump
    at: [-190, 270]
# What calipers read over the rib tips, never over side flanges; give it instead of `diameter`.
    rim_diameter: 119.6
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
#    load: {table: {rpm: [1000, 2000, 4000], torque_Nm: [1, 2, 5]}}     # torque by speed, ends held
#    max_hub_load_N: 2500     # the maker's highest load on the shaft
  guide:
    role: idler
    at: [40, 280]
    diameter: 100
    # The side of the belt that touches it: ribbed (left out), back, or either: a smooth idler or tensioner that
    # `beltplan route` may lay both ways (all else judges it on the back).
    belt_side: back
#    optional: true           # whether `beltplan route` may leave this idler out
    plane: 0
  generator:
    role: alternator
    at: [200, 290]
    diameter: 60
    grooves: 6
    turns: either
    max_rpm: 15000           # the maker's highest speed
    rated_A: 90              # rated current
    load: {current_A: 60, voltage_V: 14, efficiency: 0.6}    # an alternator, at most its output at that speed
# What it can give at each shaft speed goes into its load; left out, a usual curve is assumed by `rated_A`:
#    load: {current_A: 60, voltage_V: 14, output: {rpm: [1500, 3000, 6000], A: [35, 70, 90]}}
#    one_way: true            # whether its pulley freewheels when the belt slows
#    movable_mm: 30           # how far `beltplan cure` may move it (left out: not at all)
    plane: 0
  tensioner:                 # the one pulley with an adjuster: `arm` or `slide` instead of `at`
    role: tensioner
    diameter: 100
    belt_side: back
    plane: 0
    arm:
      pivot: [-125, 195]     # centre of the arm's pivot
      length: 70             # from the pivot to the pulley's centre
      stops: [300, 340]      # angles of the two stops; travel runs from the first to the second
      at_deg: 320            # where the design has it (left out: the middle)
#      marks: {new: 305, worn: 335}    # angles of its marks, if it has any: reserves run to them
# Without a spring (take out `spring` below), the strand tension it is set to by hand, engine stopped:
#    tension_N: 500
    spring:                  # left out: set by hand and locked. It pushes toward longer path
      torque_Nm: 40          # torque ...
      at_deg: 320            # ... at this angle of the arm
      rate_Nm_per_deg: 0.4   # and how much it falls for each degree
# A slide instead of an arm (take out `arm` and `spring` above):
#    slide:
#      from: [-60, 140]       # the pulley's centre at one end
#      to: [-90, 170]         # and at the other
#      at: 0.5                # where the design has it: a fraction of the way
#    spring: {force_N: 600, at_mm: 20, rate_N_per_mm: 5}    # force at a distance from `from`, and its fall for each mm

route: [crank, tensioner, pump, guide, generator]    # the order round the loop, any start

# Which loads act together, by names of your own; left out: all act.
duty: {all on: [pump, generator], no charging: [pump]}

obstacles:                   # what the belt must keep clear of; the names are yours
  hose:
    circle: {at: [300, 120], diameter: 30}           # centre and diameter
  bracket:
    polygon: [[-60, 380], [60, 380], [60, 420], [-60, 420]]    # corners in order
# Or from a drawing beside this file: a .csv of points, x and y, or a .dxf or .svg. All but `file` may be left out:
# its layer or id, its unit, where its origin lies, and its turn about that.
#  block: {file: block.dxf, outline: edge, units: mm, at: [-90, 60], turn_deg: 0}

# Belts that can be bought; left out: the built-in list.
#stock: [6PK1605, 6PK1615, {profile: PK, ribs: 6, length_mm: 1625}]
# How far your measurements may be off, one standard deviation; left out: these. A pulley may have its own.
#uncertainty: {position_mm: 1.0, diameter_mm: 0.2, angle_deg: 0.5}
# Diameters of idlers to be had, for `beltplan cure`; left out: common ones.
#idler_sizes: [70, 80, 90]
limits:                      # limits of your own: one value for all, or by pulley name or role
  min_wrap_deg: {alternator: 120, pump: 90}

variants:                    # each is laid over the rest, key by key; lists are replaced, null deletes
  high generator: {pulleys: {generator: {at: [200, 310]}}}
"""
