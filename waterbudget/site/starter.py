"""A starter site: the few questions that matter, and the commented site file that the answers make."""

import json
import shlex
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from importlib.resources import files
from pathlib import Path
from string import Template
from typing import Any, NamedTuple

from waterbudget.errors import InputError, OutputError, Said
from waterbudget.example import starter_weather
from waterbudget.output import refuse_existing, write_files
from waterbudget.site import replies
from waterbudget.site.add import with_part
from waterbudget.site.growth import kcb_of
from waterbudget.site.kinds import PARTS
from waterbudget.site.links import Raw
from waterbudget.site.model import Model, MonthDay
from waterbudget.site.parts import Known, Part, as_words, replied
from waterbudget.site.read import site_in
from waterbudget.site.season import season_of, stages_in_season
from waterbudget.site.usual import FOUR
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.covers import find_cover
from waterbudget.tables.crops import find_crop
from waterbudget.tables.kcb import basal_kc
from waterbudget.tables.read import nearest
from waterbudget.tables.soils import find_soil

SITE_FILE, WEATHER_FILE = "site.toml", "weather.csv"
SWITCHED = {"longitude_deg", "jets", "cover", "usual"}  # answers whose lines are switched on only where they are needed
LONGITUDE_SHOWN, USUAL_SHOWN = -1.9, (21.0, 12.0, 7.0, 1.0)
REMARK_COLUMN = 28
ROOT_START_M: float = Model.model_fields["root_start_m"].default


class Further(NamedTuple):
    """A further part of a garden, with the replies to its questions."""

    part: Part
    replies: Mapping[str, Any]


@dataclass(frozen=True)
class Answers:
    """What a starter site needs to know; the defaults make one that runs.

    roof_m2: on the ground. start_l: in the store today. fill_10_l_s: seconds in which a 10-litre bucket fills. cover:
    what lies over the bed. usual: temperatures of a July afternoon and night and a January afternoon and night [°C].
    """

    garden: str = "My garden"
    latitude_deg: float = 52.9
    roof_m2: float = 40.0
    capacity_l: float = 1500.0
    start_l: float = 750.0
    fill_10_l_s: float = 60.0
    run_minutes: float = 10.0
    every_days: int = 2
    bed_m2: float = 12.0
    soil: str = "loam"
    crop: str = "tomato"
    has_mains_hose: bool = False
    longitude_deg: float | None = None
    covering: str = "hard roof"
    jets: str = "spray"
    cover: str = "none"
    usual: tuple[float, ...] | None = None

    @property
    def flow_l_min(self) -> float:
        """Flow of the bucket test, to the three figures that a watch and a bucket are good for."""
        return replies.flow_l_min(self.fill_10_l_s)

    @property
    def season(self) -> dict[str, MonthDay]:
        """First and last day of watering and the day of planting, in the summer half of the garden's year."""
        return season_of(self.latitude_deg)


def starter_site(answers: Answers) -> str:
    """The text of a site file with these answers, every key explained.

    Raises InputError for a soil that is unknown, and a crop that is unknown or whose stage lengths do not fit a year.
    """
    crop = find_crop(answers.crop)
    soil = find_soil(answers.soil)
    root_start_m = crop.root_full_m if crop.perennial else min(ROOT_START_M, crop.root_full_m)
    cover = find_cover(answers.cover)
    values: dict[str, object] = {
        **{key: value for key, value in asdict(answers).items() if key not in SWITCHED},
        **{key: str(day) for key, day in answers.season.items()},
        "flow_l_min": answers.flow_l_min,
        "mains": "direct" if answers.has_mains_hose else "none",
        "available_water_mm_m": soil.available_water_mm_m,
        "rew_mm": soil.rew_mm,
        "tew_mm": soil.tew_mm,
        "days": stages_in_season(crop, answers.latitude_deg),
        "kc": crop.kc,
        "kcb": tuple(basal_kc(crop) or kcb_of(crop.kc, perennial=crop.perennial)),
        "p": crop.p,
        "root_m": (root_start_m, crop.root_full_m),
        "height_m": crop.height_m,
        "perennial": crop.perennial,
    }
    template = Template((files("waterbudget.site") / "starter.toml").read_text("utf-8"))
    lines = {
        "longitude": _switched(
            "longitude_deg",
            LONGITUDE_SHOWN if answers.longitude_deg is None else answers.longitude_deg,
            on=answers.longitude_deg is not None,
        ),
        "runoff": _switched("runoff_coefficient", find_covering(answers.covering).runoff_coefficient, on=False),
        "jets": _switched("jets", answers.jets, on=answers.jets != Answers.jets),
        "et_factor": _switched("et_factor", cover.et_factor, on=cover.et_factor < 1.0),
        "rain_share": _switched("rain_share", cover.rain_share, on=cover.rain_share < 1.0),
        "usual": "#[usual]" if answers.usual is None else "[usual]",
        **{
            key.removesuffix("_c"): _switched(key, value, on=answers.usual is not None)
            for key, value in zip(FOUR, answers.usual or USUAL_SHOWN, strict=True)
        },
    }
    return template.substitute({key: _toml(value) for key, value in values.items()} | lines)


