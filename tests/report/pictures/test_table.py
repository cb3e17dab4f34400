"""The watering table as a picture: bars as long as the weeks, every zone and month."""

import dataclasses
import struct
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.text import Text

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report.pictures.look import GREY, SHADE, WATER, look
from scheduler.report.pictures.table import table_figure, table_picture

EXAMPLES = Path(__file__).parents[3] / "examples"
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun",
          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]  # fmt: skip
NAMES = ("حديقة خلفية", "草坪", "שלום 12", "\U0001f331", "W" * 200, "$x_1$", "=1+1",
         "<script>", "a\nb\tc", "\x07", "word " * 40)  # fmt: skip


@pytest.fixture(
    scope="module", params=["home", "business_park", "southern_garden"],
)  # fmt: skip
def plan(request):
    site = read_site(EXAMPLES / request.param)
    return plan_site(dataclasses.replace(site, plan_by="months"))


@pytest.fixture(scope="module")
def home():
    return plan_site(read_site(EXAMPLES / "home"))


def with_zones(plan, count, names=None):
    """The plan with its zones taken over and over, or only the first of them."""
    rows = np.arange(count) % len(plan.site.zones)
    names = names or plan.site.zones.name
    zones = dataclasses.replace(
        plan.site.zones,
        zone=tuple(str(i + 1) for i in range(count)),
        name=tuple(names[i % len(names)] for i in range(count)),
    )
    schedule = dataclasses.replace(
        plan.plan.schedule,
        **{field.name: getattr(plan.plan.schedule, field.name)[rows]
           for field in dataclasses.fields(plan.plan.schedule)},
    )  # fmt: skip
    return dataclasses.replace(
        plan,
        site=dataclasses.replace(plan.site, zones=zones),
        plan=dataclasses.replace(
            plan.plan, schedule=schedule, volume_l=plan.plan.volume_l[rows]
        ),
    )


def without_runs(plan, *rows):
    cycles = plan.plan.schedule.cycles.copy()
    cycles[list(rows)] = 0
    schedule = dataclasses.replace(plan.plan.schedule, cycles=cycles)
    return dataclasses.replace(
        plan, plan=dataclasses.replace(plan.plan, schedule=schedule)
    )


@cache
def figure_of(plan, units="us"):
    with look():
        return table_figure(plan, units)


def texts_of(figure):
    return [text for text in figure.findobj(Text) if text.get_text()]


def words_of(figure):
    return [text.get_text() for text in texts_of(figure)]


def color_of(bar):
    return to_hex(bar.get_facecolor())


def bars_of(figure, color):
    """Bars of a color: (row, month), from left to right."""
    bars = [b for b in figure.axes[0].patches if color_of(b) == color]
    rows = np.array(bars, dtype=object).reshape(-1, 12)
    assert all(np.diff([bar.get_x() for bar in row]).min() > 0 for row in rows)
    return rows


def heights_of(bars):
    return np.vectorize(lambda bar: bar.get_height())(bars)


def test_bars_are_as_long_as_the_weeks_of_the_plan(plan):
    bars = bars_of(figure_of(plan), WATER)

    weekly = plan.plan.schedule.minutes_per_week
    heights = heights_of(bars)
    assert heights / heights.max() == pytest.approx(weekly / weekly.max())
    bases = [row[0].get_y() for row in bars]
    assert np.all(np.diff(bases) < 0)


def test_bars_at_the_bottom_are_the_hours_of_all_zones(plan):
    figure = figure_of(plan)

    hours = plan.plan.schedule.minutes_per_week.sum(axis=0) / 60
    (heights,) = heights_of(bars_of(figure, GREY))
    assert heights / heights.max() == pytest.approx(hours / hours.max())
    told = words_of(figure)
    for hour in hours[hours > 0]:
        assert f"{hour:,.1f}" in told


def test_longest_week_of_each_zone_stands_over_its_bar(plan):
    figure = figure_of(plan)
    texts = texts_of(figure)

    bars = bars_of(figure, WATER)
    weekly = plan.plan.schedule.minutes_per_week
    for row, minutes in zip(bars, weekly, strict=True):
        bar = row[int(np.argmax(minutes))]
        place = bar.get_x() + bar.get_width() / 2, bar.get_y() + bar.get_height()
        near = [text.get_text() for text in texts
                if abs(text.get_position()[0] - place[0]) < 0.01
                and 0 < text.get_position()[1] - place[1] < 0.1]  # fmt: skip
        assert near == [f"{minutes.max():,.0f}"]


