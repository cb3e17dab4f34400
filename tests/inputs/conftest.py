"""A small invented site folder, written in US or in metric units."""

from pathlib import Path

import pytest

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.inputs.site import Site

SITE_TOML = """\
units = "us"
[site]
latitude = 40.0
longitude = -100.0
[climate]
file = "climate.csv"
"""

WINDOW = '[[window]]\ndays = ["mon", "wed"]\nopens = "21:00"\nmonths = [4, 5]\n'
WATER = (
    '[water]\nbilling_unit = "ccf"\ntiers = '
    "[{to = 10, price = 3}, {to = 20, price = 4}, {price = 5}]\n"
)

US = {
    "zones.csv": """\
zone,name,plant,soil,slope_percent,area_ft2,head_kind,uniformity
1,Front,cool-season turf,loam,2,1000,spray,0.62
2,Back,warm-season turf,clay loam,5,2000,rotor,0.7
""",
    "heads.csv": """\
zone,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,a,90,15,0.5,30,15
1,b,180,15,1,30,15
2,c,360,30,4,45,30
""",
    "climate.csv": "month,et0_in_day,tmin_f,tmax_f,wind_mph,rain_in\n"
    + "".join(f"{month},0.1,50,77,5,1.5\n" for month in range(1, 13)),
}

# The same site: 1 ft is 0.3048 m, 1 in 25.4 mm, 1 gal 3.785411784 L, 1 mi 1609.344 m,
# all exact; 1 psi is 0.45359237 * 9.80665 / 0.0254² Pa; 50 °F is 10 °C, 77 °F is 25 °C.
METRIC = {
    "zones.csv": """\
zone,name,plant,soil,slope_percent,area_m2,head_kind,uniformity
1,Front,cool-season turf,loam,2,92.90304,spray,0.62
2,Back,warm-season turf,clay loam,5,185.80608,rotor,0.7
""",
    "heads.csv": """\
zone,nozzle,arc_deg,radius_m,flow_l_min,pressure_bar,spacing_m
1,a,90,4.572,1.892705892,2.068427187950490,4.572
1,b,180,4.572,3.785411784,2.068427187950490,4.572
2,c,360,9.144,15.141647136,3.102640781925735,9.144
""",
    "climate.csv": "month,et0_mm_day,tmin_c,tmax_c,wind_km_h,rain_mm\n"
    + "".join(f"{month},2.54,10,25,8.04672,38.1\n" for month in range(1, 13)),
}


class SiteFolder:
    """A folder whose files a test changes, and what reading it gives."""

    def __init__(self, path: Path, files: dict[str, str]) -> None:
        self.path = path
        path.mkdir()
        self.write("site.toml", SITE_TOML)
        for file, text in files.items():
            self.write(file, text)

    def write(self, file: str, content: str | bytes) -> None:
        if isinstance(content, str):
            content = content.encode("utf-8")
        (self.path / file).write_bytes(content)

    def text(self, file: str) -> str:
        return (self.path / file).read_text(encoding="utf-8")

    def replace(self, file: str, old: str, new: str) -> None:
        text = self.text(file)
        assert text.count(old) == 1, f"{old!r} is not once in {file}"
        self.write(file, text.replace(old, new))

    def append(self, file: str, text: str) -> None:
        self.write(file, self.text(file) + text)

    def site(self) -> Site:
        return read_site(self.path)

    def problems(self) -> list[str]:
        """Every problem as the user sees it."""
        with pytest.raises(InputError) as caught:
            read_site(self.path)
        return [str(problem) for problem in caught.value.problems]


@pytest.fixture
def us(tmp_path: Path) -> SiteFolder:
    return SiteFolder(tmp_path / "us_site", US)


@pytest.fixture
def metric(tmp_path: Path) -> SiteFolder:
    return SiteFolder(tmp_path / "metric_site", METRIC)


class Book:
    """The small site as a workbook that a test changes."""

    def __init__(self, site, as_book) -> None:
        self.site = site
        self.book = as_book(site.path)
        self.path = site.path / "site.xlsx"

    def __getitem__(self, sheet):
        return self.book[sheet]

    def save(self):
        for name in ("site.toml", "zones.csv", "heads.csv"):
            (self.site.path / name).unlink(missing_ok=True)
        self.book.save(self.path)

    def read(self):
        self.save()
        return read_site(self.site.path)

    def problems(self):
        """Every problem as the user sees it."""
        self.save()
        with pytest.raises(InputError) as caught:
            read_site(self.site.path)
        return [str(problem) for problem in caught.value.problems]


@pytest.fixture
def book(us, as_book):
    us.append("site.toml", WATER + WINDOW)
    return Book(us, as_book)


@pytest.fixture
def files(book):
    """The site that the files give before the workbook takes their place."""
    return book.site.site()
