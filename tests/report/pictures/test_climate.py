"""The climate as a picture: bars as high as ET0, rain and net need, in both units."""

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.text import Text

from scheduler.inputs.folder import read_site
from scheduler.inputs.weather.alone import read_weather_file
from scheduler.plan.site import plan_site
from scheduler.report.pictures.climate import climate_figure, climate_picture
from scheduler.report.pictures.look import INK, look
from scheduler.report.views import climate

ROOT = Path(__file__).parents[3]
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun",
          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]  # fmt: skip
DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
SAMPLES = sorted((ROOT / "climate_samples").glob("*.csv"))


@cache
def view_of(path):
    return climate.view_of_file(read_weather_file(path, 31.0, 10.0, None))


def written(folder, rain, et0="1 2 3 4 5 6 7 8 9 10 11 12"):
    """A monthly climate with ET0 given in mm a day and rain in mm a month."""
    rows = zip(range(1, 13), et0.split(), rain.split(), strict=True)
    path = folder / "climate.csv"
    lines = ["month,et0_mm_day,rain_mm", *(",".join(map(str, row)) for row in rows)]
    path.write_text("\n".join(lines))
    return view_of(path)


def figure_of(view, units="metric"):
    with look():
        return climate_figure(view, units)


@cache
def figure_of_sample(path, units):
    return figure_of(view_of(path), units)


def words_of(figure):
    return [t.get_text() for t in figure.findobj(Text) if t.get_text()]


def heights_of(figure):
    """Heights of the bars: (row, month): ET0, rain, effective rain, net need."""
    bars = [bar.get_height() for bar in figure.axes[0].patches]
    return np.array(bars).reshape(4, 12)


# ET0 is given, so the month's is that times its days: no formula of ours is in it.
def test_bars_are_as_high_as_et0_and_rain_of_the_file(tmp_path):
    rain = "40 30 20 10 0 5 10 20 30 40 50 60"
    figure = figure_of(written(tmp_path, rain))

    et0, fell, usable, net = heights_of(figure)
    given = np.arange(1, 13) * DAYS
    per_mm = et0[11] / given[11]
    assert et0 == pytest.approx(per_mm * given)
    assert fell == pytest.approx(per_mm * np.array([float(r) for r in rain.split()]))
    assert np.all(usable <= fell)
    assert net == pytest.approx(et0 - usable)
    assert usable[4] == 0
    assert usable[7] > 0


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize(
    ("units", "per_mm", "form"),
    [("metric", 1.0, "{:,.0f}"), ("us", 1 / 25.4, "{:,.2f}")],
)
def test_every_bar_is_told_as_the_report_tells_it(path, units, per_mm, form):
    view = view_of(path)

    told = words_of(figure_of_sample(path, units))
    table = {c.name: c.values for c in climate.months_table(view.months).columns}
    for name in ("et0_month", "rain"):
        numbers = [form.format(value * per_mm) for value in table[name]]
        assert set(numbers) <= set(told)
        unit = "in" if units == "us" else "mm"
        assert f"{form.format(sum(table[name]) * per_mm)} {unit} a year" in told
    assert [word for word in told if word in MONTHS] == MONTHS


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_texts_lie_on_the_paper_and_apart(check_texts, path, units):
    with look():
        check_texts(figure_of_sample(path, units))


def test_years_of_days_show_the_dry_year_over_the_net_need():
    view = view_of(ROOT / "climate_samples" / "dry_summer_valley_daily.csv")
    figure = figure_of(view)

    marks = [line for line in figure.axes[0].lines if line.get_color() == INK]
    assert len(marks) == 12
    # July is rainless there in a dry year: the mark is at the dry year's ET0.
    et0, _, _, net = heights_of(figure)
    dry = view.months.series.dry_et0_mm_day[6] * 31
    base = figure.axes[0].patches[-6].get_y()
    assert view.months.series.dry_rain_mm[6] == pytest.approx(0, abs=0.5)
    per_mm = et0[6] / (view.months.series.et0_mm_day[6] * 31)
    assert marks[6].get_ydata()[0] - base == pytest.approx(per_mm * dry, abs=0.01)
    assert marks[6].get_ydata()[0] - base > net[6]
    assert any(word.startswith("lines: in a dry year") for word in words_of(figure))


def test_one_year_shows_no_dry_year(tmp_path):
    figure = figure_of(written(tmp_path, "0 " * 12))

    assert not [line for line in figure.axes[0].lines if line.get_color() == INK]
    assert not any("dry year" in word for word in words_of(figure))


def test_months_of_frost_are_told():
    cold = words_of(figure_of(view_of(ROOT / "climate_samples/cold_high_plains.csv")))
    warm = words_of(figure_of(view_of(ROOT / "climate_samples/cool_marine.csv")))

    # The sample's mean minimum is below 0 °C from November to March.
    assert cold.count("frost") == 5
    assert "frost" not in warm


def test_rain_that_is_not_known_is_told(tmp_path):
    source = ROOT / "climate_samples" / "dry_summer_valley_daily.csv"
    rows = [row.split(",") for row in source.read_text().splitlines()
            if not row.startswith("#")]  # fmt: skip
    rain = next(i for i, name in enumerate(rows[0]) if name.startswith("rain"))
    path = tmp_path / "dry.csv"
    path.write_text("".join(",".join(row[:rain] + row[rain + 1 :]) + "\n"
                            for row in rows))  # fmt: skip
    figure = figure_of(view_of(path))

    assert words_of(figure).count("not known") == 2
    assert heights_of(figure).min() == 0
    assert heights_of(figure)[0].min() > 0


# A year of hardly any ET0 is refused as a unit gone wrong; one without rain is not.
def test_year_without_any_rain_is_drawn(tmp_path):
    figure = figure_of(written(tmp_path, "0 " * 12, "1 " * 12))

    assert heights_of(figure).min() == 0


@pytest.mark.parametrize(
    "name", ["草坪", "שלום", "W" * 200, "$x_1$", "<script>", "a\nb"]
)
def test_any_name_is_cut_to_the_paper(tmp_path, name):
    view = dataclasses.replace(written(tmp_path, "1 " * 12), name=name)
    with look():
        figure = climate_figure(view, "us")
        title = figure.texts[0]
        assert title.get_text().startswith("Climate of ")
        assert title.get_window_extent().x1 <= figure.bbox.width


def test_picture_of_a_site_has_the_same_bytes_again():
    view = climate.view_of_site(plan_site(read_site(ROOT / "examples" / "home")))

    for suffix, start in ((".png", b"\x89PNG\r\n\x1a\n"), (".svg", b"<?xml")):
        first = climate_picture(view, "us", suffix)
        assert first.startswith(start)
        assert climate_picture(view, "us", suffix) == first


def test_hollow_bars_are_white_and_filled_bars_are_not(tmp_path):
    patches = figure_of(written(tmp_path, "300 " * 12)).axes[0].patches

    assert {to_hex(bar.get_facecolor()) for bar in patches[12:24]} == {"#ffffff"}
    assert "#ffffff" not in {to_hex(bar.get_facecolor()) for bar in patches[24:36]}
