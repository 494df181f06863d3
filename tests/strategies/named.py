"""Gardens whose beds and roofs name a crop, a soil, a covering, and leave the numbers to the tables."""

from datetime import date

from hypothesis import strategies as st
from plain.lookup import ON_SUPPORTS_M

from strategies.dates import as_written, month_day, near, nearest
from strategies.gardens import runs

OF_THE_CROP = ("days", "p", "root_m", "height_m", "perennial", "kc", "kcb")
OF_THE_SOIL = ("available_water_mm_m", "rew_mm", "tew_mm")
MOST_DAYS = 365  # of a planting of every year


@st.composite
def named_runs(draw, tables):
    """As `runs`, with names for numbers; a key of the file is kept now and then. tables: those of the plain program."""
    site, weather, start = draw(runs())
    site["site"]["latitude_deg"] = draw(st.sampled_from((53.1, 53.1, -36.8)))
    for roof in site["roof"]:
        roof["covering"] = draw(st.sampled_from(sorted(tables.coverings)))
        drop(roof, draw(st.sets(st.sampled_from(("runoff_coefficient", "loss_mm")))))
    for bed in site["bed"]:
        bed["soil"] = draw(st.sampled_from(sorted(tables.soils)))
        drop(bed, draw(soil_keys()))
        bed["planting"] = [draw(named_planting(tables, start, site["model"]))]
    return site, weather, start


def soil_keys():
    """REW and TEW go together, as the one may not be above the other."""
    return st.sampled_from((OF_THE_SOIL, OF_THE_SOIL, OF_THE_SOIL[:1], OF_THE_SOIL[1:]))


@st.composite
def named_planting(draw, tables, first_day, model):
    names = sorted(name for name, crop in tables.crops.items() if "height_m" in crop)
    on_supports = [name for name in names if tables.crops[name]["height_m"] == ON_SUPPORTS_M]
    name = draw(st.one_of(*[st.sampled_from(names)] * 3, st.sampled_from(on_supports)))
    crop = tables.crops[name]
    planted = month_day(draw(near(first_day, 200, 20)))
    planting = {"crop": name, "ground_share": draw(st.sampled_from((1.0, 0.7)))}
    kept = {
        "days": [20, 30, 40, 15],
        "p": 0.347,
        "root_m": [0.11, 0.53],
        "height_m": 0.77,
        "perennial": draw(st.booleans()),
        "kc": [0.43, 1.013, 0.713],
    }
    if model["crop_coefficient"] == "dual":
        kept["kcb"] = [0.17, 1.083, 0.683]
    for key in draw(st.sets(st.sampled_from(sorted(kept)), max_size=3)):
        planting[key] = kept[key]
    if not crop["stages"]:
        planting["days"] = kept["days"]
    longest = max(sum(row["days"]) for row in crop["stages"]) if "days" not in planting else sum(planting["days"])
    every_year = longest <= MOST_DAYS and draw(st.booleans())
    planting["planted"] = planted if every_year else draw(as_written(nearest_before(planted, first_day)))
    return planting


def nearest_before(month_and_day, day):
    found = nearest(month_and_day, day)
    return found if found <= day else date(found.year - 1, found.month, found.day)


def drop(row, keys):
    for key in keys:
        row.pop(key, None)
