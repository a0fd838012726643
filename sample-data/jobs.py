"""The job files, as text. Every value is this invented job's own choice unless its comment says otherwise."""

OD_M, ID_M = 0.186, 0.150

COMMON = f"""\
[pipe]
dn_mm = 150
material = "vitrified-clay"
od_mm = {OD_M * 1000:.0f}              # this job's pipe; a maker's table decides
id_mm = {ID_M * 1000:.0f}
axial_limit_kn = 350

[rig]
reach_m = 60
thrust_kn = 400
line_accuracy_mm = 20
accuracy_at_m = 50
setting_out_mm = 10
dn_max_mm = 250
overcut_mm = 20
grade_min = 0.005
grade_max = 0.2
launch_length_m = 3.0
launch_width_m = 1.6
reception_length_m = 2.0
reception_width_m = 1.5
axis_height_m = 0.40
access_width_m = 0.9
launch_from = "either"
setup_days = 0.5
metres_per_day = 15

[soil]
class = "firm-clay"
friction_kpa = 8.0       # lubricated; as an invented ground report would say

[rules]
base = "metric"
min_cover_m = 0.90
max_grade = 0.15
manhole_spacing_m = 90
manhole_drop_m = 0.03
watch_margin_m = 0.3
unknown_depth = "prove"
foundation_depth_m = 0.6

[rules.min_grade]
100 = 0.0165
150 = 0.01
225 = 0.0065

# Clearances, limits and depth bands of an invented job: ask the owners for theirs.
[rules.clearance]
building = 0.5
water = {{ crossing_m = 0.30, parallel_m = 0.50, pit_m = 0.50 }}
gas = {{ crossing_m = 0.30, parallel_m = 0.60, pit_m = 0.60 }}
electricity = {{ crossing_m = 0.30, parallel_m = 0.50, pit_m = 0.50 }}
telecom = {{ crossing_m = 0.20, parallel_m = 0.30, pit_m = 0.30 }}
sewer = {{ crossing_m = 0.20, parallel_m = 0.30, pit_m = 0.50 }}
stormwater = {{ crossing_m = 0.30, parallel_m = 0.40, pit_m = 0.50 }}
recycled-water = {{ crossing_m = 0.30, parallel_m = 0.50, pit_m = 0.50 }}
fuel = {{ crossing_m = 0.60, parallel_m = 1.50, pit_m = 1.50 }}
other = {{ crossing_m = 0.30, parallel_m = 0.50, pit_m = 0.50 }}

[rules.quality]
A = {{ horizontal_m = 0.05, vertical_m = 0.05 }}
B = {{ horizontal_m = 0.30, vertical_m = 0.50 }}
C = {{ horizontal_m = 0.50, vertical_m = 0.50 }}
D = {{ horizontal_m = 1.00, vertical_m = 1.00 }}
unknown = {{ horizontal_m = 1.00, vertical_m = 1.50 }}

[rules.depth_band]
water = {{ min_m = 0.45, max_m = 1.5 }}
gas = {{ min_m = 0.45, max_m = 1.3 }}
electricity = {{ min_m = 0.40, max_m = 1.3 }}
telecom = {{ min_m = 0.30, max_m = 1.2 }}
sewer = {{ min_m = 0.60, max_m = 4.0 }}
stormwater = {{ min_m = 0.50, max_m = 2.5 }}
recycled-water = {{ min_m = 0.45, max_m = 1.5 }}
fuel = {{ min_m = 0.60, max_m = 2.0 }}
other = {{ min_m = 0.30, max_m = 3.0 }}

[pits]
on_lots = "entry"
max_depth_m = 6.0
hand_dig_max_depth_m = 3.2
machine_width_m = 2.5
support_from_depth_m = 1.5
building_setback_m = 1.0
building_spread_deg = 45

[search]
station_step_m = 1.0
level_step_m = 0.02
corridor_m = 0.0
snap_m = 0.5

# Placeholders, in no real currency: put in your own rates before you compare anything.
[costs]
currency = "credits"
pit_base = 2500
pit_per_m3 = 180
pit_hand_per_m3 = 520
pit_support_per_m2 = 65
manhole_base = 2200
manhole_per_m = 950
bore_setup = 1800
bore_per_m = 240
crew_day = 3200
test_hole = 650
trench_per_m3 = 160
trench_support_per_m2 = 45

[costs.reinstate]
asphalt = 140
concrete = 165
paving = 150
lawn = 28
garden = 60
gravel = 35
bare = 12

[costs.fence]
timber = 180
metal = 260
masonry = 1400
asbestos-cement = 2600
other = 250

[costs.strike]
water = 15000
gas = 60000
electricity = 80000
telecom = 12000
sewer = 20000
stormwater = 12000
recycled-water = 12000
fuel = 400000
other = 10000
"""

WATTLE_RISE = """\
# Wattle Rise: an invented place. See README.md beside this file.

[job]
name = "Wattle Rise, sewer extension"
watch_distance_m = 2.0

[[layers.services]]
table = "water_mains"
[[layers.services]]
table = "gas_mains"
[[layers.services]]
table = "power_cables"
[[layers.services]]
table = "telecom_ducts"
[[layers.services]]
table = "house_connections"
[[layers.services]]
table = "pipelines"
[[layers.services]]
table = "storm_drains"
z_means = "invert"
[[layers.services]]
table = "sewers"
z_means = "invert"

""" + COMMON

NO_PLAN = """\
# Wattle Rise, Pallet Row: an invented place where none of the three routes has a lawful plan.

[job]
name = "Pallet Row, no plan"

""" + COMMON

# Services in one table, old sewers with surveyed inverts in another.
TWO_TABLES = """
[[layers.services]]
table = "services"
[[layers.services]]
table = "sewers"
z_means = "invert"

"""

FERNY_BEND = (
    """\
# Ferny Bend: an invented place. The sewer keeps to its route.

[job]
name = "Ferny Bend, kept to the route"
"""
    + TWO_TABLES
    + COMMON
)

# Manholes every few metres of a curve: small drops, or no fall is left.
FERNY_BEND = FERNY_BEND.replace("manhole_drop_m = 0.03", "manhole_drop_m = 0.02")

FERNY_BEND_CORRIDOR = (
    FERNY_BEND.replace("The sewer keeps to its route.", "Manholes may leave the route by 1 m.")
    .replace("kept to the route", "within a metre of the route")
    .replace("corridor_m = 0.0\n", "corridor_m = 1.0\ncorridor_step_m = 0.5\n")
)

OSIER_HOLLOW = (
    """\
# Osier Hollow: an invented place. Four routes that join.

[job]
name = "Osier Hollow, sewer with branches"
"""
    + TWO_TABLES
    + COMMON
)

NO_PLAN_SINGLE = (
    """\
# An invented place where the one route has no lawful plan.

[job]
name = "Pallet Row, {name}"

"""
    + COMMON.replace("{", "{{").replace("}", "}}")
)