def draft(answers: Answers, further: Sequence[Further] = ()) -> str:
    """The text of a site file with these answers, and further parts behind those of a starter.

    Raises InputError as `starter_site`, and SiteError where a part does not fit.
    """
    text = starter_site(answers)
    for one in further:
        text = with_part(text, one.part, Known(tomllib.loads(text), one.replies), SITE_FILE)
    return text


def told(replies_of: Raw) -> tuple[Answers, tuple[Further, ...]]:
    """The answers of somebody who is not asked: by the names of the questions, and a list of tables a kind of part.

    What is left out is what stands in brackets. Raises InputError for what is unknown or cannot be read.
    """
    known = [question.field for question in QUESTIONS]
    if unknown := [key for key in replies_of if key not in {*known, *PARTS}]:
        near = nearest(unknown[0], [*known, *PARTS])[:1]
        advice = f"did you mean {near[0]}?" if near else f"there is {', '.join([*known, *PARTS])}"
        raise InputError(f"{replies.quoted(unknown[0])} is nothing that is asked; {advice}")
    answers, further = Answers(), tuple[Further, ...]()
    for question in QUESTIONS:
        words = replies_of.get(question.field)
        try:
            answers = question.answered(question.default(answers) if words is None else as_words(words), answers)
        except InputError as error:
            raise InputError(f"{question.field}: {error}") from None
    for kind, part in PARTS.items():
        tables = replies_of.get(kind, [])
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            raise InputError(f"{kind}: stands in single brackets; write its head as [[{kind}]]")
        for table in tables:
            garden = tomllib.loads(draft(answers, further))
            further = (*further, Further(part, replied(part, garden, table).replies))
    return answers, further


def refuse_starter(folder: Path, *, overwrite: bool) -> None:
    """Raises OutputError where a starter site may not be written into the folder."""
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"{folder}: is a file; name a folder, which will hold {SITE_FILE} and {WEATHER_FILE}")
    refuse_existing([folder / SITE_FILE, folder / WEATHER_FILE], overwrite=overwrite)


def write_starter(folder: Path, answers: Answers, further: Sequence[Further] = (), *, overwrite: bool = False) -> Path:
    """Write the site file and the example's invented weather into the folder; the path of the site file.

    Raises OutputError where they may not or cannot be written, and InputError as `draft`.
    """
    refuse_starter(folder, overwrite=overwrite)
    site = draft(answers, further)
    site_in(site, folder / SITE_FILE)
    contents = {SITE_FILE: site.encode(), WEATHER_FILE: starter_weather(south=answers.latitude_deg < 0)}
    write_files({folder / name: content for name, content in contents.items()}, overwrite=overwrite)
    return folder / SITE_FILE


class Question(NamedTuple):
    """One question of those that a gardener is asked.

    field: of Answers. key: of the site file. hint: how to find the answer. read: the value of the words typed, given
    the answers so far; raises InputError saying in one line what would be right. suggest: the default, where it hangs
    on the answers so far. comes_first: whether a garden is another one without it.
    """

    field: str
    key: str
    ask: str
    hint: str
    read: Callable[[str, Answers], object]
    suggest: Callable[[Answers], object] | None = None
    comes_first: bool = True

    def default(self, so_far: Answers) -> str:
        """What stands in brackets, as it would be typed."""
        value = self.suggest(so_far) if self.suggest else getattr(so_far, self.field)
        if isinstance(value, bool):
            return "yes" if value else "no"
        if value is None:
            return replies.SKIP
        return as_words(value) if isinstance(value, str | tuple) else _toml(value)

    def answered(self, words: str, so_far: Answers) -> Answers:
        """The answers so far and this one. Raises InputError saying what would be right."""
        value = self.read(words.strip(), so_far)
        return replace(so_far, **{self.field: value})  # type: ignore[arg-type]  # the field's own reader made it


def _crop(words: str, so_far: Answers) -> str:
    crop = find_crop(words)
    stages_in_season(crop, so_far.latitude_deg)
    return (crop.asked_as or crop.name).lower()


def _plain(read: Callable[[str], object]) -> Callable[[str, Answers], object]:
    return lambda words, _: read(words)