# July in the north, January in the south: one light band, under every row.
def test_busiest_month_has_a_band_and_is_told(plan):
    figure = figure_of(plan)

    month = "Jan" if plan.site.latitude < 0 else "Jul"
    (band,) = (p for p in figure.axes[0].patches if color_of(p) == SHADE)
    names = [text for text in texts_of(figure) if text.get_text() == month]
    assert [text.get_fontweight() for text in names] == ["bold", "bold"]
    for text in names:
        assert band.get_x() < text.get_position()[0] < band.get_x() + band.get_width()
    assert any(word.startswith(f"Busiest month: {month}") for word in words_of(figure))


# Days of the year that a month has, times the minutes of a day: home has one zone that
# takes most, and shares add up to 100 but for rounding.
def test_shares_are_of_the_minutes_of_the_year(home):
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    year = (home.plan.schedule.minutes_per_week / 7 * days).sum(axis=1)

    words = words_of(figure_of(home))
    shares = [word for word in words if word.endswith(" %")]
    assert shares == [f"{share:.0f} %" for share in 100 * year / year.sum()]


def test_zone_that_takes_most_is_bold(home):
    bold = {text.get_text() for text in texts_of(figure_of(home))
            if text.get_fontweight() == "bold"}  # fmt: skip

    assert {"2", "Back lawn", "Jul"} <= bold
    assert not {"1", "Front lawn", "Jun"} & bold


def test_months_stand_above_and_below(plan):
    words = words_of(figure_of(plan))

    assert [word for word in words if word in MONTHS] == MONTHS * 2


# A US gallon is 3.785411784 L (exact).
@pytest.mark.parametrize(("units", "liters", "unit"), [("us", 3.785411784, "gal"),
                                                       ("metric", 1, "L")])  # fmt: skip
def test_water_of_the_year_is_told_in_the_reader_s_unit(home, units, liters, unit):
    year = f"{home.plan.volume_l.sum() / liters:,.0f} {unit}"

    assert any(f"{year} a year" in word for word in words_of(figure_of(home, units)))


@pytest.mark.parametrize("count", [1, 5, 24])
@pytest.mark.parametrize("names", [None, NAMES])
def test_texts_lie_on_the_paper_and_apart(check_texts, home, count, names):
    with look():
        figure = table_figure(with_zones(home, count, names), "metric")
        check_texts(figure)


def test_sixty_zones_have_a_row_each(home):
    figure = figure_of(with_zones(home, 60))

    assert bars_of(figure, WATER).shape == (60, 12)
    assert {str(zone) for zone in range(1, 61)} <= set(words_of(figure))
    assert figure.get_size_inches()[1] < 30


def test_long_zone_keys_leave_room_for_names(check_texts, home):
    zones = dataclasses.replace(home.site.zones, zone=("K" * 60,) * 5)
    plan = dataclasses.replace(home, site=dataclasses.replace(home.site, zones=zones))

    with look():
        figure = table_figure(plan, "us")
        check_texts(figure)
    assert "Front lawn" in words_of(figure)


def test_zone_that_never_runs_is_told(home):
    figure = figure_of(without_runs(home, 3))

    assert words_of(figure).count("never runs") == 1
    assert heights_of(bars_of(figure, WATER))[3].max() == 0


def test_site_that_never_runs_is_told(home):
    figure = figure_of(without_runs(home, 0, 1, 2, 3, 4))

    words = words_of(figure)
    assert "No zone runs in any month." in words
    assert words.count("never runs") == 5
    assert not [word for word in words if word.endswith(" %")]


@pytest.mark.parametrize("suffix", [".png", ".svg"])
def test_picture_has_the_same_bytes_again(home, suffix):
    first = table_picture(home, "us", suffix)

    assert table_picture(home, "us", suffix) == first


# PNG (ISO/IEC 15948): eight bytes of signature, then the header with width and height.
def test_png_and_svg_can_be_read(home):
    png = table_picture(with_zones(home, 11, NAMES), "us", ".png")
    svg = ElementTree.fromstring(
        table_picture(with_zones(home, 11, NAMES), "us", ".svg")
    )

    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    assert min(struct.unpack(">II", png[16:24])) > 1000
    tags = {part.tag.rpartition("}")[2] for part in svg.iter()}
    # Letters are text, to be searched, and the picture has its title.
    assert {"svg", "path", "text", "title"} <= tags
    assert not {"script", "image"} & tags
    titles = [part.text for part in svg.iter() if part.tag.endswith("}title")]
    assert any("Home with two lawns" in (title or "") for title in titles)
