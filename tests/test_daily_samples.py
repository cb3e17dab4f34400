"""The two daily samples: made again to the byte, and typical of their kind."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.months import reference_months
from scheduler.inputs.weather.climates import read_climate

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "climate_samples"


def generator():
    spec = importlib.util.spec_from_file_location(
        "make_daily_samples", ROOT / "tests" / "make_daily_samples.py"
    )
    module = importlib.util.module_from_spec(spec)
    # A dataclass looks its module up by name.
    import sys

    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


MAKER = generator()
stations = pytest.mark.parametrize("station", [MAKER.DRY, MAKER.HUMID])


def months(station):
    problems = []
    weather = read_climate(FOLDER / station.file, station.file, problems)
    assert problems == []
    return reference_months(weather, station.latitude_deg, station.elevation_m, 2.0)


@stations
def test_samples_are_made_again_to_the_byte(station):
    kept = (FOLDER / station.file).read_bytes()

    assert MAKER.content(station).encode("utf-8") == kept
    assert len(kept) < 1_000_000
    assert kept.startswith(b"# Invented station, not a real place.\n")


@stations
def test_samples_hold_every_day_of_ten_years(station):
    found = months(station).series

    # 2011 to 2020: 3,653 days, with leap days in 2012, 2016 and 2020 (calendar).
    assert found.years == tuple(range(2011, 2021))
    assert found.days.sum() == 3653
    assert found.left_out == ()


# The generator's own monthly means, within the play of ten years (three standard
# errors: 2.7 °C with a memory of 0.7 is 0.4 °C, the years' warmth 0.2 °C).
@stations
def test_samples_keep_the_means_that_they_are_made_from(station):
    found = months(station)

    assert found.tmin_c == pytest.approx(np.array(station.tmin_c), abs=1.4)
    assert found.tmax_c == pytest.approx(np.array(station.tmax_c), abs=1.9)
    year_mm = sum(station.rain_mm)
    assert found.rain_mm.sum() == pytest.approx(year_mm, rel=0.25)


# from memory: usual bands of the year's ET0 in each kind of climate, as for the
# monthly samples.
@pytest.mark.parametrize(
    ("station", "least_mm", "most_mm"),
    [(MAKER.DRY, 1250, 1500), (MAKER.HUMID, 1150, 1400)],
)
def test_et0_of_the_year_is_that_of_the_climate(station, least_mm, most_mm):
    year_mm = float(np.sum(months(station).et0_mm_day * DAYS_IN_MONTH))

    assert least_mm <= year_mm <= most_mm


# Definition of a dry-summer climate: hardly any of the year's rain from June to August.
def test_only_the_valley_has_dry_summers():
    valley, coast = months(MAKER.DRY), months(MAKER.HUMID)

    assert valley.rain_mm[5:8].sum() < 0.03 * valley.rain_mm.sum()
    assert coast.rain_mm[5:8].sum() > 0.25 * coast.rain_mm.sum()


@stations
def test_dry_years_need_more_than_the_mean(station):
    found = months(station).series
    mean_mm = found.et0_mm_day * DAYS_IN_MONTH - found.rain_mm
    dry_mm = found.dry_et0_mm_day * DAYS_IN_MONTH - found.dry_rain_mm

    # The eighth of ten years lies over the mean wherever the years differ at all.
    assert np.all(dry_mm > mean_mm - 2)
    assert dry_mm.sum() > mean_mm.sum() + 100