QUESTIONS = (
    Question("garden", "site.name", "The garden's name", "A name for the head of every page.", _plain(replies.name)),
    Question(
        "latitude_deg",
        "site.latitude_deg",
        "Latitude in degrees",
        "How far north the garden lies, from any map; south of the equator with a minus. One decimal is enough.",
        _plain(replies.latitude),
    ),
    Question(
        "longitude_deg",
        "site.longitude_deg",
        "Longitude in degrees",
        "How far east, west with a minus; only to find the nearest weather station. Or skip.",
        _plain(replies.longitude),
        comes_first=False,
    ),
    Question(
        "roof_m2",
        "roof.area_m2",
        "Roof area in m²",
        "Pace it on the ground: length x width of the part that drains into the store, its slope left aside.\n"
        "Write square metres, or length x width in metres, such as 8 x 5.",
        _plain(replies.area),
    ),
    Question(
        "covering",
        "roof.covering",
        "What lies on the roof",
        Said(f"{replies.COVERINGS}; `waterbudget roofs` lists all and what suits no food.", f"{replies.COVERINGS}."),
        _plain(replies.covering),
        comes_first=False,
    ),
    Question(
        "capacity_l",
        "tank.capacity_l",
        "The store holds, in litres",
        "Its label says it. A box: length x width x height in metres, x 1000.\n"
        "Round: 3.14 x radius x radius x height in metres, x 1000.",
        _plain(replies.positive("litres, such as 1500")),
    ),
    Question(
        "start_l",
        "tank.start_l",
        "In the store now, in litres",
        "Dip a stick to its floor: wet height / full height x what it holds. Half full is in the brackets.",
        lambda words, so_far: replies.start_l(words, so_far.capacity_l),
        lambda so_far: so_far.capacity_l / 2,
    ),
    Question(
        "fill_10_l_s",
        "zone.flow_l_min",
        "Seconds to fill a 10-litre bucket",
        "Open everything as when you water, and time how long a 10-litre bucket takes to fill.\n"
        "Or by the drop in the store: dip it, run the line for 10 minutes, dip again: 62 to 57.8 of 95 in 10\n"
        "(cm before, after and when full, and minutes; straight sides, no rain meanwhile). Or 12 L/min, if you know.",
        lambda words, so_far: replies.fill_10_l_s(words, so_far.capacity_l),
    ),
    Question(
        "run_minutes",
        "zone.minutes",
        "Minutes of one watering",
        "How long the water runs each time, by the timer or a watch.",
        _plain(replies.positive("minutes, such as 10")),
    ),
    Question(
        "every_days",
        "zone.every_days",
        "Watering every how many days",
        "1 is every day, 2 every other day.",
        _plain(replies.every_days),
    ),
    Question(
        "jets",
        "zone.jets",
        "How the water comes out",
        "mist, spray, drip or can. No mist or fine spray from a store warmer than 20 °C.",
        _plain(replies.jets),
        comes_first=False,
    ),
    Question(
        "bed_m2",
        "bed.area_m2",
        "Bed area in m²",
        "Tape measure: length x width of the soil that this water reaches, all its beds together.\n"
        "Write square metres, or length x width in metres, such as 4.8 x 2.5.",
        _plain(replies.area),
    ),
    Question(
        "soil",
        "bed.soil",
        "Soil",
        "Squeeze a damp pinch: it falls apart, crumbles, holds together, feels soapy, or rolls to a sticky worm?\n"
        "Write that, or the soil's name. In doubt: loam.",
        _plain(replies.soil),
    ),
    Question(
        "cover",
        "bed.et_factor",
        "What lies over the bed",
        "none, bird net, insect net, fleece, shade net or tunnel.",
        _plain(replies.cover),
        comes_first=False,
    ),
    Question(
        "crop",
        "bed.planting.crop",
        "First crop",
        "An everyday name, such as tomato, courgette or runner bean. More can be added in the file.",
        _crop,
    ),
    Question(
        "has_mains_hose",
        "tank.mains",
        "May a mains hose help out when the store is short, yes or no",
        "Never join its pipe to the store's, nor let its end hang in stored water: that may flow back into the mains.\n"
        "Local water rules decide, and in a dry summer a hosepipe ban may forbid it.",
        _plain(replies.yes),
    ),
    Question(
        "usual",
        "usual",
        "Usual temperatures in °C",
        "A July afternoon and night, a January afternoon and night, such as 21 12 7 1.\n"
        "With them a rain gauge alone will do for weather. Or skip.",
        _plain(replies.usual),
        comes_first=False,
    ),
)


def starter_notes(site: Path, *, asked: bool) -> list[str]:
    """What to know of a starter site and its weather; asked: whether the questions were answered."""
    first = ", ".join(question.key for question in QUESTIONS[1:] if question.comes_first)
    bring = f"Bring in your own: waterbudget weather {shlex.quote(str(site))} --import FILE"
    return [
        *(
            []
            if asked
            else [f"No terminal, so nothing was asked and {site} holds defaults. Change these first: {first}."]
        ),
        f"{site.with_name(WEATHER_FILE)} is invented, for something to run. {bring}",
    ]


def starter_steps(site: Path) -> str:
    """The commands that come next."""
    path = shlex.quote(str(site))
    return f"Made {site}. Next:\n  waterbudget check {path}\n  waterbudget run {path}"


def _switched(key: str, value: object, *, on: bool) -> str:
    """A line of the file, switched off unless on; a remark follows."""
    return f"{'' if on else '#'}{key} = {_toml(value)}".ljust(REMARK_COLUMN)


def _toml(value: object) -> str:
    """A value as TOML writes it."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")  # JSON leaves DEL as it is
    if isinstance(value, tuple):
        return f"[{', '.join(_toml(part) for part in value)}]"
    if isinstance(value, bool):
        return str(value).lower()
    return repr(value).removesuffix(".0")
