"""A site file as a person writes it, with remarks and blanks, and some changes of its numbers."""

from waterbudget.site.edit import Change

SITE = """\
# a garden
[site]
name = "Brackenfold"

[[roof]]
name = "Roof"  # of the shed
tank = "Butt"
area_m2 = 8
covering = "metal sheet"
# runoff_coefficient = 0.9

# ---- Stores ----
[[tank]]
name = "Butt"
capacity_l = 350
start_l = 260
loss_l_per_day = 0                  # dry below

# the lean-to
[[ roof ]]
name = "[[tank]]"
tank = "Butt"
area_m2 = 3
runoff_coefficient=0.5# old

[[zone]]
name = "Line"
tank = "Butt"
flow_l_min = 10   # by a bucket
minutes = 5
weekdays = [
  "mon",
  "thu",
]
"""
CHANGES = [
    Change(("roof", 0, "runoff_coefficient"), 0.71649),
    Change(("roof", 1, "runoff_coefficient"), 0.6),
    Change(("roof", 1, "first_flush_l"), 12.0),
    Change(("tank", 0, "loss_l_per_day"), 2.5),
    Change(("zone", 0, "flow_l_min"), 8.2),
]
